package cut

import (
	"fmt"
	"slices"
)

// uncut finds the path with too few usable points, when everything that can be
// closed is.
func (n *Network) uncut(sources []Source, zone []int32) error {
	w := newWitness(&n.p, sources, zone)
	for v := range w.closed {
		w.closed[v] = n.p.closable(int32(v)) && !w.fixed[v]
	}
	w.ventsOff = true
	if path, d, have := w.find(); path != nil {
		return &Uncut{Path: path, Need: d.layers(), Have: have}
	}
	return fmt.Errorf("cut: no finite set, yet no path is short of points: broken invariant")
}

// A witness is not Verify: it has to return the path, it is asked again and again
// with other points closed, and Verify must stay apart from whatever the solver
// relies on.

// witness looks for a path on which the closed points don't meet the demand.
type witness struct {
	p        *Problem
	sources  []Source
	inZone   []bool
	fixed    []bool // sources and zone: never closed
	closed   []bool
	ventsOff bool
	first    []int32
	to       []int32
	backFrom []int32 // the graph turned round, for openings
	back     []int32
	best     []int8  // per vertex: least stage on any path, -1 not reached
	parent   []int32 // per vertex: the vertex before it on such a path
	vented   []bool
}

func newWitness(p *Problem, sources []Source, zone []int32) *witness {
	w := &witness{p: p, sources: sources}
	w.inZone, w.fixed, w.closed = make([]bool, p.N), make([]bool, p.N), make([]bool, p.N)
	w.best, w.parent = make([]int8, p.N), make([]int32, p.N)
	for _, s := range sources {
		w.fixed[s.Vertex] = true
	}
	for _, z := range zone {
		w.inZone[z], w.fixed[z] = true, true
	}
	w.first, w.to = forward(p)
	if p.Vents != nil {
		turned := Problem{N: p.N, Edges: p.Edges, Arcs: make([][2]int32, len(p.Arcs))}
		for i, a := range p.Arcs {
			turned.Arcs[i] = [2]int32{a[1], a[0]}
		}
		w.backFrom, w.back = forward(&turned)
	}
	return w
}

// forward lists where flow can go from each vertex.
func forward(p *Problem) (first, to []int32) {
	first = make([]int32, p.N+1)
	for _, e := range p.Edges {
		first[e[0]]++
		first[e[1]]++
	}
	for _, a := range p.Arcs {
		first[a[0]]++
	}
	sum := int32(0)
	for v := range first {
		sum += first[v]
		first[v] = sum
	}
	to = make([]int32, sum)
	put := func(u, v int32) {
		first[u]--
		to[first[u]] = v
	}
	for _, a := range p.Arcs {
		put(a[0], a[1])
	}
	for _, e := range p.Edges {
		put(e[0], e[1])
		put(e[1], e[0])
	}
	return first, to
}

// Stages of a path. For a double demand with vents, drained means that an
// opening was within reach since the last closed point.
const (
	atStart int8 = iota
	pastOne
	drained
	done
)

// find returns a simple path that falls short, its demand, and how many points
// of the demand it has; nil if every demand is met.
func (w *witness) find() ([]int32, Demand, int) {
	if w.p.Vents != nil && !w.ventsOff {
		w.spread()
	}
	for _, d := range []Demand{Single, Double, BlankBehind} {
		if z := w.search(d); z >= 0 {
			path := []int32{z}
			for w.parent[z] >= 0 {
				z = w.parent[z]
				path = append(path, z)
			}
			have := min(int(w.best[path[0]]), 1)
			slices.Reverse(path)
			return path, d, have
		}
	}
	return nil, 0, 0
}

// search labels vertices with their least stage, stage by stage, and returns a
// zone vertex that isn't done, or -1.
//
// One label a vertex suffices: a stage never falls along a path, and what is
// behind at one vertex is never ahead at the next, so the least stage at a
// vertex leads to the least stage everywhere after it. Each vertex has one
// parent, reached before it, so the parents lead back along a simple path.
func (w *witness) search(d Demand) int32 {
	for v := range w.best {
		w.best[v] = done
	}
	var lists [done][]int32
	for _, s := range w.sources {
		if s.Demand == d {
			w.best[s.Vertex], w.parent[s.Vertex] = atStart, -1
			lists[atStart] = append(lists[atStart], s.Vertex)
		}
	}
	for stage := atStart; stage < done; stage++ {
		for len(lists[stage]) > 0 {
			u := lists[stage][len(lists[stage])-1]
			lists[stage] = lists[stage][:len(lists[stage])-1]
			if w.best[u] != stage {
				continue
			}
			if w.inZone[u] {
				return u
			}
			for _, v := range w.to[w.first[u]:w.first[u+1]] {
				if next := w.pass(d, stage, v); next < w.best[v] {
					w.best[v], w.parent[v] = next, u
					lists[next] = append(lists[next], v)
				}
			}
		}
	}
	return -1
}

// pass is the stage after v.
func (w *witness) pass(d Demand, stage int8, v int32) int8 {
	drains := d == Double && w.p.Vents != nil && !w.ventsOff
	if !w.closed[v] {
		if drains && stage == pastOne && w.vented[v] {
			return drained
		}
		return stage
	}
	switch {
	case d != BlankBehind && w.p.counts(v)&Valve == 0:
		return stage
	case d == Single:
		return done
	case d == BlankBehind && stage == atStart && w.p.counts(v)&Valve == 0:
		return atStart
	case stage == atStart:
		return pastOne
	case d == BlankBehind && w.p.counts(v)&Blank == 0, drains && stage == pastOne:
		return pastOne
	}
	return done
}

// spread marks the open vertices from which an opening can be reached.
func (w *witness) spread() {
	w.vented = make([]bool, w.p.N)
	var stack []int32
	mark := func(v int32) {
		if !w.closed[v] && !w.vented[v] {
			w.vented[v] = true
			stack = append(stack, v)
		}
	}
	for v, vent := range w.p.Vents {
		if vent {
			mark(int32(v))
		}
	}
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for _, u := range w.back[w.backFrom[v]:w.backFrom[v+1]] {
			mark(u)
		}
	}
}
