package planner

import (
	"cmp"
	"fmt"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/cut"
	"stillwatch/isolation/envelope"
)

// choice is a least set of points for a task.
type choice struct {
	points []int32 // that isolate, ascending: chosen valves and breakers, chosen automatic valves and their supplies
	outer  map[int32]bool
	cost   int64 // number of points
	bound  int64 // proven: no set has fewer
	drains bool  // another set as small is nearer to the work, but does not let what is opened drain as this one does
	lost   toll  // what it takes from the standby and from others
	plain  int64 // points of the least set, whatever it takes from others
}

// terms are what a question may change about the points: Why asks again with one forbidden or one for nothing.
type terms struct {
	forbid map[int32]bool
	free   map[int32]bool
}

// chooseFreely finds the least set of points that meets every demand: of all sets the one that takes a supply from the
// fewest others, of those the one with fewest points, and of those the one with the least awkward places. The cost of a
// point is large·1 + its awkwardness, so that awkward places only decide between sets with equally many points.
func (k *task) chooseFreely(p cut.Problem) (choice, error) {
	if len(k.Sources)+len(k.Keeps) == 0 {
		return choice{outer: map[int32]bool{}}, nil
	}
	losses := p.Losses
	p.Losses = nil
	s, err := cut.Solve(p)
	if err != nil {
		return choice{}, err
	}
	c := choice{plain: int64(len(s.Chosen)), outer: map[int32]bool{}}
	p.Losses = losses
	if s.Lost = cut.Lost(p, s.Chosen); len(s.Lost) > 0 { // then another set may take less from others
		if s, err = cut.Solve(p); err != nil {
			return choice{}, err
		}
	}
	if err := cut.Verify(p, s.Chosen); err != nil {
		return choice{}, fmt.Errorf("the chosen points do not hold: %w", err)
	}
	c.points, c.cost, c.lost = s.Chosen, int64(len(s.Chosen)), k.tollIn(s.Lost)
	for i, v := range s.Chosen {
		c.outer[v] = s.Outer[i] && !k.At(v).Kind.IsBlanking()
	}
	c.drains = s.ForBleed
	c.bound = c.cost
	if !s.Exact() {
		c.bound = min(max(s.Bound.ByFlow, s.Bound.BySearch-s.Toll)/k.large(), c.cost)
	}
	return c, nil
}

// large is the weight of a point against its awkwardness: more than all awkwardness together. So the whole number of
// points is the cost divided by large.
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

// problem puts the question to the exact solver. What is free costs 1, next to nothing.
func (k *task) problem(t terms) cut.Problem {
	n, large := len(k.Plant.Nodes), k.large()
	p := cut.Problem{N: n, Cost: make([]int64, n), Counts: make([]cut.Counts, n), Openings: make([]bool, n), Zone: k.Zone}
	for i := range k.Plant.Nodes {
		v, node := int32(i), &k.Plant.Nodes[i]
		p.Openings[i] = node.Kind == isolation.Opening && !k.InZone[i]
		p.Counts[i] = counts(node)
		switch {
		case !k.usable(v) || t.forbid[v]:
			continue
		case t.free[v]:
			p.Cost[i] = 1
		default:
			p.Cost[i] = large + awkwardness(node)
		}
		if node.Kind == isolation.AutomaticValve {
			p.Needs = append(p.Needs, cut.Need{If: v, OneOf: []int32{k.Number(node.Supply)}})
		}
		if oneOf := k.first[v]; len(oneOf) > 0 {
			p.Needs = append(p.Needs, cut.Need{If: v, OneOf: oneOf})
		}
	}
	for i, l := range k.Plant.Links {
		a, b := k.Ends[i][0], k.Ends[i][1]
		switch {
		case a < 0 || b < 0 || a == b:
		case l.AirGap:
			p.Gaps = append(p.Gaps, [2]int32{a, b})
		case k.At(a).HoldsUp(): // what drains may run into it, and not out of it
			p.OneWay = append(p.OneWay, [2]int32{b, a})
		case k.OneWay[i] || k.At(b).HoldsUp():
			p.OneWay = append(p.OneWay, [2]int32{a, b})
		default:
			p.Edges = append(p.Edges, [2]int32{a, b})
		}
	}
	demand := map[int32]cut.Demand{}
	for _, w := range k.Sources {
		demand[w.Node] = k.asked(w)
	}
	for _, i := range k.allSources() {
		p.Sources = append(p.Sources, cut.Source{Vertex: i, Demand: cmp.Or(demand[i], cut.None)})
	}
	p.ZoneBled = slices.ContainsFunc(k.Sources, func(w envelope.Wanted) bool {
		return k.At(w.Node).Energy.Nature() == isolation.Liquid
	})
	p.Keeps = k.keepsOf()
	p.Further = k.proving(t)
	k.addLosses(&p)
	return p
}

// counts returns what a node counts as for the solver.
func counts(n *isolation.Node) cut.Counts {
	switch {
	case n.BreaksJoint():
		return cut.Blank | cut.Joint
	case n.Kind.IsBlanking():
		return cut.Blank
	}
	return cut.Valve
}

// asked returns the solver's word for the demand on a source. No bleed is asked for between two breaks in a cable.
func (k *task) asked(w envelope.Wanted) cut.Demand {
	switch w.Rule.Demand {
	case isolation.DemandDouble:
		if k.At(w.Node).Energy.Flows() {
			return cut.Bled
		}
		return cut.Double
	case isolation.DemandBlank:
		return cut.BlankBehind
	}
	return cut.Single
}
