package cut

import (
	"fmt"
	"slices"
)

// Service is a supply that others live on: Consumer is served while flow from
// at least one vertex of From reaches it, along Edges and Arcs of the plant,
// through no vertex that is normally shut or chosen. A service that is not
// served beforehand can't be lost. A consumer that needs two kinds of supply
// has two services and is lost if either is.
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
	s.extend(from, barred)
}

// extend adds to what is reached.
func (s *serving) extend(from []int32, barred func(int32) bool) {
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
