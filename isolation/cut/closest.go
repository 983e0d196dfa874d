package cut

import "slices"

// closest reads the cut nearest the work from the last, failed search: the
// members are the least sink side, so their labels are the least of all
// cheapest sets (Picard and Queyranne, "On the structure of all minimum cuts
// in a network and applications", 1980, from memory). Points closed from the
// start are part of it.
//
// It also notes the nodes just outside the cut, for isUnique.
func (n *Network) closest() (chosen []int32, outer []bool, cost int64) {
	type cutPoint struct {
		link  int32
		outer bool
	}
	var cuts []cutPoint
	n.outside = n.outside[:0]
	for _, node := range n.members {
		l := node & 1
		for _, h := range n.links(node >> 1) {
			if n.sinkSide(h.to, l) {
				continue
			}
			if e := &n.link[h.code>>1]; e.kind == between || e.kind == through && h.code&1 == 1 {
				cuts = append(cuts, cutPoint{h.code >> 1, l == 0 && n.layers == 2})
				n.outside = append(n.outside, 2*h.to+l)
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

// isUnique tells whether the cut read last is the only cheapest one: then what
// lies just outside it can still be reached from the sources. It forgets which
// nodes reach the work.
func (n *Network) isUnique() bool {
	n.newEpoch()
	known := -n.epoch
	for _, node := range n.outside {
		if !n.reachedFromSource(node, known) {
			return false
		}
	}
	return true
}

// reachedFromSource searches outwards from node for a source, or for a node
// known to be reached by one, and notes the nodes on the way as known.
func (n *Network) reachedFromSource(node, known int32) bool {
	n.newEpoch()
	n.members = n.members[:0]
	n.root(node)
	for head := 0; head < len(n.members); head++ {
		at := n.members[head]
		if n.cold[at>>1].seen[at&1] == known || n.isSource(at) {
			n.noteWay(at, known)
			return true
		}
		for _, h := range n.links(at >> 1) {
			from, code := 2*h.to+at&1, (h.code^1)<<1
			n.joinOnce(from, code)
			if n.layers == 2 {
				n.joinOnce(from^1, code|changes)
			}
		}
		if n.layers == 2 {
			n.joinOnce(at^1, up)
		}
	}
	return false
}

// joinOnce puts a node into the tree if it isn't and its step has residual capacity.
func (n *Network) joinOnce(from, code int32) {
	if !n.inTree(from) && n.residual(from, code) > 0 {
		n.join(from, code)
	}
}

// noteWay marks the nodes from node down the tree as known.
func (n *Network) noteWay(node, known int32) {
	for {
		n.cold[node>>1].seen[node&1] = known
		code := n.sec[node>>1].parent[node&1]
		if code == atWork {
			return
		}
		node = n.target(node, code)
	}
}
