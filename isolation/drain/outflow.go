package drain

import (
	"math"
	"slices"
)

// Point is a moment of the outflow.
type Point struct {
	TimeS  float64 // since the drain was opened
	LevelM float64 // of the free surfaces
	LeftM3 float64 // that can still run off
}

// leg is one link on the way to the drain with everything that has to pass it.
type leg struct {
	up           int // the leg nearer the drain, −1: the drain itself
	bore, length float64
	lossK        float64
	low, high    float64 // lower and higher invert
	friction     *cautious
	flowArea     float64 // surface that drains through it at the current level
}

// store is a piece's liquid above its pocket, and the leg through which it leaves.
type store struct {
	solid      solid
	keep       float64 // level at which it stops
	keptM3     float64
	leg        int
	floor, top float64
}

// run is the emptying of everything that drains through one opening.
//
// The model is quasi-steady: at every level all free surfaces stand alike and
// fall together at speed u, each leg carries u times the surface above it, and u
// is the fastest at which no path asks for more head than it has. So a leg with
// more resistance holds the others back; really they would run ahead, so the course
// is slow where such a leg empties, and the whole is done no later. Head may not be
// borrowed over a weir: each crest must be passed with the head above it, since a
// vented line does not siphon.
type run struct {
	name           string
	legs           []leg // drains first: a leg's up is always before it
	stores         []store
	mouth          float64
	exit           leg // the opening's own bore
	nu             float64
	fill           float64
	last, before   float64 // log u of the last two levels, to guess the next
	lastZ, beforeZ float64
	slope          float64 // and the slope of log demand over log u there
	flows          []flow  // one for each leg, as it stands at the current level
	out            flow    // the opening's
	active         []int   // legs that carry something at the current level, leaves first
	form           uint64  // which law holds where at the last speed found: see demand
}

// entranceK is the loss where liquid leaves a vessel into a pipe, sharp-edged.
const entranceK = 0.5

// sharpEdge is 1/Cd² − 1 for Cd 0.6.
const sharpEdge = 1/(0.6*0.6) - 1

// steel is the roughness of commercial steel pipe, m.
const steel = 46e-6

func (s Section) rough() float64 {
	if s.RoughM == 0 {
		return steel
	}
	return s.RoughM
}

// frictions keeps one cautious curve for each bore.
type frictions map[float64]*cautious

func (f frictions) of(bore, rough float64) *cautious {
	c, ok := f[bore]
	if !ok {
		c = newCautious(math.Min(0.1, rough/bore))
		f[bore] = c
	}
	return c
}

// runs prepares one emptying for each open drain that has anything to drain.
func (n *net) runs(b basin, nu float64) []*run {
	known := frictions{}
	byDrain := map[int]*run{}
	legOf := make([]int, len(n.level)) // the leg that starts at a node
	vessel := n.vesselNodes()
	var list []*run
	for _, o := range n.openings(DrainOpening) {
		op := n.sec.Openings[o]
		k := op.LossK
		if k == 0 {
			k = sharpEdge
		}
		r := &run{name: op.Name, mouth: op.LevelM, nu: nu, fill: n.fill()}
		r.exit = leg{bore: op.BoreM, length: op.LengthM, lossK: k, friction: known.of(op.BoreM, n.sec.rough())}
		r.out = flow{up: -1, lossK: k, friction: r.exit.friction}
		byDrain[o] = r
		list = append(list, r)
	}
	for _, node := range b.order {
		legOf[node] = -1
		if b.via[node] < 0 {
			continue
		}
		l := n.sec.Links[b.via[node]]
		r := byDrain[b.drain[node]]
		g := leg{up: legOf[b.parent[node]], bore: l.BoreM, length: l.LengthM, lossK: l.LossK,
			low: math.Min(l.InvertAM, l.InvertBM), high: math.Max(l.InvertAM, l.InvertBM),
			friction: known.of(l.BoreM, n.sec.rough())}
		if vessel[node] {
			g.lossK += entranceK
		}
		legOf[node] = len(r.legs)
		r.legs = append(r.legs, g)
		r.flows = append(r.flows, flow{up: g.up, lossK: g.lossK, friction: g.friction})
	}
	n.fillStores(b, byDrain, legOf)
	return list
}

func (n *net) vesselNodes() map[int]bool {
	at := map[int]bool{}
	for _, v := range n.sec.Vessels {
		at[n.at[v.Node]] = true
	}
	return at
}

// leaves is the node from which a piece's liquid sets out for the drain. A link on
// the way counts from its far end, so that its liquid meets its own friction.
func (n *net) leaves(b basin, p piece) int {
	for _, end := range []int{p.a, p.b} {
		if p.link >= 0 && b.via[end] == p.link {
			return end
		}
	}
	return n.home(b, p)
}

// fillStores returns every piece's liquid to the leg through which it leaves.
func (n *net) fillStores(b basin, byDrain map[int]*run, legOf []int) {
	for _, p := range n.pieces {
		keep := b.keeps(p)
		if math.IsInf(keep, 1) {
			continue
		}
		low, top := p.solid.span()
		low = math.Max(low, keep)
		top = math.Min(top, n.fill())
		if top <= low {
			continue
		}
		home := n.leaves(b, p)
		r := byDrain[b.drain[home]]
		r.stores = append(r.stores, store{p.solid, keep, p.solid.below(keep), legOf[home], low, top})
	}
}

// left is what can still run off when the surfaces stand at z, m³.
func (r *run) left(z float64) float64 {
	sum := 0.0
	for i := range r.stores {
		s := &r.stores[i]
		if z > s.floor {
			sum += s.solid.below(math.Min(z, r.fill)) - s.keptM3
		}
	}
	return sum
}

// spread puts the free surface at z on the legs and returns the whole, m².
func (r *run) spread(z float64) float64 {
	for i := range r.legs {
		r.legs[i].flowArea = 0
	}
	total := 0.0
	for i := range r.stores {
		s := &r.stores[i]
		if z <= s.floor || z >= s.top {
			continue
		}
		a := s.solid.surface(z)
		total += a
		if s.leg >= 0 {
			r.legs[s.leg].flowArea += a
		}
	}
	for i := len(r.legs) - 1; i >= 0; i-- {
		if up := r.legs[i].up; up >= 0 {
			r.legs[up].flowArea += r.legs[i].flowArea
		}
	}
	return total
}

// courseSteps is the least number of stretches in a course.
const courseSteps = 12

// breaks are the levels at which the integrand changes its form, from the start
// down to the end, in rising order.
func (r *run) breaks(end float64) []float64 {
	list := []float64{end, r.fill}
	put := func(z float64) {
		if z > end && z < r.fill {
			list = append(list, z)
		}
	}
	for _, s := range r.stores {
		put(s.floor)
		put(s.top)
		low, top := s.solid.span()
		if p, ok := s.solid.(pipeSolid); ok && p.rise > 0 {
			put(low + p.bore*p.cos)
			put(top - p.bore*p.cos)
		}
	}
	for _, g := range r.legs {
		put(g.high)
		put(g.high + trickle*g.bore)
		put(g.high + g.bore)
	}
	for k := 1; k < courseSteps; k++ { // so that the course has no long straight stretches
		put(end + (r.fill-end)*float64(k)/courseSteps)
	}
	slices.Sort(list)
	return slices.CompactFunc(list, func(a, b float64) bool { return math.Abs(b-a) < 1e-9 })
}

// done is the share of the liquid at which a run counts as over: what is left
// then drips.
const done = 5e-3

// endLevel is the level at which only only its last two hundredth is left.
func (r *run) endLevel() float64 {
	all := r.left(r.fill)
	low, high := r.fill, r.fill
	for _, s := range r.stores {
		low = math.Min(low, s.floor)
	}
	for range 60 {
		mid := (low + high) / 2
		if r.left(mid) > done*all {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}

// empty integrates dt = dz/u from the full level down to the end, with each
// stretch between breaks cut into refine pieces. It returns the course; the last
// point's time is the time to drain.
func (r *run) empty(refine int) []Point {
	end := r.endLevel()
	levels := r.breaks(end)
	if len(levels) < 2 || r.left(r.fill) <= dust {
		return nil
	}
	r.last, r.slope = math.Log(0.01), 2
	guess := 0.0 // of the whole time, to measure errors against: a rough one will do
	for i := len(levels) - 1; i > 0; i -= 4 {
		low := levels[max(i-4, 0)]
		guess += r.slowness((low+levels[i])/2) * (levels[i] - low)
	}
	times := make([]float64, len(levels)) // of the stretch below each level
	r.stretches(levels, times, tight*guess, refine)
	t := 0.0
	course := []Point{{0, r.fill, r.left(r.fill)}}
	for i := len(levels) - 1; i > 0; i-- {
		t += times[i]
		course = append(course, Point{t, levels[i-1], r.left(levels[i-1])})
	}
	return course
}

// stretches fills in the time that the surface takes from each level to the one below it, to an error of tol a stretch.
func (r *run) stretches(levels, times []float64, tol float64, refine int) {
	q := quad{r.slowness, tol, func() uint64 { return r.form }}
	if len(levels) < fewBreaks/2 {
		q.tol, q.form = tol/20, everNew()
	}
	for i := len(levels) - 1; i > 0; i-- {
		a, b := levels[i-1], levels[i]
		h := (b - a) / float64(refine)
		t := 0.0
		for k := range refine {
			t += q.between(b-float64(k+1)*h, b-float64(k)*h, 10)
		}
		times[i] = t
	}
}

// tight is the error allowed to a stretch between breaks, as a share of the whole.
const tight = 1e-4

// fewBreaks: below so many breaks each stretch weighs more and more care costs
// less, so none is taken for smooth.
const fewBreaks = 200

// slowness is 1/u: the seconds for a metre of level; nothing where no free
// surface is.
func (r *run) slowness(z float64) float64 {
	total := r.spread(z)
	if total < 1e-12 {
		return 0
	}
	return 1 / r.speed(z, total)
}
