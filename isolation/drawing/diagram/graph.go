package diagram

import "stillwatch/isolation"

// graph is a plant with its nodes numbered in file order.
type graph struct {
	nodes []isolation.Node
	at    map[isolation.NodeID]int
	// near lists, for each node, the neighbours from which something can flow or be driven into it: a one-way link
	// joins its B to its A only in that sense.
	near [][]int
	// joined lists all neighbours, whichever way a link carries.
	joined [][]int
}

func newGraph(p *isolation.Plant) *graph {
	g := &graph{nodes: p.Nodes, at: make(map[isolation.NodeID]int, len(p.Nodes)),
		near: make([][]int, len(p.Nodes)), joined: make([][]int, len(p.Nodes))}
	for i := range p.Nodes {
		if _, twice := g.at[p.Nodes[i].ID]; !twice {
			g.at[p.Nodes[i].ID] = i
		}
	}
	for _, l := range p.Links {
		a, okA := g.at[l.A]
		b, okB := g.at[l.B]
		if !okA || !okB || a == b {
			continue
		}
		g.near[b] = append(g.near[b], a)
		g.joined[a], g.joined[b] = append(g.joined[a], b), append(g.joined[b], a)
		if !l.AirGap {
			g.near[a] = append(g.near[a], b)
		}
	}
	return g
}

// reach lists the nodes from which something can come to the starting ones without entering a node for which stop
// holds, nearest first, the starting ones included. It enters sources but does not go on behind them.
func (g *graph) reach(from []int, stop func(int) bool) []int { return g.search(from, g.near, stop) }

// whole lists what is joined to a node in either sense, in the same way.
func (g *graph) whole(from int, stop func(int) bool) []int {
	return g.search([]int{from}, g.joined, stop)
}

func (g *graph) search(from []int, next [][]int, stop func(int) bool) []int {
	seen := make(map[int]bool, len(from))
	var queue []int
	for _, v := range from {
		if !seen[v] && !stop(v) {
			seen[v] = true
			queue = append(queue, v)
		}
	}
	for i := 0; i < len(queue); i++ {
		v := queue[i]
		if g.nodes[v].Kind == isolation.Source {
			continue
		}
		for _, w := range next[v] {
			if !seen[w] && !stop(w) {
				seen[w] = true
				queue = append(queue, w)
			}
		}
	}
	return queue
}
