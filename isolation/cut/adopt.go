package cut

// cutOff makes node an orphan.
func (n *Network) cutOff(node int32) {
	n.sec[node>>1].parent[node&1] = orphan
	n.orphans = append(n.orphans, node)
}

// adopt finds each orphan a new step towards the work, as short as can be, or
// drops it from the tree, which makes orphans of the nodes above it.
func (n *Network) adopt() {
	for len(n.orphans) > 0 {
		node := n.orphans[len(n.orphans)-1]
		n.orphans = n.orphans[:len(n.orphans)-1]
		if !n.inTree(node) {
			continue
		}
		if code, dist := n.nearestParent(node); code != orphan {
			sec, l := &n.sec[node>>1], node&1
			sec.parent[l], sec.dist[l] = code, dist+1
			n.cold[node>>1].seen[l] = n.clock
			continue
		}
		n.dropNode(node)
	}
}

// nearestParent is the best step from the node into the rooted tree, or orphan.
func (n *Network) nearestParent(node int32) (code, dist int32) {
	code = orphan
	consider := func(c int32) {
		to := n.target(node, c)
		if !n.inTree(to) || n.room(node, c) == 0 {
			return
		}
		if d, rooted := n.distance(to); rooted && (code == orphan || d < dist) {
			code, dist = c, d
		}
	}
	for _, h := range n.links(node >> 1) {
		consider(h.code << 1)
		if n.layers == 2 {
			consider(h.code<<1 | changes)
		}
	}
	if n.layers == 2 {
		consider(hop)
	}
	return code, dist
}

// distance is the number of steps from the node to the work, or false if the
// steps end at an orphan. What it learns it notes for the time being.
func (n *Network) distance(node int32) (int32, bool) {
	dist, at := int32(0), node
	for {
		sec, seen, l := &n.sec[at>>1], &n.cold[at>>1].seen, at&1
		if seen[l] == n.clock {
			dist += sec.dist[l]
			break
		}
		if sec.parent[l] == orphan {
			return 0, false
		}
		if sec.parent[l] == atWork {
			seen[l], sec.dist[l] = n.clock, 0
			break
		}
		dist++
		at = n.target(at, sec.parent[l])
	}
	for d := dist; ; d-- {
		sec, seen, l := &n.sec[node>>1], &n.cold[node>>1].seen, node&1
		if seen[l] == n.clock {
			return dist, true
		}
		seen[l], sec.dist[l] = n.clock, d
		node = n.target(node, sec.parent[l])
	}
}

// dropNode takes the node out of the tree. Neighbours that it could join again
// later are to be grown from once more; those that it carried become orphans.
func (n *Network) dropNode(node int32) {
	n.sec[node>>1].epoch[node&1] = 0
	near := func(code, back int32) {
		to := n.target(node, code)
		sec, l := &n.sec[to>>1], to&1
		if sec.epoch[l] != n.epoch {
			return
		}
		if n.room(node, code) > 0 {
			n.activate(to)
		}
		if sec.parent[l] == back {
			n.cutOff(to)
		}
	}
	for _, h := range n.links(node >> 1) {
		near(h.code<<1, (h.code^1)<<1)
		if n.layers == 2 {
			near(h.code<<1|changes, (h.code^1)<<1|changes)
		}
	}
	if n.layers == 2 {
		near(hop, hop)
	}
}
