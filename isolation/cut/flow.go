package cut

// flow is the maximum flow of the layered network. Node 2*s+l is section s in
// layer l (0 outer, 1 inner). Between the sections a and b of a point run, in
// each layer, a way of the point's cost either way, and from layer 0 of the one
// to layer 1 of the other an unbounded way: so a point is paid for in one layer
// only. From layer 0 to layer 1 of each section runs an unbounded way: labels
// can't be crossed. The layers are those of convex labellings: Ishikawa, "Exact
// optimization for Markov random fields with convex priors", 2003 (from memory).
//
// A tree of the nodes that can send flow to the work grows outwards from the
// work. Where it meets a source, flow is sent down the tree; branches that this
// cuts off are joined on again elsewhere, or dropped. So no search begins anew:
// Boykov and Kolmogorov, "An experimental comparison of min-cut/max-flow
// algorithms for energy minimization in vision", 2004 (from memory), with one
// of its two trees. Only what the tree has reached is touched.
type flow struct {
	epoch int32
	clock int32 // raised with each path sent; see seldom.seen

	members []int32 // nodes taken into the tree; after maximise those in it still
	regions []region
	waiting []int32 // regions with nodes to grow from
	orphans []int32 // nodes that have lost their parent
	path    []step
	outside []int32 // nodes just outside the cut read last

	usedLinks    []int32 // links with flow, perhaps repeated
	usedSections []int32 // sections with rise, perhaps repeated

	value int64
	sent  []sent // what was sent, path by path
}

// region is a stretch of nodes that lie near in memory. The tree grows region by
// region, or every wave of it would call all of a large plant from memory.
type region struct {
	queue   []int32 // nodes to grow from
	waiting bool
}

// regionBits: a region has so many nodes, as a power of 2.
const regionBits = 13

// sent is one path's flow, from a source node to a node of the work.
type sent struct {
	from, to int32
	amount   int64
}

// step leads from a node to a neighbour. The code is twice the code of the
// half-edge, plus 1 if the layer changes.
type step struct{ node, code int32 }

// Codes that aren't over a link.
const (
	atWork int32 = -1 // a node of the work: no step
	up     int32 = -2 // to the other layer of the section
	orphan int32 = -3 // no step any more

	changes int32 = 1 // bit of the other codes: the layer changes
)

// clearFlow takes all flow out of the network, in time that goes with how much
// there is.
func (n *Network) clearFlow() {
	for _, i := range n.usedLinks {
		n.link[i].along, n.link[i].cross = [2]int64{}, [2]int64{}
	}
	for _, s := range n.usedSections {
		n.cold[s].rise = 0
	}
	n.usedLinks, n.usedSections = n.usedLinks[:0], n.usedSections[:0]
	n.sent, n.value = n.sent[:0], 0
	n.orphans = n.orphans[:0]
}

// newEpoch empties the tree.
func (n *Network) newEpoch() {
	n.epoch++
	if n.epoch > 1<<30 || n.clock > 1<<30 {
		for s := range n.sec {
			n.sec[s].epoch = [2]int32{}
		}
		for s := range n.cold {
			n.cold[s].seen = [2]int32{}
		}
		n.epoch, n.clock = 1, 1
	}
}

// maximise sends all the flow there is from the posed sources to the work. It
// reports false if the flow is unbounded: the demands can't be met. After true,
// members holds the nodes that still reach the work: the least sink side.
func (n *Network) maximise() bool {
	n.clearFlow()
	n.newEpoch()
	n.clock++
	n.members, n.waiting = n.members[:0], n.waiting[:0]
	if n.regions == nil {
		n.regions = make([]region, 2*len(n.rep)>>regionBits+1)
	}
	for _, s := range n.marked {
		if n.sec[s].role&isZone != 0 {
			for l := range int32(n.layers) {
				n.root(2*s + l)
				n.activate(2*s + l)
			}
		}
	}
	for turn := 0; turn < len(n.waiting); turn++ {
		if !n.growRegion(&n.regions[n.waiting[turn]]) {
			n.forget(n.waiting[turn:])
			return false
		}
	}
	n.keepTree()
	return true
}

// growRegion grows the tree from the region's nodes until none waits there.
func (n *Network) growRegion(r *region) bool {
	for head := 0; head < len(r.queue); head++ {
		node := r.queue[head]
		n.sec[node>>1].queued[node&1] = false
		if n.inTree(node) && !n.grow(node) {
			return false
		}
	}
	r.queue, r.waiting = r.queue[:0], false
	return true
}

// forget drops what waits in the regions.
func (n *Network) forget(waiting []int32) {
	for _, i := range waiting {
		r := &n.regions[i]
		for _, node := range r.queue {
			n.sec[node>>1].queued[node&1] = false
		}
		r.queue, r.waiting = r.queue[:0], false
	}
}

// keepTree leaves each node of the tree in members once.
func (n *Network) keepTree() {
	kept := n.members[:0]
	for _, node := range n.members {
		sec, l := &n.sec[node>>1], node&1
		if sec.epoch[l] == n.epoch && !sec.queued[l] {
			sec.queued[l] = true
			kept = append(kept, node)
		}
	}
	for _, node := range kept {
		n.sec[node>>1].queued[node&1] = false
	}
	n.members = kept
}

// inTree tells whether the node is in the search tree.
func (n *Network) inTree(node int32) bool { return n.sec[node>>1].epoch[node&1] == n.epoch }

// isSource tells whether flow may enter at the node: its layer is above what the
// source's label may be.
func (n *Network) isSource(node int32) bool {
	return n.sec[node>>1].role&(isSrc1<<(node&1)) != 0
}

// root plants a node of the work.
func (n *Network) root(node int32) { n.join(node, atWork) }

// join puts a node into the tree.
func (n *Network) join(node, code int32) {
	sec, l := &n.sec[node>>1], node&1
	sec.epoch[l], sec.parent[l] = n.epoch, code
	n.members = append(n.members, node)
}

// activate has a node grown from in its turn.
func (n *Network) activate(node int32) {
	q := &n.sec[node>>1].queued[node&1]
	if *q {
		return
	}
	*q = true
	r := &n.regions[node>>regionBits]
	r.queue = append(r.queue, node)
	if !r.waiting {
		r.waiting = true
		n.waiting = append(n.waiting, node>>regionBits)
	}
}

// target is where the step leads.
func (n *Network) target(node, code int32) int32 {
	if code == up {
		return node ^ 1
	}
	a := code >> 1
	return 2*n.link[a>>1].ends[1-a&1] + (node&1 ^ code&changes)
}

// residual is the residual capacity of a step: what it can still carry.
func (n *Network) residual(node, code int32) int64 {
	l := node & 1
	if code == up {
		if l == 0 {
			return unbounded
		}
		return n.cold[node>>1].rise
	}
	i, side := code>>2, code>>1&1
	e := &n.link[i]
	if code&changes == 0 {
		switch {
		case side == 0:
			return n.capacity(i, l) - e.along[l]
		case e.kind == between:
			return n.capacity(i, l) + e.along[l]
		}
		return e.along[l]
	}
	switch {
	case l == 1:
		return e.cross[1-side]
	case e.kind == between || e.kind == through && side == 0:
		return unbounded
	}
	return 0
}

// grow takes the neighbours of node into the tree, and sends flow from sources
// among them. It reports false if that is without bound.
func (n *Network) grow(node int32) bool {
	s, l := node>>1, node&1
	for _, h := range n.links(s) {
		to := n.sec[h.to].epoch
		from, code := 2*h.to+l, (h.code^1)<<1
		if to[l] != n.epoch && !n.take(from, code, node) {
			return false
		}
		if n.layers == 2 && to[1-l] != n.epoch && !n.take(from^1, code|changes, node) {
			return false
		}
		if !n.inTree(node) {
			return true
		}
	}
	return n.layers == 1 || n.take(node^1, up, node)
}

// A source is never taken into the tree: flow enters there at will, so no flow
// from farther off need pass it.

// take handles one node from which a step leads to a node of the tree.
func (n *Network) take(from, code, node int32) bool {
	if n.inTree(from) || n.residual(from, code) == 0 {
		return true
	}
	if !n.isSource(from) {
		if n.inTree(node) {
			n.join(from, code)
			n.activate(from)
		}
		return true
	}
	for n.inTree(node) && n.residual(from, code) > 0 {
		if !n.augment(from, code) {
			return false
		}
		n.adopt()
	}
	return true
}

// augment sends flow along the way from a source over the step and down the tree.
// Nodes whose step is then full become orphans. It reports false if no step
// bounds the flow.
func (n *Network) augment(source, code int32) bool {
	n.path = append(n.path[:0], step{source, code})
	amount := n.residual(source, code)
	node := n.target(source, code)
	for {
		code = n.sec[node>>1].parent[node&1]
		if code == atWork {
			break
		}
		amount = min(amount, n.residual(node, code))
		n.path = append(n.path, step{node, code})
		node = n.target(node, code)
	}
	if amount > unbounded/2 {
		return false
	}
	n.clock++
	n.value += amount
	n.sent = append(n.sent, sent{source, node, amount})
	for k, st := range n.path {
		n.push(st, amount)
		if k > 0 && n.residual(st.node, st.code) == 0 {
			n.cutOff(st.node)
		}
	}
	return true
}

// push adds flow to one step. Flow against a way that carries some is taken off
// it: the two ways along a link share one signed number.
func (n *Network) push(st step, amount int64) {
	l := st.node & 1
	if st.code == up {
		sec := &n.cold[st.node>>1]
		if sec.rise == 0 {
			n.usedSections = append(n.usedSections, st.node>>1)
		}
		if l == 1 {
			amount = -amount
		}
		sec.rise += amount
		return
	}
	i, side := st.code>>2, st.code>>1&1
	e := &n.link[i]
	if e.along == [2]int64{} && e.cross == [2]int64{} {
		n.usedLinks = append(n.usedLinks, i)
	}
	switch {
	case st.code&changes != 0 && l == 0:
		e.cross[side] += amount
	case st.code&changes != 0:
		e.cross[1-side] -= amount
	case side == 0:
		e.along[l] += amount
	default:
		e.along[l] -= amount
	}
}

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
		if !n.inTree(to) || n.residual(node, c) == 0 {
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
		consider(up)
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
		if n.residual(node, code) > 0 {
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
		near(up, up)
	}
}
