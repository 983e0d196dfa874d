package planner

import (
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/cut"
	"stillwatch/isolation/graph"
)

// boundScale is the worth of a point in a bound: more than a ship has automatic valves, so that the 1 which a supply
// keeps is never a whole point.
const boundScale = 1000

// sayBound puts into the plan why no set of points has fewer: the solver's flow for the plain question, in which every
// point costs the same, as ways through the plant. What the other conditions ask for (drains, joints, services) can
// only make a set larger. Where the flow cannot be told as ways the plan has no bound.
func (k *task) sayBound(plan *isolation.Plan, picked choice) {
	if len(k.Sources)+len(k.Keeps) == 0 {
		return
	}
	for _, with := range [][]int32{k.withTheirSupplies(picked.points), nil} {
		b := k.bound(with)
		if b.Points() > plan.Bound.Points() {
			plan.Bound = b
		}
		if b.Points() >= plan.Cost || len(with) == 0 {
			break
		}
	}
	plan.LowerBound = plan.Bound.Points()
}

// withTheirSupplies picks one automatic valve for each motive supply: the one that is shut, if any is.
func (k *task) withTheirSupplies(points []int32) []int32 {
	of := map[int32]int32{}
	for i := range k.Plant.Nodes {
		v := int32(i)
		if k.At(v).Kind != isolation.AutomaticValve || !k.usable(v) {
			continue
		}
		s := k.Number(k.At(v).Supply)
		if _, has := of[s]; !has || slices.Contains(points, v) {
			of[s] = v
		}
	}
	var out []int32
	for _, v := range of {
		out = append(out, v)
	}
	slices.Sort(out)
	return out
}

// bound asks the solver the plain question and tells its flow as ways, then the ways to what is kept off through what
// those leave of each point; nil where there is none to tell.
func (k *task) bound(with []int32) *isolation.Bound {
	p := k.problem(terms{})
	p.Openings, p.Needs, p.Further, p.Losses, p.Nets, p.Keeps = nil, nil, nil, nil, nil, nil
	for i := range p.Cost {
		p.Cost[i] = min(p.Cost[i], 1) * boundScale
		p.Counts[i] &^= cut.Joint
	}
	asking := p.Sources[:0]
	for _, s := range p.Sources {
		if s.Demand == cut.Bled {
			s.Demand = cut.Double
		}
		if s.Demand != cut.None {
			asking = append(asking, s)
		}
	}
	p.Sources = asking
	for _, v := range with {
		p.Cost[v] = 2*boundScale - 1
		if s := k.Number(k.At(v).Supply); p.Cost[s] > 0 {
			p.Cost[s] = 1
		}
	}
	b := &isolation.Bound{Scale: boundScale, Ways: []isolation.BoundWay{}}
	if len(with) > 0 { // nil otherwise: a plan that is read from the log again is the same plan
		b.With = k.IDs(with)
	}
	var ok bool
	if b.Ways, ok = k.waysOf(p, p.Cost); !ok {
		return nil
	}
	b.Kept = k.keptWays(p, b.Ways)
	return b
}

// waysOf tells the flow of the plain question as ways; ok is false where it cannot be told. worth is more than 0 for
// every point, also for those that the question leaves out.
func (k *task) waysOf(p cut.Problem, worth []int64) (ways []isolation.BoundWay, ok bool) {
	s, err := cut.Solve(p)
	if err != nil {
		return nil, false
	}
	ways = []isolation.BoundWay{}
	t := k.newTracer(p, worth, s.Flow)
	for _, in := range s.Flow.Inflows {
		for left := in.Amount; left > 0; {
			w, ok := t.trace(in, left)
			if !ok {
				return nil, false
			}
			ways = append(ways, w)
			left -= w.Amount
		}
	}
	return ways, true
}

// keptWays returns ways to what is kept off, one part after the other, through what is left of each point.
func (k *task) keptWays(p cut.Problem, used []isolation.BoundWay) []isolation.BoundWay {
	var out []isolation.BoundWay
	worth := slices.Clone(p.Cost)
	load := func(loads [][2]int64, w isolation.BoundWay, layers ...int) {
		for n, i := range k.Numbers(w.Nodes) {
			for _, layer := range layers {
				if n != w.Rise && (layer == 1) == (n > w.Rise) || len(layers) == 2 {
					loads[i][layer] += w.Amount
				}
			}
		}
	}
	loads := make([][2]int64, p.N)
	for _, w := range used {
		load(loads, w, 0)
		load(loads, w, 1)
	}
	for _, h := range k.Keeps {
		q := p
		q.Cost, q.Edges, q.OneWay, q.Gaps = slices.Clone(worth), nil, nil, nil
		spent := make([]bool, p.N)
		for i := range q.Cost {
			if worth[i] > 0 {
				q.Cost[i] = worth[i] - max(loads[i][0], loads[i][1])
				spent[i] = q.Cost[i] <= 0
				q.Cost[i] = max(0, q.Cost[i])
			}
		}
		left := func(pairs [][2]int32) [][2]int32 { // nothing more goes through what is spent
			return slices.DeleteFunc(slices.Clone(pairs), func(e [2]int32) bool { return spent[e[0]] || spent[e[1]] })
		}
		q.Edges, q.OneWay, q.Gaps = left(p.Edges), left(p.OneWay), left(p.Gaps)
		q.Sources, q.Zone = nil, []int32{h.Node}
		for _, s := range h.From {
			q.Sources = append(q.Sources, cut.Source{Vertex: s, Demand: cut.Single})
		}
		ways, _ := k.waysOf(q, worth)
		for _, w := range ways {
			w.Rise = -1
			load(loads, w, 0, 1)
			out = append(out, w)
		}
	}
	return out
}

// spot is a place of the solver's flow in one layer.
type spot struct {
	cut.Spot
	layer uint8
}

// tracer takes a flow apart into ways.
type tracer struct {
	*task
	p       cut.Problem
	worth   []int64 // more than 0 for points
	ends    []bool  // per node: the ways end there
	inner   uint8   // the innermost layer of the flow
	legs    []cut.Leg
	from    map[spot][]int32 // the legs that leave a spot
	section []int32          // of a vertex that cannot be closed: the least of those joined with it
	atWork  map[int32]bool   // sections of the work
}

// newTracer finds the sections and sorts the legs by where they begin.
func (k *task) newTracer(p cut.Problem, worth []int64, c cut.Certificate) *tracer {
	t := &tracer{task: k, p: p, worth: worth, ends: k.Marks(p.Zone), inner: uint8(c.Layers - 1),
		legs: slices.Clone(c.Legs), from: map[spot][]int32{},
		section: make([]int32, p.N), atWork: map[int32]bool{}}
	for v := range t.section {
		t.section[v] = int32(v)
	}
	for _, e := range slices.Concat(p.Edges, p.OneWay) { // what drains one way alone isolates neither
		if worth[e[0]] == 0 && worth[e[1]] == 0 {
			a, b := t.root(e[0]), t.root(e[1])
			t.section[max(a, b)] = min(a, b)
		}
	}
	for _, z := range p.Zone {
		t.atWork[t.root(z)] = true
	}
	for i, l := range t.legs {
		at := t.tidy(l.From, l.Layer)
		t.from[at] = append(t.from[at], int32(i))
	}
	return t
}

func (t *tracer) root(v int32) int32 {
	for t.section[v] != v {
		v = t.section[v]
	}
	return v
}

// tidy brings a spot to the one name of its section.
func (t *tracer) tidy(s cut.Spot, layer uint8) spot {
	if s.Side == cut.Whole && s.Other < 0 {
		s.Vertex = t.root(s.Vertex)
	}
	return spot{s, layer}
}

// trace follows the flow that enters at a source to the work and takes as much of it away, at most most, as the whole
// way carries. What goes round in a circle on the way is taken out of the flow.
func (t *tracer) trace(in cut.Inflow, most int64) (isolation.BoundWay, bool) {
	at := t.tidy(cut.Spot{Vertex: in.Source, Other: -1}, in.Layer)
	places, used, rises := []spot{at}, []int32{}, -1
	for !t.arrived(at) {
		i := slices.IndexFunc(t.from[at], func(l int32) bool { return t.legs[l].Amount > 0 })
		switch {
		case i < 0 && at.layer < t.inner && rises < 0:
			rises = len(used)
			at.layer++
			places[len(places)-1] = at
			continue
		case i < 0:
			return isolation.BoundWay{}, false
		}
		leg := t.from[at][i]
		at = t.after(leg)
		used = append(used, leg)
		if t.legs[leg].Up {
			rises = len(used) - 1
		}
		if j := slices.Index(places, at); j >= 0 {
			t.take(used[j:], t.least(used[j:], most))
			used, places = used[:j], places[:j]
			if rises >= j {
				rises = -1
			}
		}
		places = append(places, at)
	}
	amount := t.least(used, most)
	t.take(used, amount)
	nodes, rise, ok := t.nodesOf(in.Source, used, rises)
	switch {
	case in.Layer == t.inner:
		rise = -1
	case rise < 0: // it comes to the work in the outer layer, and rises there
		rise = len(nodes) - 1
	}
	return isolation.BoundWay{Nodes: t.IDs(nodes), Rise: rise, Amount: amount}, ok
}

func (t *tracer) arrived(at spot) bool {
	return at.Side == cut.Whole && at.Other < 0 && t.atWork[at.Vertex]
}

// after returns the spot to which a leg leads.
func (t *tracer) after(leg int32) spot {
	l := t.legs[leg]
	if l.Up {
		l.Layer++
	}
	return t.tidy(l.To, l.Layer)
}

func (t *tracer) least(legs []int32, most int64) int64 {
	for _, l := range legs {
		most = min(most, t.legs[l].Amount)
	}
	return most
}

func (t *tracer) take(legs []int32, amount int64) {
	for _, l := range legs {
		t.legs[l].Amount -= amount
	}
}

// nodesOf returns the nodes of a way along some legs, from a source to the work, and the place among them at which it
// rises: the point of the leg that does, or the node at which the flow stands before the leg rises.
func (t *tracer) nodesOf(source int32, used []int32, rises int) (nodes []int32, rise int, ok bool) {
	nodes, rise = []int32{source}, -1
	on := func(ends func(int32) bool) bool {
		last := nodes[len(nodes)-1]
		way := graph.WayTo(t.Out, []int32{last}, ends, func(i int32) bool { return i != last && t.worth[i] > 0 })
		if way == nil {
			return false
		}
		nodes = append(nodes, way[1:]...)
		return true
	}
	for i, l := range used {
		if i == rises && !t.legs[l].Up {
			rise = len(nodes) - 1
		}
		if to := t.legs[l].To; to.Side == cut.Entry && !on(func(i int32) bool { return i == to.Vertex }) {
			return nil, 0, false
		}
		if t.legs[l].Up {
			rise = len(nodes) - 1
		}
	}
	if rises == len(used) {
		rise = len(nodes) - 1
	}
	return nodes, rise, on(func(i int32) bool { return t.ends[i] })
}
