package drain

import (
	"fmt"
	"math"
	"sort"
	"strings"
)

// Outlook is what to expect of a section before anyone opens a drain.
type Outlook struct {
	Section   string
	TrappedM3 float64 // OutM3 + KeptM3
	OutM3     float64 // what must come out of the open drains
	KeptM3    float64 // what stays: pockets and parts without a drain
	SpreadM3  float64 // how far OutM3 may be off, from the margins of the inputs
	Pieces    []Holding
	Pockets   []Pocket
	Tilted    Tilted

	DrainS     float64 // until 0.5 % is left, with the inputs as they are; 0 without a drain
	WaitS      float64 // the same with bores at the small end of their margin: what to wait for
	Curve      []Point // of the whole section: level of the highest surface, volume left
	Drains     []Emptied
	ViscosityM float64 // kinematic, m²/s, at the line's temperature
	DensityKg  float64 // kg/m³, at the line's temperature

	Vented      bool     // every part that should drain breathes from a vent
	Unvented    []string // parts that don't, with the reason
	Provable    bool     // a drain that is done as computed proves it empty but for the pockets
	Why         string   // a sentence: what Provable rests on or what stands against it
	FilmM       float64  // mean thickness of the film when drained
	FilmM3      float64  // the film's volume, part of OutM3
	Assumptions []string

	Behind   []Behind   // what would be missing if a link were blocked, by volume
	Boundary []Boundary // as given
	fluid    Fluid
	tempC    float64
	walls    float64 // Σ area·√height, for the film at any time
	timed    bool    // made by Predict
}

// Holding is one piece of the section with its liquid.
type Holding struct {
	Name              string
	TrappedM3, KeptM3 float64
	Air               Breath
}

// Emptied is the outflow of one drain.
type Emptied struct {
	Name  string
	OutM3 float64
	TimeS float64 // until 0.5 % of it is left
	Curve []Point
}

// Behind is the liquid that has to pass one link, or the drain itself, to get out.
type Behind struct {
	Name string
	M3   float64
}

// Predict computes what a section holds, what of it comes out of the open drains,
// where the rest stays, how long it takes and whether the result can prove
// anything. Invariant: OutM3 + KeptM3 = TrappedM3. Returns a [FieldError] for a
// size, level or name that makes no sense, a fluid below its pour point and a
// drain above all it should drain. O(L²) in the number of links.
// The time takes nearly all of the work: see [Survey].
func Predict(s Section) (Outlook, error) {
	return predict(s, func(o *Outlook, n *net, b basin) { o.time(n, b, 1) })
}

// PredictWithin is Predict for a section whose time to drain is known from an earlier Predict of the same section,
// seconds: all but the course and the drains' own times is the same, as quick as a [Survey].
func PredictWithin(s Section, drainS float64) (Outlook, error) {
	if err := secondsBand.within("time to drain", drainS); err != nil {
		return Outlook{}, err
	}
	return predict(s, func(o *Outlook, n *net, _ basin) { o.DrainS, o.WaitS = drainS, n.waitS(drainS) })
}

// Survey is Predict without times, course and film (all zero): what is needed to
// choose among drains and vents, some fifty times quicker. [Judge] wants a Predict.
func Survey(s Section) (Outlook, error) { return predict(s, nil) }

// predict does the work of all three; time fills in DrainS and WaitS, nil where they are not wanted.
func predict(s Section, time func(*Outlook, *net, basin)) (Outlook, error) {
	at, err := s.check()
	if err != nil {
		return Outlook{}, err
	}
	n := newNet(s, at)
	if err := n.checkDrains(); err != nil {
		return Outlook{}, err
	}
	b := n.flood()
	o := Outlook{Section: s.Name, Pockets: n.pockets(b), Boundary: s.Boundary, Assumptions: n.guess, fluid: s.Fluid,
		tempC: s.TempC}
	if o.ViscosityM, err = s.Fluid.ViscosityAt(s.TempC); err != nil {
		return Outlook{}, err
	}
	if o.DensityKg, err = s.Fluid.DensityAt(s.TempC); err != nil {
		return Outlook{}, err
	}
	o.hold(n, b)
	o.breathe(n, b)
	o.Tilted = n.tilted(o.KeptM3)
	if o.Tilted.Note != "" {
		o.Assumptions = append(o.Assumptions, o.Tilted.Note)
	}
	o.SpreadM3 = n.spreadM3(b)
	o.Behind = n.behind(b)
	if time != nil {
		time(&o, n, b)
		o.film(n)
		o.timed = true
	}
	o.judgeProof(n)
	return o, nil
}

// checkDrains refuses an open drain above all the liquid it could drain.
func (n *net) checkDrains() error {
	for _, i := range n.openings(DrainOpening) {
		o := n.sec.Openings[i]
		top := n.reachTop(n.at[o.Node])
		if o.LevelM >= top && !math.IsInf(top, -1) {
			return refuse(o.what()+" level", "%.6g m is above all it should drain, which ends at %.6g m", o.LevelM, top)
		}
	}
	return nil
}

// reachTop is the highest inside point of what is joined to a node; −Inf if
// that holds nothing.
func (n *net) reachTop(node int) float64 {
	seen := make([]bool, len(n.level))
	stack := []int{node}
	seen[node] = true
	for len(stack) > 0 {
		i := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for _, w := range n.ways[i] {
			if !seen[w.to] {
				seen[w.to] = true
				stack = append(stack, w.to)
			}
		}
	}
	top := math.Inf(-1)
	for _, p := range n.pieces {
		if _, high := p.solid.span(); seen[p.a] && p.fullM3 > 0 {
			top = math.Max(top, high)
		}
	}
	return math.Min(top, n.fill())
}

// hold adds up the pieces.
func (o *Outlook) hold(n *net, b basin) {
	for _, p := range n.pieces {
		h := Holding{Name: p.name, TrappedM3: p.trapped, KeptM3: b.kept(p)}
		o.TrappedM3 += h.TrappedM3
		o.KeptM3 += h.KeptM3
		o.Pieces = append(o.Pieces, h)
	}
	o.OutM3 = o.TrappedM3 - o.KeptM3
}

// breathe finds how air gets to each piece that should drain.
func (o *Outlook) breathe(n *net, b basin) {
	air := n.air(CapillaryLength(n.sec.Fluid.tension, o.DensityKg), b)
	o.Vented = true
	for i, p := range n.pieces {
		h := &o.Pieces[i]
		// air is needed at the upper end; what it then meets lies below it
		h.Air = air[p.a+p.b-p.low]
		if h.wantsAir() {
			o.Vented = false
			o.Unvented = append(o.Unvented, h.Name+": "+h.Air.String())
		}
	}
}

// wantsAir reports whether a piece that should drain has no vent to breathe from.
func (h Holding) wantsAir() bool { return h.TrappedM3-h.KeptM3 > dust && h.Air != Breathes }

// time runs the drains, as they are and at the small end of the bores' margin.
func (o *Outlook) time(n *net, b basin, refine int) {
	for _, r := range n.runs(b, o.ViscosityM) {
		e := Emptied{Name: r.name, OutM3: r.left(r.fill), Curve: r.empty(refine)}
		if len(e.Curve) > 0 {
			e.TimeS = e.Curve[len(e.Curve)-1].TimeS
			e.Curve = thinned(e.Curve)
		}
		o.Drains = append(o.Drains, e)
		o.DrainS = math.Max(o.DrainS, e.TimeS)
	}
	o.Curve = together(o.Drains)
	o.WaitS = n.waitS(o.DrainS)
}

// waitS returns how long to wait where the bores may be as narrow as their margin says.
// At equal volume and head a narrower bore drains slower by d⁻⁴ (laminar) to
// d⁻²˙⁵ (turbulent); the steeper law is taken for all.
func (n *net) waitS(drainS float64) float64 {
	return drainS * math.Pow(1-n.sec.Margin.filled().Bore, -4)
}

// thinned leaves out points that bring less than a hundredth of the time and of the
// volume since the one before; the first and the last stay.
func thinned(course []Point) []Point {
	first, last := course[0], course[len(course)-1]
	kept := course[:1]
	for _, p := range course[1 : len(course)-1] {
		q := kept[len(kept)-1]
		if p.TimeS-q.TimeS >= 0.01*last.TimeS || q.LeftM3-p.LeftM3 >= 0.01*first.LeftM3 {
			kept = append(kept, p)
		}
	}
	return append(kept, last)
}

// film fills in what stays on the walls when the time is up.
func (o *Outlook) film(n *net) {
	o.walls = n.walls()
	if o.DrainS == 0 {
		return
	}
	wet := 0.0
	for _, p := range n.pieces {
		low, high := p.solid.span()
		wet = math.Max(wet, high-low)
	}
	o.FilmM = 2.0 / 3 * film(wet, o.ViscosityM, math.Max(60, o.DrainS))
	o.FilmM3 = math.Min(o.OutM3, filmM3(o.walls, o.ViscosityM, o.DrainS))
}

// judgeProof says whether a result could prove the section empty.
func (o *Outlook) judgeProof(n *net) {
	switch {
	case len(n.openings(DrainOpening)) == 0:
		o.Why = "no drain of the plan is open, so nothing can come out"
	case o.OutM3 <= dust:
		o.Why = "nothing in it can run to an open drain"
	case o.undrained() != "":
		o.Why = "no open drain is joined to " + o.undrained()
	case !o.Vented:
		o.Why = "no air can be relied on at " + o.unvented()
	default:
		o.Provable = true
		o.Why = fmt.Sprintf("every part that drains breathes from a vent; %s must come out, give or take %s", litres(o.OutM3),
			litres(o.SpreadM3))
		switch n := len(o.Pockets); {
		case n == 1:
			o.Why += fmt.Sprintf(", and %s stay in one pocket", litres(o.KeptM3))
		case n > 1:
			o.Why += fmt.Sprintf(", and %s stay in %d pockets", litres(o.KeptM3), n)
		}
	}
}

// mostNamed is up to how many parts a sentence names.
const mostNamed = 4

// unvented says which parts want air, those with the same reason together, and counts what would make it too long.
func (o *Outlook) unvented() string {
	names := map[Breath][]string{}
	var order []Breath
	for _, h := range o.Pieces {
		if !h.wantsAir() {
			continue
		}
		if names[h.Air] == nil {
			order = append(order, h.Air)
		}
		names[h.Air] = append(names[h.Air], h.Name)
	}
	var say []string
	for _, b := range order {
		list := names[b]
		s := strings.Join(list[:min(len(list), mostNamed)], ", ")
		if more := len(list) - mostNamed; more > 0 {
			s += fmt.Sprintf(" and %d more", more)
		}
		say = append(say, s+" ("+b.String()+")")
	}
	return strings.Join(say, "; ")
}

func (o *Outlook) undrained() string {
	var names []string
	for _, p := range o.Pockets {
		if p.Undrained {
			names = append(names, p.Pieces...)
		}
	}
	return strings.Join(names, ", ")
}

// together adds the courses of several drains: at each moment of any of them, the
// volume left in all and the highest surface that still falls.
func together(drains []Emptied) []Point {
	if len(drains) == 1 {
		return drains[0].Curve
	}
	var times []float64
	for _, d := range drains {
		for _, p := range d.Curve {
			times = append(times, p.TimeS)
		}
	}
	sort.Float64s(times)
	var sum []Point
	for i, t := range times {
		if i > 0 && t == times[i-1] {
			continue
		}
		p := Point{TimeS: t, LevelM: math.Inf(-1)}
		for _, d := range drains {
			if len(d.Curve) == 0 {
				continue
			}
			q := along(d.Curve, t)
			p.LeftM3 += q.LeftM3
			if t <= d.TimeS {
				p.LevelM = math.Max(p.LevelM, q.LevelM)
			}
		}
		sum = append(sum, p)
	}
	return sum
}

// along interpolates a course.
func along(c []Point, t float64) Point {
	i := sort.Search(len(c), func(i int) bool { return c[i].TimeS >= t })
	if i == 0 {
		return c[0]
	}
	if i == len(c) {
		return c[len(c)-1]
	}
	a, b := c[i-1], c[i]
	x := 0.0
	if b.TimeS > a.TimeS {
		x = (t - a.TimeS) / (b.TimeS - a.TimeS)
	}
	return Point{t, a.LevelM + x*(b.LevelM-a.LevelM), a.LeftM3 + x*(b.LeftM3-a.LeftM3)}
}
