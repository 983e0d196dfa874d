package drain

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// everyPath walks every simple path from a node to an open drain and returns the
// least of their highest inverts: the definition itself.
func everyPath(s Section, from string) float64 {
	best := math.Inf(1)
	level := map[string]float64{}
	for _, n := range s.Nodes {
		level[n.Name] = n.LevelM
	}
	var walk func(at string, highest float64, seen map[string]bool)
	walk = func(at string, highest float64, seen map[string]bool) {
		for _, o := range s.Openings {
			if o.Open && o.Role == DrainOpening && o.Node == at {
				best = math.Min(best, math.Max(highest, math.Max(o.LevelM, level[at])))
			}
		}
		seen[at] = true
		for _, l := range s.Links {
			next := ""
			if l.A == at {
				next = l.B
			} else if l.B == at && !l.OneWayToB {
				next = l.A
			}
			if next != "" && !seen[next] {
				walk(next, math.Max(highest, math.Max(l.InvertAM, l.InvertBM)), seen)
			}
		}
		delete(seen, at)
	}
	walk(from, math.Inf(-1), map[string]bool{})
	return best
}

func TestPocketLevelsAgreeWithEveryPath(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		s := randomSection(r, 8)
		for i := range s.Links {
			s.Links[i].OneWayToB = rapid.IntRange(0, 7).Draw(r, "valve") == 0
		}
		if rapid.Bool().Draw(r, "second drain") {
			n := s.Nodes[len(s.Nodes)-1]
			s.Openings = append(s.Openings, Opening{Name: "D2", Node: n.Name, Open: true, BoreM: 0.02, LevelM: n.LevelM})
		}
		got, err := Levels(s)
		if err != nil {
			r.Skip(err)
		}
		for _, n := range s.Nodes {
			want := everyPath(s, n.Name)
			g, ok := got[n.Name]
			if ok == math.IsInf(want, 1) || ok && g != want {
				r.Errorf("level at %s = %v (there %v), want %v", n.Name, g, ok, want)
			}
		}
	})
}

// creep lets the surface of a grid of cells seek its own level step by step: every
// link is cut into cells, each cell drains into any lower neighbour. It knows
// nothing of shortest paths.
func creep(s Section) map[string]float64 {
	level := map[string]float64{}
	for _, n := range s.Nodes {
		level[n.Name] = 1e9
	}
	for changed := true; changed; {
		changed = false
		lower := func(n string, to float64) {
			if to < level[n] {
				level[n], changed = to, true
			}
		}
		for _, o := range s.Openings {
			if o.Open && o.Role == DrainOpening {
				for _, n := range s.Nodes {
					if n.Name == o.Node {
						lower(o.Node, math.Max(o.LevelM, n.LevelM))
					}
				}
			}
		}
		for _, l := range s.Links {
			weir := math.Max(l.InvertAM, l.InvertBM)
			lower(l.A, math.Max(level[l.B], weir))
			lower(l.B, math.Max(level[l.A], weir))
		}
	}
	return level
}

func TestPocketLevelsAgreeWithAFloodThatCreeps(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		s := randomSection(r, 60)
		got, err := Levels(s)
		if err != nil {
			r.Skip(err)
		}
		for name, want := range creep(s) {
			if got[name] != want {
				r.Errorf("level at %s = %v, want %v", name, got[name], want)
			}
		}
	})
}

func TestKeptVolumesAreWhatACellCountFinds(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		p := newPipeSolid(rapid.SampledFrom([]float64{0.02, 0.1, 0.5}).Draw(r, "bore"),
			rapid.Float64Range(2, 6).Draw(r, "length"),
			rapid.Float64Range(0, 1.9).Draw(r, "a"), rapid.Float64Range(0, 1.9).Draw(r, "b"))
		z := rapid.Float64Range(-0.2, 2.6).Draw(r, "level")
		// the same by cutting the pipe into slices square to its axis
		const slices = 20000
		want := 0.0
		for i := range slices {
			low := p.low + p.rise*(float64(i)+0.5)/slices
			want += SegmentArea(p.bore, (z-low)/p.cos) * p.length / slices
		}
		if got := p.below(z); math.Abs(got-want) > 1e-6*p.full() {
			r.Errorf("below(%v) of %+v = %v, want %v", z, p, got, want)
		}
		const h = 1e-6
		slope := (p.below(z+h) - p.below(z-h)) / (2 * h)
		if got := p.surface(z); p.rise > 0.01 && math.Abs(got-slope) > 1e-3*(got+slope)+1e-6 {
			r.Errorf("surface(%v) of %+v = %v, want the slope of the volume %v", z, p, got, slope)
		}
	})
}

func TestVesselsFillToTheirVolume(t *testing.T) {
	for _, shape := range []Shape{Prism, LyingCylinder, Sphere} {
		v := newVesselSolid(Vessel{Shape: shape, VolumeM3: 2, HeightM: 1.5}, 3)
		if lo, half, hi := v.below(3), v.below(3.75), v.below(4.5); math.Abs(lo)+math.Abs(half-1)+math.Abs(hi-2) > 1e-12 {
			t.Errorf("shape %d below bottom, middle, top = %v, %v, %v, want 0, 1, 2", shape, lo, half, hi)
		}
		sum := integrate(v.surface, 3, 4.5, 1e-9)
		if math.Abs(sum-2) > 1e-6 {
			t.Errorf("shape %d surface over its height = %v, want 2", shape, sum)
		}
	}
}

func TestAPartWithoutADrainIsNamed(t *testing.T) {
	s := chain(t)
	s.Nodes = append(s.Nodes, Node{Name: "x", LevelM: 5}, Node{Name: "y", LevelM: 5})
	s.Links = append(s.Links, Link{Name: "lost pipe", A: "x", B: "y", BoreM: 0.1, LengthM: 2, InvertAM: 5, InvertBM: 5})
	o, err := Predict(s)
	if err != nil {
		t.Fatal(err)
	}
	if o.Provable || o.Pockets[0].Name != "x" || !o.Pockets[0].Undrained ||
		!near(o.Pockets[0].VolumeM3, area(0.1)*2, 1e-9) {
		t.Errorf("Predict = provable %v, %s, pockets %+v, want the lost pipe named first", o.Provable, o.Why, o.Pockets)
	}
}

func TestTiltFindsThePocketThatUprightHasNot(t *testing.T) {
	s := Section{Name: "level line", Fluid: fluidOf(t, "water"), TempC: 20,
		Nodes: []Node{{Name: "d", Placed: true}, {Name: "far", Placed: true, XM: 20}},
		Links: []Link{{Name: "line", A: "d", B: "far", BoreM: 0.1, LengthM: 20}},
		Openings: []Opening{{Name: "D", Node: "d", Open: true, BoreM: 0.025},
			{Name: "V", Node: "far", Role: VentOpening, Open: true, BoreM: 0.05, LevelM: 1}},
		Tilt: Tilt{TrimDeg: 2}}
	o, err := Predict(s)
	if err != nil {
		t.Fatal(err)
	}
	// bow down by 2° the far end lies 0.7 m lower, the whole bore under the drain
	if o.KeptM3 > 1e-9 || !o.Tilted.Computed || o.Tilted.TrimDeg != 2 || !near(o.Tilted.KeptM3, o.TrappedM3, 0.15) {
		t.Errorf("kept upright %v, tilted %+v, want 0 and nearly all %v at trim 2", o.KeptM3, o.Tilted, o.TrappedM3)
	}
	s.Nodes[1].Placed = false
	if o, err = Predict(s); err != nil || o.Tilted.Computed || o.Tilted.Note == "" {
		t.Errorf("without a position Tilted = %+v, %v, want a note that it was not computed", o.Tilted, err)
	}
}

// Levels returns the level in metres at which each node of the section stays
// once everything has run off, by node name; nodes joined to no open drain are
// left out. Errors are those of [Predict].
func Levels(s Section) (map[string]float64, error) {
	at, err := s.check()
	if err != nil {
		return nil, err
	}
	n := newNet(s, at)
	levels := map[string]float64{}
	for i, l := range n.flood().level {
		if !math.IsInf(l, 1) {
			levels[s.Nodes[i].Name] = l
		}
	}
	return levels, nil
}
