package cut

import (
	"fmt"
	"slices"
)

// Service is a supply that others live on: Consumer is served while flow from
// at least one vertex of From reaches it, along Edges and Arcs of the plant,
// through no vertex that is normally shut or chosen. A service that is not
// served beforehand can't be lost. A consumer that needs two kinds of supply
// has two services and is lost if either is. Passing through the work counts as
// passing: a source from which that is possible is one to be cut off anyway.
type Service struct {
	Consumer int32
	From     []int32
}

// Supply is the plant as others live on it.
type Supply struct {
	Services []Service
	// Shut is per vertex: true is normally shut, so that it supplies nothing.
	// It still counts as passable for the isolation, as somebody may open it.
	// nil: nothing is.
	Shut []bool
}

// ServicesSolution is the set that loses the fewest consumers, and among these
// costs least.
type ServicesSolution struct {
	Solution
	// Lost are the consumers that lose a service, ascending.
	Lost []int32
	// LostBound is proven: no set loses fewer consumers. Where it equals the
	// number of Lost, no set that loses as few costs less than Bound. Where it
	// is less, the node limit has stopped the search.
	LostBound int
}

// Exact tells whether the solution is proven to be the best.
func (s ServicesSolution) Exact() bool { return s.LostBound == len(s.Lost) && s.Bound == s.Cost }

// SolveServices finds, among all sets that meet the demands of p, one that
// loses the fewest consumers, and among those the cheapest; by branch and bound
// over which consumers are given up. Errors are those of [Solve]. The
// certificate is that of the cheapest plain cut without regard to services.
// Checked against exhaustive search in TestServicesComeBeforeCost.
func SolveServices(p Problem, supply Supply) (ServicesSolution, error) {
	n, err := NewNetwork(p)
	if err != nil {
		return ServicesSolution{}, fmt.Errorf("cut: %w", err)
	}
	if err := checkQuestion(p.N, p.Sources, p.Zone); err != nil {
		return ServicesSolution{}, fmt.Errorf("cut: %w", err)
	}
	s, err := newServing(&n.p, supply)
	if err != nil {
		return ServicesSolution{}, fmt.Errorf("cut: %w", err)
	}
	if !n.pose(p.Sources, p.Zone) || !n.maximise() {
		return ServicesSolution{}, n.uncut(p.Sources, p.Zone)
	}
	sol, err := n.branch(s, true)
	if err != nil {
		return ServicesSolution{}, err
	}
	out := ServicesSolution{Solution: sol, LostBound: s.bound}
	out.Lost = s.lostWith(sol.Chosen)
	return out, nil
}

// serving is what the search knows of the services.
type serving struct {
	p         *Problem
	shut      []bool
	demanded  []int8 // per vertex: the layers of its demand as a source, or 0
	groups    []supplyGroup
	consumers []int32 // ascending, those that are served beforehand
	first, to []int32 // where flow can go
	inFirst   []int32 // where it can come from
	in        []int32

	bound int // result: consumers lost at least

	reached  []bool
	parent   []int32
	near     []int8 // per vertex: fewest usable points from there to the work
	certain  []bool // per consumer
	keep     []bool
	yielded  []bool
	lostMark []bool
}

// supplyGroup is the services that live on the same sources.
type supplyGroup struct {
	from      []int32
	consumers []int // indices into consumers
}

func newServing(p *Problem, supply Supply) (*serving, error) {
	if supply.Shut != nil && len(supply.Shut) != p.N {
		return nil, fmt.Errorf("%d shut flags for %d vertices", len(supply.Shut), p.N)
	}
	s := &serving{p: p, shut: supply.Shut, demanded: make([]int8, p.N)}
	if s.shut == nil {
		s.shut = make([]bool, p.N)
	}
	for _, src := range p.Sources {
		s.demanded[src.Vertex] = max(s.demanded[src.Vertex], int8(src.Demand.layers()))
	}
	s.first, s.to = forward(p)
	turned := Problem{N: p.N, Edges: p.Edges, Arcs: make([][2]int32, len(p.Arcs))}
	for i, a := range p.Arcs {
		turned.Arcs[i] = [2]int32{a[1], a[0]}
	}
	s.inFirst, s.in = forward(&turned)
	s.reached, s.parent, s.near = make([]bool, p.N), make([]int32, p.N), make([]int8, p.N)
	return s, s.group(supply.Services)
}

// group gathers the services that are served beforehand by their sources.
func (s *serving) group(services []Service) error {
	byFrom := map[string]int{}
	var members [][]int32
	for i, v := range services {
		key := slices.Clone(v.From)
		slices.Sort(key)
		for _, u := range append(key, v.Consumer) {
			if u < 0 || int(u) >= s.p.N {
				return fmt.Errorf("service %d names %d, vertices are 0 to %d", i, u, s.p.N-1)
			}
		}
		name := fmt.Sprint(slices.Compact(key))
		g, known := byFrom[name]
		if !known {
			g = len(s.groups)
			byFrom[name] = g
			s.groups = append(s.groups, supplyGroup{from: v.From})
			members = append(members, nil)
		}
		members[g] = append(members[g], v.Consumer)
	}
	nothing := func(int32) bool { return false }
	for g := range s.groups {
		s.reach(s.groups[g].from, nothing)
		members[g] = slices.DeleteFunc(members[g], func(c int32) bool { return !s.reached[c] })
		s.consumers = append(s.consumers, members[g]...)
	}
	slices.Sort(s.consumers)
	s.consumers = slices.Compact(s.consumers)
	for g := range s.groups {
		for _, c := range members[g] {
			i, _ := slices.BinarySearch(s.consumers, c)
			s.groups[g].consumers = append(s.groups[g].consumers, i)
		}
	}
	k := len(s.consumers)
	s.certain, s.keep, s.yielded, s.lostMark = make([]bool, k), make([]bool, k), make([]bool, k), make([]bool, k)
	return nil
}

// reach marks what supply reaches from the given vertices, short of what is
// shut or barred.
func (s *serving) reach(from []int32, barred func(int32) bool) {
	clear(s.reached)
	var queue []int32
	visit := func(v, parent int32) {
		if !s.reached[v] && !s.shut[v] && !barred(v) {
			s.reached[v], s.parent[v] = true, parent
			queue = append(queue, v)
		}
	}
	for _, v := range from {
		visit(v, -1)
	}
	for head := 0; head < len(queue); head++ {
		v := queue[head]
		for _, u := range s.to[s.first[v]:s.first[v+1]] {
			visit(u, v)
		}
	}
}

// markLost marks the consumers lost with the given vertices closed.
func (s *serving) markLost(closed []bool) {
	clear(s.lostMark)
	for _, g := range s.groups {
		s.reach(g.from, func(v int32) bool { return closed[v] })
		for _, c := range g.consumers {
			s.lostMark[c] = s.lostMark[c] || !s.reached[s.consumers[c]]
		}
	}
}

func (s *serving) countLost(closed []bool) int {
	s.markLost(closed)
	return count(s.lostMark)
}

func count(marks []bool) int {
	k := 0
	for _, m := range marks {
		if m {
			k++
		}
	}
	return k
}

func (s *serving) lostWith(chosen []int32) []int32 {
	closed := make([]bool, s.p.N)
	for _, v := range chosen {
		closed[v] = true
	}
	s.markLost(closed)
	lost := []int32{}
	for i, c := range s.consumers {
		if s.lostMark[i] {
			lost = append(lost, c)
		}
	}
	return lost
}

// boundLost bounds from below the consumers lost at a loaded node. It reports
// false if one that must be kept can't be.
func (s *serving) boundLost(b *branching, a *node) bool {
	s.recall(a)
	s.measure(b)
	s.markCertain(b)
	a.lost = 0
	for i, certain := range s.certain {
		if certain && s.keep[i] {
			return false
		}
		if certain || s.yielded[i] {
			a.lost++
		}
	}
	return true
}

// recall gathers which consumers the node keeps and gives up.
func (s *serving) recall(a *node) {
	clear(s.keep)
	clear(s.yielded)
	for ; a != nil; a = a.parent {
		if a.keeps > 0 {
			s.keep[a.keeps-1] = true
		}
		if a.yields > 0 {
			s.yielded[a.yields-1] = true
		}
	}
}

// Why measure bounds: if supply from a source with demand k reaches a vertex over
// an open way, the demand's k points must all lie between that vertex and the
// work. So supply can't be kept through vertices from which fewer can be closed.

// measure finds, per vertex, the fewest points (at most 2) that could be closed
// on the way from there to the work. What stays joined to a source with a
// demand of k needs k of them.
func (s *serving) measure(b *branching) {
	for v := range s.near {
		s.near[v] = 2
	}
	var lists [2][]int32
	for _, z := range b.zone {
		s.near[z] = 0
		lists[0] = append(lists[0], z)
	}
	for k := range int8(2) {
		for len(lists[k]) > 0 {
			v := lists[k][len(lists[k])-1]
			lists[k] = lists[k][:len(lists[k])-1]
			if s.near[v] != k {
				continue
			}
			next := k
			if p := b.n.at[v]; p < 0 && b.n.link[^p].state != open {
				next++
			}
			for _, u := range s.in[s.inFirst[v]:s.inFirst[v+1]] {
				if next < s.near[u] {
					s.near[u] = next
					lists[next] = append(lists[next], u)
				}
			}
		}
	}
}

// markCertain marks the consumers that are lost whatever else is decided:
// every way of supply is closed, or would leave too few points to the work.
func (s *serving) markCertain(b *branching) {
	clear(s.certain)
	for _, g := range s.groups {
		s.reachKeepable(b, g)
		for _, c := range g.consumers {
			s.certain[c] = s.certain[c] || !s.reached[s.consumers[c]]
		}
	}
}

// reachKeepable marks where supply of the group could still get. Ways from
// sources with the greater demand come first: they ask more of each vertex.
func (s *serving) reachKeepable(b *branching, g supplyGroup) {
	clear(s.reached)
	union := make([]bool, s.p.N)
	parents := make([]int32, s.p.N)
	for k := int8(2); k >= 0; k-- {
		var from []int32
		for _, v := range g.from {
			if s.demanded[v] == k {
				from = append(from, v)
			}
		}
		if len(from) == 0 {
			continue
		}
		s.reach(from, func(v int32) bool {
			p := b.n.at[v]
			return s.near[v] < k || p < 0 && b.n.link[^p].state == closed
		})
		for v, r := range s.reached {
			if r && !union[v] {
				union[v], parents[v] = true, s.parent[v]
			}
		}
	}
	copy(s.reached, union)
	copy(s.parent, parents)
}

// children splits a node by a consumer that its cut loses without need: it is
// given up, or one way of its supply stays open, or that way is closed
// somewhere (at its first closed point) and another must do.
func (s *serving) children(b *branching, a *node) {
	s.recall(a)
	s.measure(b)
	s.markCertain(b)
	s.markLost(b.witness.closed)
	c := s.pick()
	if c < 0 {
		return
	}
	way := s.way(b, c)
	if way == nil {
		return
	}
	if !s.keep[c] {
		b.consider(&node{parent: a, yields: int32(c) + 1})
		b.load(a, b.sources)
	}
	var before []decision
	for _, v := range way {
		p := b.n.at[v]
		if p >= 0 || b.n.link[^p].state != usual {
			continue
		}
		made := append(append([]decision(nil), before...), decision{^p, closed})
		before = append(before, decision{^p, open})
		b.consider(&node{parent: a, made: made, keeps: int32(c) + 1})
		b.load(a, b.sources)
	}
	b.consider(&node{parent: a, made: before, keeps: int32(c) + 1})
}

// pick chooses a lost consumer that is neither certain to be nor given up; one
// that must be kept comes first.
func (s *serving) pick() int {
	found := -1
	for c, lost := range s.lostMark {
		if !lost || s.certain[c] || s.yielded[c] {
			continue
		}
		if s.keep[c] {
			return c
		}
		if found < 0 {
			found = c
		}
	}
	return found
}

// way is a way by which consumer c could keep a service that the cut loses.
func (s *serving) way(b *branching, c int) []int32 {
	consumer := s.consumers[c]
	for _, g := range s.groups {
		member := false
		for _, m := range g.consumers {
			member = member || m == c
		}
		if !member {
			continue
		}
		s.reach(g.from, func(v int32) bool { return b.witness.closed[v] })
		if s.reached[consumer] {
			continue
		}
		s.reachKeepable(b, g)
		if !s.reached[consumer] {
			return nil
		}
		var way []int32
		for v := consumer; v >= 0; v = s.parent[v] {
			way = append(way, v)
		}
		return way
	}
	return nil
}
