package cut

import "slices"

// closest reads the cut nearest the work from the last, failed search: the
// nodes in queue are the least sink side, so their labels are the least of all
// cheapest sets (Picard and Queyranne, "On the structure of all minimum cuts
// in a network and applications", 1980, from memory). Points closed from the
// start are part of it.
func (n *Network) closest() (chosen []int32, outer []bool, cost int64) {
	type cutPoint struct {
		link  int32
		outer bool
	}
	var cuts []cutPoint
	for _, node := range n.queue {
		s, l := node>>1, node&1
		for _, a := range n.adj[n.first[s]:n.first[s+1]] {
			link, side := a>>1, a&1
			if int(link) >= len(n.vertex) || side == 0 && !n.bothWays(link) {
				continue
			}
			if !n.sinkSide(2*n.ends[link][1-side] + l) {
				cuts = append(cuts, cutPoint{link, l == 0 && n.layers == 2})
			}
		}
	}
	for _, i := range n.changed {
		if n.state[i] == closed {
			cuts = append(cuts, cutPoint{i, false})
		}
	}
	// Where a point is listed twice, the entry from the flow says the layer.
	slices.SortStableFunc(cuts, func(a, b cutPoint) int { return int(a.link - b.link) })
	chosen, outer = make([]int32, 0, len(cuts)), make([]bool, 0, len(cuts))
	for i, c := range cuts {
		if i > 0 && cuts[i-1].link == c.link {
			continue
		}
		v := n.vertex[c.link]
		chosen, outer, cost = append(chosen, v), append(outer, c.outer), cost+n.p.Cost[v]
	}
	return chosen, outer, cost
}

// sinkSide tells whether the last search, which met no source, has reached the
// node.
func (n *Network) sinkSide(node int32) bool { return n.level[node] >= n.base }

// label is the number of layers between the sources and section s.
func (n *Network) label(s int32) uint8 {
	label := uint8(0)
	for l := range int32(n.layers) {
		if n.sinkSide(2*s + l) {
			label++
		}
	}
	return label
}

// vertexLabels reads the label of every vertex.
func (n *Network) vertexLabels() []uint8 {
	labels := make([]uint8, n.p.N)
	for v, s := range n.at {
		if s >= 0 {
			labels[v] = n.label(s)
			continue
		}
		e := n.ends[^s]
		if e[0] < 0 {
			if slices.Contains(n.zone, int32(v)) {
				labels[v] = uint8(n.layers)
			}
			continue
		}
		labels[v] = n.label(e[0])
		if n.bothWays(^s) {
			labels[v] = min(labels[v], n.label(e[1]))
		}
	}
	return labels
}

// isUnique tells whether the cut is the only cheapest one: then what lies just
// outside it can still be reached from the sources. Call it last: it spoils the
// levels.
func (n *Network) isUnique() bool {
	var tails []int32
	for _, node := range n.queue {
		s, l := node>>1, node&1
		for _, a := range n.adj[n.first[s]:n.first[s+1]] {
			link, side := a>>1, a&1
			tail := 2*n.ends[link][1-side] + l
			if int(link) < len(n.vertex) && !n.sinkSide(tail) && (side == 1 || n.bothWays(link)) {
				tails = append(tails, tail)
			}
		}
	}
	known := make(map[int32]bool, len(tails))
	for _, tail := range tails {
		if !n.reachedFromSource(tail, known) {
			return false
		}
	}
	return true
}

// reachedFromSource searches outwards from node for a source, or for a node
// known to be reached by one, and notes the nodes on the way as known.
func (n *Network) reachedFromSource(node int32, known map[int32]bool) bool {
	if known[node] || n.isSource(node) {
		return true
	}
	n.newBase()
	n.queue, n.found = n.queue[:0], n.found[:0]
	n.reach(node, n.base)
	for head := 0; head < len(n.queue); head++ {
		at := n.queue[head]
		before := len(n.queue)
		n.expand(at)
		if len(n.found) > 0 {
			n.noteWay(n.found[0], node, known)
			return true
		}
		for _, u := range n.queue[before:] {
			if known[u] {
				n.noteWay(u, node, known)
				return true
			}
		}
	}
	return false
}

func (n *Network) isSource(node int32) bool {
	return n.role[node>>1]&(isSrc1<<(node&1)) != 0
}

// noteWay marks a way that the levels give from u down to node.
func (n *Network) noteWay(u, node int32, known map[int32]bool) {
	for u != node {
		known[u] = true
		_, to, ok := n.advance(u)
		if !ok {
			return
		}
		u = to
	}
	known[node] = true
}
