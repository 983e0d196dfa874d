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
		for _, a := range n.links(s) {
			e, side := &n.link[a>>1], a&1
			if e.kind == joint || side == 0 && e.kind == through {
				continue
			}
			if !n.sinkSide(e.ends[1-side], l) {
				cuts = append(cuts, cutPoint{a >> 1, l == 0 && n.layers == 2})
			}
		}
	}
	for _, i := range n.changed {
		if n.link[i].state == closed {
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

// sinkSide tells whether section s in layer l can still reach the work.
func (n *Network) sinkSide(s, l int32) bool { return n.sec[s].epoch[l] == n.epoch }

// label is the number of layers between the sources and section s.
func (n *Network) label(s int32) uint8 {
	label := uint8(0)
	for l := range int32(n.layers) {
		if n.sinkSide(s, l) {
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
		e := &n.link[^s]
		if e.ends[0] < 0 {
			if slices.Contains(n.zone, int32(v)) {
				labels[v] = uint8(n.layers)
			}
			continue
		}
		labels[v] = n.label(e.ends[0])
		if e.kind == between {
			labels[v] = min(labels[v], n.label(e.ends[1]))
		}
	}
	return labels
}

// isUnique tells whether the cut is the only cheapest one: then what lies just
// outside it can still be reached from the sources. Call it last: it forgets
// which nodes reach the work.
func (n *Network) isUnique() bool {
	var tails []int32
	for _, node := range n.queue {
		s, l := node>>1, node&1
		for _, a := range n.links(s) {
			e, side := &n.link[a>>1], a&1
			t := e.ends[1-side]
			if e.kind != joint && (side == 1 || e.kind == between) && !n.sinkSide(t, l) {
				tails = append(tails, 2*t+l)
			}
		}
	}
	n.newEpoch()
	known := -n.epoch
	for _, tail := range tails {
		if !n.reachedFromSource(tail, known) {
			return false
		}
	}
	return true
}

// reachedFromSource searches outwards from node for a source, or for a node
// known to be reached by one, and notes the nodes on the way as known.
func (n *Network) reachedFromSource(node, known int32) bool {
	n.newEpoch()
	n.queue = n.queue[:0]
	n.root(node)
	for head := 0; head < len(n.queue); head++ {
		at := n.queue[head]
		if sec := &n.sec[at>>1]; sec.seen[at&1] == known || n.isSource(at) {
			for u := at; ; u = n.target(u, n.sec[u>>1].parent[u&1]) {
				n.sec[u>>1].seen[u&1] = known
				if u == node {
					return true
				}
			}
		}
		n.eachInto(at, func(u, code int32) bool {
			if n.sec[u>>1].epoch[u&1] != n.epoch {
				n.join(u, code, at)
			}
			return true
		})
	}
	return false
}
