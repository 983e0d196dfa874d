package planner

import (
	"errors"
	"fmt"
	"math/bits"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/cut"
)

// choice is a least set of points for a task.
type choice struct {
	points []int32 // that isolate, ascending: chosen valves and breakers, chosen automatic valves and their supplies
	outer  map[int32]bool
	cost   int64 // number of points
	bound  int64 // proven: no set has fewer
	exact  bool  // the search ended by itself
	unique bool
	lost   toll  // what it takes from the standby and from others
	plain  int64 // points of the least set, whatever it takes from others
}

// terms are what a question may change about the points: Why asks again with one forbidden or one for nothing.
type terms struct {
	forbid map[int32]bool
	free   map[int32]bool
}

// mostSupplies is up to how many motive supplies are tried in every combination; above, the answer is still a valid
// plan with a valid bound, but may not be the least.
const mostSupplies = 8

// chooseFreely finds the least set of points that meets every demand: of all sets the one that takes a supply from the
// fewest others, of those the one with fewest points, and of those the one with the least awkward places. The cost of a
// point is large·1 + its awkwardness, so that awkward places only decide between sets with equally many points.
//
// A motive supply is a cost that several automatic valves share, which one minimum cut cannot say. So every set of
// supplies that may be taken away is tried: those in the set are paid once, and then close and let their automatic
// valves close. Where there are too many for that, the relaxation in which all supplies are free bounds what was not
// tried.
func (k *task) chooseFreely(t terms) (choice, error) {
	if len(k.Sources) == 0 {
		return choice{exact: true, unique: true, outer: map[int32]bool{}}, nil
	}
	large := k.large()
	supplies := k.supplies(t)
	var best *found
	var missing error
	lowest := int64(-1)
	for _, taken := range supplySets(len(supplies)) {
		away, fixed := k.takeAway(t, supplies, taken, large)
		if best != nil && best.lost == (toll{}) && fixed >= best.total {
			continue
		}
		got, least, err := k.ask(t, away, large)
		var uncut *cut.Uncut
		switch {
		case errors.As(err, &uncut), missing == nil && errors.Is(err, errUnmended):
			missing = err
			continue
		case errors.Is(err, errUnmended):
			continue
		case err != nil:
			return choice{}, err
		}
		now := &found{choice: k.choiceOf(got), total: got.Cost + fixed}
		now.lost, now.plain = k.tollOf(now.points), (least+fixed)/large
		if bound := got.Bound + fixed; best == nil || now.lost.less(best.lost) || lowest < 0 || now.lost == best.lost &&
			bound < lowest {
			lowest = bound
		}
		if best == nil || now.lost.less(best.lost) || now.lost == best.lost && now.total < best.total {
			best = now
		}
	}
	if best == nil {
		return choice{}, missing
	}
	if len(supplies) > mostSupplies {
		lowest = k.relaxed(t, supplies, large)
	}
	best.bound = min(max(lowest, 0)/large, best.cost)
	best.exact = best.bound == best.cost
	best.unique = best.unique && len(supplies) == 0 && k.noneAwkward()
	return best.choice, nil
}

// found is the best set so far, with what it costs in the solver's units.
type found struct {
	choice
	total int64
}

// takeAway returns the motive supplies in a set of them, and what they cost.
func (k *task) takeAway(t terms, supplies []int32, taken uint64, large int64) (map[int32]bool, int64) {
	away, fixed := map[int32]bool{}, int64(0)
	for i, s := range supplies {
		if taken&(1<<i) == 0 {
			continue
		}
		away[s] = true
		if !t.free[s] {
			fixed += large + awkwardness(k.At(s))
		}
	}
	return away, fixed
}

// noneAwkward reports whether no point of the plant is harder to reach than another: only then does the solver's unique
// answer mean that no other set has as few points.
func (k *task) noneAwkward() bool {
	for i := range k.Plant.Nodes {
		if awkwardness(&k.Plant.Nodes[i]) > 0 && k.usable(int32(i)) {
			return false
		}
	}
	return true
}

// large is the weight of a point against its awkwardness: more than all awkwardness, and all the ones charged for
// supplies already paid for, together. So the whole number of points is the cost divided by large.
func (k *task) large() int64 {
	sum := int64(1)
	for i := range k.Plant.Nodes {
		sum += awkwardness(&k.Plant.Nodes[i]) + 1
	}
	return sum
}

// awkwardness says how much a point is to be avoided among as many: what the plant file says, and more where the line
// has to be opened to use it. One that takes no lock is not avoided: the next one with a lock may be the whole
// header's.
func awkwardness(n *isolation.Node) int64 {
	a := int64(max(n.Awkward, 0))
	if n.Kind == isolation.Blank || n.Kind == isolation.Spool {
		a += 20
	}
	return a
}

// supplies lists the points that take the motive air or power of usable automatic valves away.
func (k *task) supplies(t terms) []int32 {
	var out []int32
	seen := map[int32]bool{}
	for i := range k.Plant.Nodes {
		n := &k.Plant.Nodes[i]
		if n.Kind != isolation.AutomaticValve || !k.usable(int32(i)) || t.forbid[int32(i)] {
			continue
		}
		if s := k.Number(n.Supply); !seen[s] && !t.forbid[s] {
			seen[s] = true
			out = append(out, s)
		}
	}
	return out
}

// supplySets lists the sets of n supplies as bits, fewest first: all of them up to mostSupplies, else none, each one
// and all together.
func supplySets(n int) []uint64 {
	if n > mostSupplies {
		out := []uint64{0}
		for i := 0; i < min(n, 63); i++ {
			out = append(out, 1<<i)
		}
		return append(out, 1<<min(n, 63)-1)
	}
	var out []uint64
	for size := 0; size <= n; size++ {
		for s := uint64(0); s < 1<<n; s++ {
			if bits.OnesCount64(s) == size {
				out = append(out, s)
			}
		}
	}
	return out
}

// ask puts the question to the exact solver with the supplies in away taken away: those cost 1, next to nothing.
// least is what the least set costs whatever it takes from others.
func (k *task) ask(t terms, away map[int32]bool, large int64) (s cut.Solution, least int64, err error) {
	p := k.problem(t, away, large)
	if s, err = solve(p); err != nil {
		return s, 0, err
	}
	if s, err = k.withDeadDrains(p, s); err != nil {
		return s, 0, err
	}
	if s, err = k.withLetDown(p, s); err != nil {
		return s, 0, err
	}
	least = s.Cost
	s = k.sparing(p, s)
	if err := cut.Verify(p, s.Chosen); err != nil {
		return s, 0, fmt.Errorf("the chosen points do not hold: %w", err)
	}
	return s, least, nil
}

// solve asks first without the condition of a drain between two points: where the answer has the drains all the same
// it is the answer, because no condition more can make a set cheaper.
func solve(p cut.Problem) (cut.Solution, error) {
	vents := p.Vents
	p.Vents = nil
	s, err := cut.Solve(p)
	p.Vents = vents
	if err == nil && cut.Verify(p, s.Chosen) == nil {
		return s, nil
	}
	return cut.Solve(p)
}

func (k *task) problem(t terms, away map[int32]bool, large int64) cut.Problem {
	n := len(k.Plant.Nodes)
	p := cut.Problem{N: n, Cost: make([]int64, n), Counts: make([]cut.Counts, n), Vents: make([]bool, n), Zone: k.Zone}
	drainless := k.drainless() && k.drained()
	if !k.drained() {
		p.Vents = nil
	}
	for i := range k.Plant.Nodes {
		v, node := int32(i), &k.Plant.Nodes[i]
		if p.Vents != nil {
			p.Vents[i] = node.Kind == isolation.Opening && !k.InZone[i]
		}
		p.Counts[i] = cut.Valve
		if node.Kind == isolation.Blank || node.Kind == isolation.Spool {
			p.Counts[i] = cut.Blank
		}
		if !k.usable(v) || t.forbid[v] {
			continue
		}
		if node.Kind == isolation.AutomaticValve && !away[k.Number(node.Supply)] {
			continue
		}
		p.Cost[i] = large + awkwardness(node)
		if away[v] || t.free[v] {
			p.Cost[i] = 1
		}
	}
	for _, l := range k.Plant.Links {
		a, b := k.Number(l.A), k.Number(l.B)
		switch {
		case a < 0 || b < 0 || a == b:
		case drainless && (k.At(a).Kind.IsElectrical() || k.At(b).Kind.IsElectrical()):
			k.split(&p, a, b, l.OneWay)
		case l.OneWay:
			p.Arcs = append(p.Arcs, [2]int32{a, b})
		default:
			p.Edges = append(p.Edges, [2]int32{a, b})
		}
	}
	for _, s := range k.Sources {
		p.Sources = append(p.Sources, cut.Source{Vertex: s.Node, Demand: asked(s.Rule.Demand)})
	}
	return p
}

// drainless reports whether current or motion must be cut twice: no drain is asked for between two breaks in a cable.
func (k *task) drainless() bool {
	return k.doubles(func(e isolation.Energy) bool { return !e.Flows() })
}

// drained reports whether something that flows must be cut twice.
func (k *task) drained() bool { return k.doubles(isolation.Energy.Flows) }

func (k *task) doubles(of func(isolation.Energy) bool) bool {
	for _, s := range k.Sources {
		if asked(s.Rule.Demand) == cut.Double && of(k.At(s.Node).Energy) {
			return true
		}
	}
	return false
}

// split puts a vertex that counts as an opening into a cable, so that the solver's condition of a drain between two
// points holds between electrical points by itself. Such vertices are numbered behind the plant's nodes. It is needed
// only where both current and something that flows must be cut twice, and makes more of the condition than is meant
// where current has to be cut by two points in pipes: then a drain is asked for between those too.
func (k *task) split(p *cut.Problem, a, b int32, oneWay bool) {
	v := int32(p.N)
	p.N++
	p.Cost, p.Counts, p.Vents = append(p.Cost, 0), append(p.Counts, 0), append(p.Vents, true)
	if oneWay {
		p.Arcs = append(p.Arcs, [2]int32{a, v}, [2]int32{v, b})
		return
	}
	p.Edges = append(p.Edges, [2]int32{a, v}, [2]int32{v, b})
}

// asked returns the solver's word for a rule's demand.
func asked(d string) cut.Demand {
	switch d {
	case isolation.DemandDouble:
		return cut.Double
	case isolation.DemandBlank:
		return cut.BlankBehind
	}
	return cut.Single
}

func (k *task) choiceOf(s cut.Solution) choice {
	c := choice{outer: map[int32]bool{}, unique: s.Unique}
	for j, v := range s.Chosen {
		c.outer[v] = s.Outer[j] && !k.At(v).Kind.IsBlanking()
	}
	c.points = k.withSupplies(s.Chosen)
	slices.Sort(c.points)
	c.cost = int64(len(c.points))
	return c
}

// relaxed returns a bound on the cost when all supplies may be taken away for nothing.
func (k *task) relaxed(t terms, supplies []int32, large int64) int64 {
	all := map[int32]bool{}
	for _, s := range supplies {
		all[s] = true
	}
	s, _, err := k.ask(t, all, large)
	if err != nil {
		return 0
	}
	return s.Bound
}
