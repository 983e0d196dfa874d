package drain

import (
	"container/heap"
	"math"
)

// basin is the answer of the flood from the open drains: to which level each
// node drains, over which link towards which drain.
type basin struct {
	level  []float64 // m; +Inf: joined to no open drain
	parent []int     // next node towards the drain, −1 at the drain's own node
	via    []int     // link to the parent, −1 at the drain's own node
	drain  []int     // index of the opening, −1: none
	order  []int     // nodes in the order in which the flood reached them
}

// front is a node waiting in the flood.
type front struct {
	node         int
	level, route float64
}

type frontier []front

func (f frontier) Len() int { return len(f) }
func (f frontier) Less(i, j int) bool {
	if f[i].level != f[j].level {
		return f[i].level < f[j].level
	}
	return f[i].route < f[j].route
}
func (f frontier) Swap(i, j int) { f[i], f[j] = f[j], f[i] }
func (f *frontier) Push(x any)   { *f = append(*f, x.(front)) }
func (f *frontier) Pop() any {
	old := *f
	last := old[len(old)-1]
	*f = old[:len(old)-1]
	return last
}

// flood finds for every node the least, over the paths to an open drain, of the
// highest invert on the path; among equal levels the shortest pipe. O(L log L).
// This is Priority-Flood (Barnes, Lehman & Mulla, Computers & Geosciences 62
// (2014) 117) on a graph instead of a grid. Compared with trying every path in
// TestPocketLevelsAgreeWithEveryPath.
func (n *net) flood() basin {
	size := len(n.sec.Nodes)
	b := basin{level: make([]float64, size), parent: make([]int, size), via: make([]int, size), drain: make([]int, size)}
	route, done := make([]float64, size), make([]bool, size)
	for i := range size {
		b.level[i], b.parent[i], b.via[i], b.drain[i] = math.Inf(1), -1, -1, -1
	}
	var wait frontier
	reach := func(node int, level, far float64) bool {
		if done[node] || level > b.level[node] || (level == b.level[node] && far >= route[node] && b.drain[node] >= 0) {
			return false
		}
		b.level[node], route[node] = level, far
		heap.Push(&wait, front{node, level, far})
		return true
	}
	for _, o := range n.openings(DrainOpening) {
		op := n.sec.Openings[o]
		node := n.find(op.Node)
		if reach(node, math.Max(op.LevelM, n.level[node]), 0) {
			b.drain[node] = o
		}
	}
	for wait.Len() > 0 {
		f := heap.Pop(&wait).(front)
		if done[f.node] {
			continue
		}
		done[f.node] = true
		b.order = append(b.order, f.node)
		for _, w := range n.ways[f.node] {
			if w.out && reach(w.to, math.Max(f.level, w.weir), f.route+n.sec.Links[w.link].LengthM) {
				b.parent[w.to], b.via[w.to], b.drain[w.to] = f.node, w.link, b.drain[f.node]
			}
		}
	}
	return b
}

// find returns the index of a node that is known to be there.
func (n *net) find(name string) int { return n.at[name] }

// keeps is the level at which the liquid of a piece stays. In a straight pipe
// whatever does not run off stands against its lower end; behind a non-return
// valve the less favourable end counts.
func (b basin) keeps(p piece) float64 {
	if p.oneWay {
		return math.Max(b.level[p.a], b.level[p.b])
	}
	return b.level[p.low]
}

// kept is the volume that stays in a piece, m³.
func (b basin) kept(p piece) float64 {
	level := b.keeps(p)
	if math.IsInf(level, 1) {
		return p.trapped
	}
	return math.Min(p.trapped, p.solid.below(level))
}
