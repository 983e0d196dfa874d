package envelope

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/drain"
)

// outlook computes what a basis foretells.
func outlook(b *isolation.Basis) (drain.Outlook, error) { return foretold(b, drain.Predict) }

// surveyed computes the same without its times, in a small part of the time.
func surveyed(b *isolation.Basis) (drain.Outlook, error) { return foretold(b, drain.Survey) }

func foretold(b *isolation.Basis, by func(drain.Section) (drain.Outlook, error)) (drain.Outlook, error) {
	s := b.Section
	f, err := drain.NewFluid(b.Fluid)
	if err != nil {
		return drain.Outlook{}, err
	}
	s.Fluid = f
	return by(s)
}

// ambientC is the temperature of a liquid of which the plant file says none: an engine room's (from memory: class rules
// design machinery spaces for 45 °C).
const ambientC = 45

// hottestWaterC is the most at which water stands in a line without pressure.
const hottestWaterC = 95

// basis converts a region, with the openings in open open. guessed names the pipes whose levels had to be assumed.
// A pipe that ends at a vessel in r.airy is open to the air there.
func (k *Work) basis(r region, open []int32) (b isolation.Basis, guessed []string) {
	c := &conversion{Work: k, region: r, in: k.Marks(append(slices.Clone(r.nodes), r.ends...)), own: k.Marks(r.nodes),
		group: map[int32]int32{}, level: map[int32]float64{}}
	c.merge()
	c.levels()
	c.links()
	c.vessels()
	c.openings(open)
	b.Fluid, c.section.TempC = k.fluidOf(r)
	c.section.Name, c.section.Air = k.regionName(r), drain.WideLevel
	c.boundary()
	b.Section = c.section
	return b, c.guessed
}

// conversion is one region on its way into plain values.
type conversion struct {
	*Work
	region  region
	in, own []bool
	group   map[int32]int32 // nodes joined by links without a bore are one place
	level   map[int32]float64
	section drain.Section
	guessed []string
}

// pipes calls f for each link of the region with both ends, and whether it is a pipe of known bore and length.
func (c *conversion) pipes(f func(l *isolation.Link, a, b int32, pipe bool)) {
	for i := range c.Plant.Links {
		l := &c.Plant.Links[i]
		a, b := c.Ends[i][0], c.Ends[i][1]
		if a < 0 || b < 0 || !c.in[a] || !c.in[b] || !c.own[a] && !c.own[b] {
			continue
		}
		f(l, a, b, l.BoreMM > 0 && l.LengthM > 0)
	}
}

// merge makes one place of what is joined without a pipe.
func (c *conversion) merge() {
	c.pipes(func(_ *isolation.Link, a, b int32, pipe bool) {
		if !pipe && c.own[a] && c.own[b] {
			if x, y := c.root(a), c.root(b); x != y {
				c.group[max(x, y)] = min(x, y)
			}
		}
	})
}

func (c *conversion) root(i int32) int32 {
	for {
		j, has := c.group[i]
		if !has {
			return i
		}
		i = j
	}
}

// levels finds the bottom of each place: a vessel's own, else the lowest invert of the pipes that meet there. A place
// without either takes its neighbour's, and the pipe between them is named as guessed.
func (c *conversion) levels() {
	lower := func(i int32, z float64) {
		if old, has := c.level[c.root(i)]; !has || z < old {
			c.level[c.root(i)] = z
		}
	}
	c.pipes(func(l *isolation.Link, a, b int32, pipe bool) {
		if pipe && l.HasLevel {
			lower(a, l.InvertM[0])
			lower(b, l.InvertM[1])
		}
	})
	for _, i := range c.region.nodes {
		if n := c.At(i); n.HasElevation && (n.Kind == isolation.Vessel || n.Kind == isolation.Opening) {
			lower(i, n.ElevationM)
		}
	}
	for again := true; again; {
		again = false
		c.pipes(func(l *isolation.Link, a, b int32, pipe bool) {
			x, hasA := c.level[c.root(a)]
			y, hasB := c.level[c.root(b)]
			switch {
			case pipe && hasA && !hasB:
				c.level[c.root(b)], again = x, true
			case pipe && hasB && !hasA:
				c.level[c.root(a)], again = y, true
			}
		})
	}
}

func (c *conversion) name(i int32) string { return string(c.At(c.root(i)).ID) }

func (c *conversion) links() {
	placed := map[int32]bool{}
	place := func(i int32) {
		if i = c.root(i); !placed[i] {
			placed[i] = true
			c.section.Nodes = append(c.section.Nodes, drain.Node{Name: string(c.At(i).ID), LevelM: c.level[i]})
		}
	}
	for _, i := range c.region.nodes {
		place(i)
	}
	c.pipes(func(l *isolation.Link, a, b int32, pipe bool) {
		if !pipe || c.root(a) == c.root(b) {
			return
		}
		place(a)
		place(b)
		p := drain.Link{Name: string(l.A) + " to " + string(l.B), A: c.name(a), B: c.name(b), BoreM: l.BoreMM / 1000,
			LengthM:  l.LengthM,
			InvertAM: l.InvertM[0], InvertBM: l.InvertM[1], OneWayToB: l.OneWay || l.AirGap || c.onward(a) || c.onward(b)}
		if !l.HasLevel {
			p.InvertAM, p.InvertBM = c.level[c.root(a)], c.level[c.root(b)]
			p.LengthM = max(p.LengthM, math.Abs(p.InvertAM-p.InvertBM))
			c.guessed = append(c.guessed, p.Name)
		}
		c.section.Links = append(c.section.Links, p)
		c.mouth(a, p.InvertAM, p.BoreM)
		c.mouth(b, p.InvertBM, p.BoreM)
	})
}

// mouth lets air in where a pipe ends at a vessel of another region to which air gets.
func (c *conversion) mouth(end int32, invertM, boreM float64) {
	if !c.own[end] && slices.Contains(c.region.airy, end) {
		name := fmt.Sprintf("mouth %d at %s", len(c.section.Links), c.At(end).ID)
		c.section.Openings = append(c.section.Openings, drain.Opening{Name: name, Node: c.name(end), Role: drain.VentOpening,
			Open: true, BoreM: boreM, LevelM: invertM + boreM})
	}
}

// onward reports whether node i is a check valve whose direction the file shows.
func (c *conversion) onward(i int32) bool {
	if c.At(i).Kind != isolation.CheckValve {
		return false
	}
	into, away := false, false
	for _, l := range c.Plant.Links {
		into = into || l.B == c.At(i).ID
		away = away || l.A == c.At(i).ID
	}
	return into && away
}

func (c *conversion) vessels() {
	for _, i := range c.region.nodes {
		n := c.At(i)
		if n.Kind != isolation.Vessel || n.VolumeL <= 0 {
			continue
		}
		v := drain.Vessel{Name: string(n.ID), Node: c.name(i), VolumeM3: n.VolumeL / 1000}
		if n.HasElevation && n.TopM > n.ElevationM {
			v.HeightM = n.TopM - n.ElevationM
		}
		c.section.Vessels = append(c.section.Vessels, v)
	}
}

func (c *conversion) openings(open []int32) {
	for _, i := range c.region.nodes {
		n := c.At(i)
		if n.Kind != isolation.Opening {
			continue
		}
		o := drain.Opening{Name: string(n.ID), Node: c.name(i), Open: slices.Contains(open, i), BoreM: c.mouthBore(i) / 1000,
			LevelM: c.level[c.root(i)]}
		if n.Role == "vent" {
			o.Role = drain.VentOpening
		}
		if n.HasElevation {
			o.LevelM = n.ElevationM
		}
		c.section.Openings = append(c.section.Openings, o)
	}
}

// mouthBore returns an opening's bore in mm: its own, else its pipe's.
func (c *conversion) mouthBore(i int32) float64 {
	if b := c.At(i).BoreMM; b > 0 {
		return b
	}
	widest := 0.0
	for _, l := range c.Plant.Links {
		if l.A == c.At(i).ID || l.B == c.At(i).ID {
			widest = max(widest, l.BoreMM)
		}
	}
	return widest
}

// boundary names the shut points around the region, with what presses on them.
func (c *conversion) boundary() {
	for _, e := range c.region.ends {
		if k := c.At(e).Kind; !k.IsPoint() && k != isolation.AutomaticValve {
			continue
		}
		b := drain.Boundary{Name: string(c.At(e).ID), Node: c.touches(e)}
		for _, l := range c.Plant.Links {
			if l.A == c.At(e).ID || l.B == c.At(e).ID {
				b.DNmm = max(b.DNmm, l.BoreMM)
			}
		}
		if s := c.behind(e, c.own); s >= 0 {
			b.UpstreamBar, b.TempC = c.At(s).GaugeBar+c.Head(s, []int32{e}), c.At(s).TempC
		}
		c.section.Boundary = append(c.section.Boundary, b)
	}
}

// touches returns the node of the section next to a shut point.
func (c *conversion) touches(e int32) string {
	touch := ""
	c.pipes(func(_ *isolation.Link, a, b int32, pipe bool) {
		switch {
		case touch != "":
		case a == e && pipe, b == e && pipe:
			touch = c.name(e)
		case a == e:
			touch = c.name(b)
		case b == e:
			touch = c.name(a)
		}
	})
	return touch
}

// families are the fluids of the energies, for a source of which the file names no fluid. Thick fuel is taken where
// nothing is known, because it drains slowest.
var families = map[isolation.Energy]drain.Family{
	"lube": drain.LubricatingOil, "hydraulic": drain.LubricatingOil, "thermal-oil": drain.LubricatingOil,
	"fuel": drain.ResidualFuel, "sludge": drain.ResidualFuel, "cargo": drain.ResidualFuel, "condensate": drain.Condensate,
}

// fluidOf returns what stands in a region and at which temperature in °C: what its vessels hold, else what would fill
// it. How warm a heater makes what passes is left out: its heat is off by then, and cooler is thicker and slower.
func (k *Work) fluidOf(r region) (drain.FluidSpec, float64) {
	name, temp, known := "", 0.0, false
	take := func(n *isolation.Node) {
		if name == "" && n.Fluid != "" {
			name = n.Fluid
		}
		if !known && n.HasTemp && n.HeatedBy == "" && (name == "" || n.Fluid == "" || n.Fluid == name) {
			temp, known = n.TempC, true
		}
	}
	for _, i := range r.nodes {
		if k.At(i).Kind == isolation.Vessel {
			take(k.At(i))
		}
	}
	family := drain.Water
	if r.feeder >= 0 {
		take(k.At(r.feeder))
		if f, has := families[k.At(r.feeder).Energy]; has {
			family = f
		}
	}
	spec := drain.FluidSpec{Name: name, Family: family}
	if f, has := k.Plant.Fluids[name]; has {
		spec.Family, spec.Density15, spec.TensionNM = drain.Family(strings.ToLower(f.Family)), f.Density15, f.Tension
		for _, v := range f.Viscosity {
			spec.Viscosity = append(spec.Viscosity, drain.ViscosityPoint{AtC: v.At, CSt: v.CSt})
		}
	}
	if !known {
		temp = ambientC
	}
	if spec.Family == drain.Water || spec.Family == drain.Condensate {
		temp = min(temp, hottestWaterC)
	}
	return spec, temp
}

// regionName returns what a person calls a region: the part of the work in it that is no vessel, else the vessel, else
// the drain that empties it.
func (k *Work) regionName(r region) string {
	best := int32(-1)
	rank := func(i int32) int {
		n := k.At(i)
		switch {
		case k.InZone[i] && n.Kind != isolation.Vessel:
			return 5
		case k.InZone[i]:
			return 4
		case n.Kind == isolation.Vessel:
			return 3
		case n.Kind == isolation.Junction && n.Name != "":
			return 2
		case n.Kind == isolation.Opening && n.Role != "vent":
			return 1
		}
		return 0
	}
	for _, i := range r.nodes {
		if best < 0 || rank(i) > rank(best) {
			best = i
		}
	}
	if n := k.At(best); n.Name != "" {
		return n.Name
	}
	return fmt.Sprintf("the part around %s", k.At(best).ID)
}
