package cut

import "math/rand/v2"

// ship builds a large plant of the shape that plants have: engine-room systems,
// each a ring main with sectional valves, with headers and branch trees off it,
// neighbouring systems joined by cross-overs. There is a source on each ring.
type ship struct {
	p        Problem
	r        *rand.Rand
	machines [][]int32 // the ends of branches: where work is done
}

// newShip makes a plant of exactly n vertices, the same for the same seed.
func newShip(n int, seed uint64) *ship {
	s := &ship{r: rand.New(rand.NewPCG(seed, 1))}
	s.p.Edges = make([][2]int32, 0, n+n/8)
	s.p.Cost = make([]int64, 0, n)
	last := int32(-1)
	for len(s.p.Cost) < n {
		last = s.system(n, last)
	}
	s.p.N = len(s.p.Cost)
	return s
}

// add makes a vertex joined to from, unless the plant is full.
func (s *ship) add(n int, from int32, cost int64) int32 {
	if len(s.p.Cost) >= n {
		return from
	}
	v := int32(len(s.p.Cost))
	s.p.Cost = append(s.p.Cost, cost)
	if from >= 0 {
		s.p.Edges = append(s.p.Edges, [2]int32{from, v})
	}
	return v
}

// valve adds a pipe and a valve.
func (s *ship) valve(n int, from int32) int32 {
	return s.add(n, s.add(n, from, 0), 1+s.r.Int64N(9))
}

// system adds a ring main of some 300 vertices with its branches, and joins it
// to the one before.
func (s *ship) system(n int, before int32) int32 {
	if n-len(s.p.Cost) < 20 {
		return s.add(n, before, 0) // too little left for a system
	}
	first := s.add(n, -1, 0)
	source := s.add(n, s.valve(n, s.valve(n, first)), 0)
	s.p.Sources = append(s.p.Sources, Source{source, Demand(1 + s.r.IntN(2))})
	if before >= 0 {
		s.p.Edges = append(s.p.Edges, [2]int32{before, s.valve(n, first)})
	}
	at := first
	for range 10 {
		at = s.add(n, at, 0)
		s.branch(n, at, 3)
		at = s.valve(n, at)
	}
	if at != first {
		s.p.Edges = append(s.p.Edges, [2]int32{at, first})
	}
	return first
}

// branch adds a header with lines off it, down to machines.
func (s *ship) branch(n int, from int32, depth int) {
	at := s.add(n, s.valve(n, from), 0)
	for range 1 + s.r.IntN(2) {
		at = s.add(n, at, 0)
	}
	if depth == 0 || s.r.IntN(5) == 0 {
		inner := s.add(n, s.valve(n, at), 0)
		if len(s.p.Cost) < n {
			s.machines = append(s.machines, []int32{s.add(n, inner, 0), inner})
		}
		return
	}
	for range 1 + s.r.IntN(2) {
		s.branch(n, at, depth-1)
	}
}

// work picks the machines to be opened, about the given number of vertices.
func (s *ship) work(vertices int) []int32 {
	var zone []int32
	for _, m := range s.r.Perm(len(s.machines)) {
		if len(zone) >= vertices {
			break
		}
		zone = append(zone, s.machines[m]...)
	}
	return zone
}
