// Package graph sees a plant as numbered nodes and where flow or current can go between them. The planner and the
// envelope walk it; the proof has a view of its own and may not see this one.
//
// Begin with New, Flood and WayTo.
package graph

import (
	"sync"

	"stillwatch/isolation"
)

// Graph is a plant as small integers: node i is plant.Nodes[i]. It says where flow or current can go at all, whatever
// the normal position of anything on the way. A check valve and a one-way link are passable both ways here, because
// isolation never relies on them; an air gap is not, because nothing can come back over it.
type Graph struct {
	Plant *isolation.Plant
	Ends  [][2]int32 // of every link; -1 for an end that the plant does not have
	Out   [][]int32  // where something at i can go next
	In    [][]int32  // from where something can come to i
	Runs  [][]int32  // where what drains from i can be relied on to run: through nothing that may hold it back
	// OneWay says of every link that what drains is relied on to run from A to B alone
	OneWay []bool

	heights levels // see levels
}

// New builds the graph of p in one pass over its links.
func New(p *isolation.Plant) *Graph {
	g := &Graph{Plant: p, Ends: make([][2]int32, len(p.Links)), Out: make([][]int32, len(p.Nodes)),
		In: make([][]int32, len(p.Nodes)), Runs: make([][]int32, len(p.Nodes)),
		OneWay: make([]bool, len(p.Links))}
	directed := directed(p)
	for i, l := range p.Links {
		a, b := g.Number(l.A), g.Number(l.B)
		g.Ends[i] = [2]int32{a, b}
		if a < 0 || b < 0 {
			continue // Read refuses such a link; a hand-made plant gets no way from it
		}
		g.join(a, b)
		if !l.AirGap {
			g.join(b, a)
		}
		if !p.Nodes[a].HoldsUp() {
			g.Runs[a] = append(g.Runs[a], b)
		}
		g.OneWay[i] = l.AirGap || l.OneWay || directed[a] || directed[b]
		if !g.OneWay[i] && !p.Nodes[b].HoldsUp() {
			g.Runs[b] = append(g.Runs[b], a)
		}
	}
	return g
}

// directed marks the check valves whose direction the file shows: by some links written towards them and some away.
func directed(p *isolation.Plant) []bool {
	into, away, out := make([]bool, len(p.Nodes)), make([]bool, len(p.Nodes)), make([]bool, len(p.Nodes))
	for _, l := range p.Links {
		if a, b := p.Number(l.A), p.Number(l.B); a >= 0 && b >= 0 {
			away[a], into[b] = true, true
		}
	}
	for i := range out {
		out[i] = p.Nodes[i].Kind == isolation.CheckValve && into[i] && away[i]
	}
	return out
}

func (g *Graph) join(from, to int32) {
	g.Out[from] = append(g.Out[from], to)
	g.In[to] = append(g.In[to], from)
}

// Number returns the index of a node, or -1 where the plant has none of that name.
func (g *Graph) Number(id isolation.NodeID) int32 {
	return int32(g.Plant.Number(id))
}

// Numbers returns the indices of those ids that the plant has.
func (g *Graph) Numbers(ids []isolation.NodeID) []int32 {
	var out []int32
	for _, id := range ids {
		if i := g.Number(id); i >= 0 {
			out = append(out, i)
		}
	}
	return out
}

// At returns the node of a number.
func (g *Graph) At(i int32) *isolation.Node { return &g.Plant.Nodes[i] }

// IDs returns the names of the nodes numbered in path.
func (g *Graph) IDs(path []int32) []isolation.NodeID {
	out := make([]isolation.NodeID, 0, len(path))
	for _, i := range path {
		out = append(out, g.At(i).ID)
	}
	return out
}

// Flood marks what can be reached along next from the nodes in from. A node that stop refuses is marked and not passed.
// O(nodes + links).
func Flood(next [][]int32, from []int32, stop func(int32) bool) []bool {
	seen := make([]bool, len(next))
	queue := make([]int32, 0, len(from))
	for _, i := range from {
		if !seen[i] {
			seen[i] = true
			queue = append(queue, i)
		}
	}
	for len(queue) > 0 {
		i := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		if stop != nil && stop(i) {
			continue
		}
		for _, j := range next[i] {
			if !seen[j] {
				seen[j] = true
				queue = append(queue, j)
			}
		}
	}
	return seen
}

// rooms is the memory that one WayTo leaves to the next: a plan asks for hundreds.
var rooms = sync.Pool{New: func() any { return new([]int32) }}

// WayTo returns a way with fewest links from one of the nodes in from to a node that ends, passing none that stop
// refuses; nil where there is none.
func WayTo(next [][]int32, from []int32, ends, stop func(int32) bool) []int32 {
	room := rooms.Get().(*[]int32)
	defer rooms.Put(room)
	if size := 2*len(next) + len(from); cap(*room) < size {
		*room = make([]int32, size)
	}
	parent, queue := (*room)[:len(next)], (*room)[len(next):len(next)]
	for i := range parent {
		parent[i] = -2
	}
	for _, i := range from {
		parent[i] = -1
		queue = append(queue, i)
	}
	for head := 0; head < len(queue); head++ {
		i := queue[head]
		if ends(i) {
			return TraceBack(parent, i)
		}
		if stop != nil && stop(i) {
			continue
		}
		for _, j := range next[i] {
			if parent[j] == -2 {
				parent[j] = i
				queue = append(queue, j)
			}
		}
	}
	return nil
}

// TraceBack follows parents from i to a start and returns the way in its own direction.
func TraceBack(parent []int32, i int32) []int32 {
	var back []int32
	for ; i >= 0; i = parent[i] {
		back = append(back, i)
	}
	for a, b := 0, len(back)-1; a < b; a, b = a+1, b-1 {
		back[a], back[b] = back[b], back[a]
	}
	return back
}
