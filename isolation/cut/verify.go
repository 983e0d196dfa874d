package cut

import "fmt"

// Verify checks that the chosen points meet every demand of p, by a breadth-
// first search that counts closed points from each source. It shares no code
// with [Solve]. Returns nil if they do, and otherwise an error that says which
// point mustn't be chosen or names the source and the zone vertex joined by a
// path that falls short. It doesn't judge the cost. Takes O(N + edges).
func Verify(p Problem, chosen []int32) error {
	c, err := newChecker(p, chosen)
	if err != nil {
		return err
	}
	for _, d := range []Demand{Single, Double, BlankBehind} {
		if err := c.check(d); err != nil {
			return err
		}
	}
	return nil
}

// The search goes over pairs of vertex and progress, so it covers walks as well
// as simple paths. That accepts neither more nor less: progress never falls, and
// a vertex come to with less progress is left with no more, so that cutting the
// loops out of a walk that falls short leaves a simple path that does.

// checker is the plant with its points closed.
type checker struct {
	p      Problem
	closed []bool
	zone   []bool
	vented []bool // per vertex: an opening can be reached from it; nil: not asked
	start  []int  // per vertex: where its neighbours begin
	to     []int32
}

func newChecker(p Problem, chosen []int32) (*checker, error) {
	if p.N < 0 || len(p.Cost) != p.N || p.Counts != nil && len(p.Counts) != p.N || p.Vents != nil && len(p.Vents) != p.N {
		return nil, fmt.Errorf("verify: lists per vertex don't fit %d vertices", p.N)
	}
	c := &checker{p: p, closed: make([]bool, p.N), zone: make([]bool, p.N)}
	outside := func(v int32) bool { return v < 0 || int(v) >= p.N }
	barred := map[int32]string{}
	for _, z := range p.Zone {
		if outside(z) {
			return nil, fmt.Errorf("verify: zone vertex %d is no vertex", z)
		}
		c.zone[z] = true
		barred[z] = "in the zone"
	}
	for _, s := range p.Sources {
		if outside(s.Vertex) {
			return nil, fmt.Errorf("verify: source %d is no vertex", s.Vertex)
		}
		if s.Demand < Single || s.Demand > BlankBehind {
			return nil, fmt.Errorf("verify: source %d has unknown %v", s.Vertex, s.Demand)
		}
		barred[s.Vertex] = "a source"
	}
	for _, v := range chosen {
		switch {
		case outside(v):
			return nil, fmt.Errorf("verify: chosen point %d is no vertex", v)
		case barred[v] != "":
			return nil, fmt.Errorf("verify: chosen point %d is %s", v, barred[v])
		case p.Cost[v] <= 0 || p.Counts != nil && p.Counts[v]&3 == 0:
			return nil, fmt.Errorf("verify: chosen point %d can't be closed", v)
		case c.closed[v]:
			return nil, fmt.Errorf("verify: point %d is chosen twice", v)
		}
		c.closed[v] = true
	}
	for _, list := range [][][2]int32{p.Edges, p.Arcs} {
		for _, e := range list {
			if outside(e[0]) || outside(e[1]) {
				return nil, fmt.Errorf("verify: edge %v leads outside the graph", e)
			}
		}
	}
	c.start, c.to = c.neighbours(false)
	c.spreadVents()
	return c, nil
}

// neighbours lists where flow can go from each vertex, or, backwards, where it
// can come from.
func (c *checker) neighbours(backwards bool) ([]int, []int32) {
	start := make([]int, c.p.N+2)
	each := func(do func(from, to int32)) {
		for _, e := range c.p.Edges {
			do(e[0], e[1])
			do(e[1], e[0])
		}
		for _, e := range c.p.Arcs {
			if backwards {
				do(e[1], e[0])
			} else {
				do(e[0], e[1])
			}
		}
	}
	each(func(from, _ int32) { start[from+2]++ })
	for v := 1; v < len(start); v++ {
		start[v] += start[v-1]
	}
	to := make([]int32, start[len(start)-1])
	each(func(from, t int32) {
		to[start[from+1]] = t
		start[from+1]++
	})
	return start[:c.p.N+1], to
}

// spreadVents marks every open vertex from which an opening can be reached
// through open vertices.
func (c *checker) spreadVents() {
	if c.p.Vents == nil {
		return
	}
	start, from := c.neighbours(true)
	c.vented = make([]bool, c.p.N)
	var stack []int32
	for v, vent := range c.p.Vents {
		if vent && !c.closed[v] {
			c.vented[v] = true
			stack = append(stack, int32(v))
		}
	}
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for _, u := range from[start[v]:start[v+1]] {
			if !c.closed[u] && !c.vented[u] {
				c.vented[u] = true
				stack = append(stack, u)
			}
		}
	}
}

// progress is how far a walk has come towards its demand: none, a first point
// met, an opening seen since the last point, met.
type progress uint8

const (
	none progress = iota
	firstMet
	openingSeen
	met
)

// pass is the progress after vertex v.
func (c *checker) pass(d Demand, at progress, v int32) progress {
	if !c.closed[v] {
		if d == Double && at == firstMet && c.vented != nil && c.vented[v] {
			return openingSeen
		}
		return at
	}
	kind := Valve
	if c.p.Counts != nil {
		kind = c.p.Counts[v]
	}
	switch {
	case at == met:
		return met
	case d != BlankBehind && kind&Valve == 0:
		return at
	case d == Single:
		return met
	case d == BlankBehind && at == none:
		if kind&Valve == 0 {
			return none
		}
		return firstMet
	case d == BlankBehind:
		if kind&Blank == 0 {
			return firstMet
		}
		return met
	case at == none:
		return firstMet
	case at == openingSeen || c.vented == nil:
		return met
	}
	return firstMet
}

// check searches from all sources of one demand at once: a 0-1 breadth-first
// search over pairs of vertex and progress. Steps that make no progress go in
// front of the queue.
func (c *checker) check(d Demand) error {
	seen := make([][4]bool, c.p.N)
	type at struct {
		v    int32
		have progress
	}
	var front, back []at
	for _, s := range c.p.Sources {
		if s.Demand == d {
			front = append(front, at{s.Vertex, none})
		}
	}
	for len(front) > 0 || len(back) > 0 {
		if len(front) == 0 {
			front, back = back, front
		}
		u := front[len(front)-1]
		front = front[:len(front)-1]
		if seen[u.v][u.have] || u.have == met {
			continue
		}
		seen[u.v][u.have] = true
		if c.zone[u.v] {
			return fmt.Errorf("verify: zone vertex %d can be reached from a source with demand %v that isn't met", u.v, d)
		}
		for _, w := range c.to[c.start[u.v]:c.start[u.v+1]] {
			next := at{w, c.pass(d, u.have, w)}
			if next.have == u.have {
				front = append(front, next)
			} else {
				back = append(back, next)
			}
		}
	}
	return nil
}
