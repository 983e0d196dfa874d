package cut

// flow is the maximum flow of the layered network. Node 2*s+l is section s in
// layer l (0 outer, 1 inner). Between the sections a and b of a point run, in
// each layer, a link of the point's cost either way, and from layer 0 of the
// one to layer 1 of the other an unbounded link each way: so a point is paid
// for in one layer only. From layer 0 to layer 1 of each section runs an
// unbounded link: labels can't be crossed. The layered construction is that of
// convex labellings: Ishikawa, "Exact optimization for Markov random fields
// with convex priors", 2003 (from memory).
//
// Only what a search has reached is touched, and undone for the next question.
type flow struct {
	along [][2]int64 // per link and layer: flow from end 0 to end 1
	cross [][2]int64 // per link: flow from layer 0 of end i to layer 1 of end 1-i
	rise  []int64    // per section: flow from its layer 0 to its layer 1

	usedLinks    []int32 // links with entries in along or cross, repeated
	usedSections []int32 // sections with entries in rise, repeated

	// level is per node: base + distance to the work, if at least base.
	level []int32
	base  int32
	top   int32   // the highest level given
	next  []int32 // per node: the first step not tried yet
	queue []int32 // nodes in order of distance
	found []int32 // source nodes the search has met

	path  []step
	value int64
	sent  []sent // what was sent, path by path
}

// sent is one path's flow, from a source node to a node of the work.
type sent struct {
	from, to int32
	amount   int64
}

// step is one move of a path from node to node: way says over what.
type step struct {
	node int32 // where the step starts
	link int32 // or section, for hops
	way  uint8
	side uint8 // the end of the link at which the step starts
}

// Ways of a step.
const (
	wayAlong  uint8 = iota // over a link in its layer
	wayUp                  // over a link from layer 0 to 1
	wayUndoUp              // against such a flow
	wayRise                // within a section from layer 0 to 1
	wayUndoRise
)

func (n *Network) readyFlow() {
	n.along = make([][2]int64, len(n.ends))
	n.cross = make([][2]int64, len(n.ends))
	n.rise = make([]int64, n.sections)
	n.level = make([]int32, 2*n.sections)
	n.next = make([]int32, 2*n.sections)
}

func (n *Network) clearFlow() {
	for _, i := range n.usedLinks {
		n.along[i], n.cross[i] = [2]int64{}, [2]int64{}
	}
	for _, s := range n.usedSections {
		n.rise[s] = 0
	}
	n.usedLinks, n.usedSections = n.usedLinks[:0], n.usedSections[:0]
	n.sent, n.value = n.sent[:0], 0
}

// maximise sends all the flow there is from the posed sources to the work. It
// reports false if the flow is unbounded: the demands can't be met. After true,
// queue holds the nodes that still reach the work: the least sink side.
//
// Phases as in Dinic, "Algorithm for solution of a problem of maximum flow in
// networks with power estimation", 1970 (from memory), searched from the work
// outwards, but a search ends soon after it has met its first source.
func (n *Network) maximise() bool {
	n.clearFlow()
	for n.search() {
		for _, s := range n.found {
			if !n.drain(s) {
				return false
			}
		}
	}
	return true
}

// search measures distances to the work until twice the nodes are seen that it
// took to meet the first source. It reports whether it has met any.
func (n *Network) search() bool {
	n.newBase()
	n.queue, n.found = n.queue[:0], n.found[:0]
	for _, s := range n.marked {
		if n.role[s]&isZone != 0 {
			for l := range n.layers {
				n.reach(2*s+int32(l), n.base)
			}
		}
	}
	limit := int(^uint(0) >> 1)
	for head := 0; head < len(n.queue) && head < limit; head++ {
		n.expand(n.queue[head])
		if len(n.found) > 0 && limit > 2*len(n.queue)+64 {
			limit = 2*len(n.queue) + 64
		}
	}
	return len(n.found) > 0
}

// newBase makes every level of the last search invalid.
func (n *Network) newBase() {
	n.base = n.top + 2
	if n.base > 1<<30 {
		clear(n.level)
		n.base = 1
	}
}

func (n *Network) reach(node, level int32) {
	if n.level[node] >= n.base {
		return
	}
	n.level[node], n.top = level, level
	n.next[node] = 0
	if n.role[node>>1]&(isSrc1<<(node&1)) != 0 {
		n.found = append(n.found, node)
		return
	}
	n.queue = append(n.queue, node)
}

// expand reaches every node from which a step leads to node.
func (n *Network) expand(node int32) {
	s, l, up := node>>1, node&1, n.level[node]+1
	two := n.layers == 2
	for _, a := range n.adj[n.first[s]:n.first[s+1]] {
		link, side := a>>1, a&1
		t := n.ends[link][1-side]
		from := 2 * t
		if n.level[from+l] < n.base && n.room(link, int(l), 1-side) > 0 {
			n.reach(from+l, up)
		}
		if !two {
			continue
		}
		if l == 1 {
			if n.level[from] < n.base && n.crosses(link, 1-side) {
				n.reach(from, up)
			}
		} else if n.cross[link][side] > 0 {
			n.reach(from+1, up)
		}
	}
	if two {
		if l == 1 {
			n.reach(node-1, up)
		} else if n.rise[s] > 0 {
			n.reach(node+1, up)
		}
	}
}

// room is what can still pass the link in the layer, starting at the side.
func (n *Network) room(link int32, layer int, side int32) int64 {
	f := n.along[link][layer]
	if side == 1 {
		if !n.bothWays(link) {
			return f
		}
		f = -f
	}
	return n.capacity(link, layer) - f
}

// crosses tells whether the link has a way up for flow that starts at the side.
func (n *Network) crosses(link, side int32) bool {
	return int(link) < len(n.vertex) && (side == 0 || n.oneWay == nil || !n.oneWay[link])
}

// drain sends from one source node all that the levels let through. It reports
// false if that is without bound.
func (n *Network) drain(source int32) bool {
	n.path = n.path[:0]
	node := source
	for {
		if n.role[node>>1]&isZone != 0 {
			back, bounded := n.send(source, node)
			if !bounded {
				return false
			}
			node = n.path[back].node
			n.path = n.path[:back]
			continue
		}
		st, to, ok := n.advance(node)
		if ok {
			n.path = append(n.path, st)
			node = to
			continue
		}
		n.level[node] = n.base - 1
		if len(n.path) == 0 {
			return true
		}
		node = n.path[len(n.path)-1].node
		n.path = n.path[:len(n.path)-1]
		n.next[node]++
	}
}

// advance finds the next step from node to one nearer the work.
func (n *Network) advance(node int32) (step, int32, bool) {
	s, l, want := node>>1, node&1, n.level[node]-1
	if want < n.base {
		return step{}, 0, false
	}
	from, end := n.first[s], n.first[s+1]
	k := n.next[node]
	for ; k < 2*(end-from); k++ {
		a := n.adj[from+k>>1]
		link, side := a>>1, a&1
		to := 2*n.ends[link][1-side] + l
		if k&1 == 0 {
			if n.level[to] == want && n.room(link, int(l), side) > 0 {
				n.next[node] = k
				return step{node, link, wayAlong, uint8(side)}, to, true
			}
			continue
		}
		if n.layers == 1 || n.level[to^1] != want {
			continue
		}
		if l == 0 && n.crosses(link, side) {
			n.next[node] = k
			return step{node, link, wayUp, uint8(side)}, to ^ 1, true
		}
		if l == 1 && n.cross[link][1-side] > 0 {
			n.next[node] = k
			return step{node, link, wayUndoUp, uint8(side)}, to ^ 1, true
		}
	}
	n.next[node] = k
	if k == 2*(end-from) && n.layers == 2 && n.level[node^1] == want {
		if l == 0 {
			return step{node, s, wayRise, 0}, node ^ 1, true
		}
		if n.rise[s] > 0 {
			return step{node, s, wayUndoRise, 0}, node ^ 1, true
		}
	}
	return step{}, 0, false
}

// send puts flow on the whole path and returns the index of the first step that
// is full, or false if no step bounds it.
func (n *Network) send(source, work int32) (int, bool) {
	amount := unbounded
	for _, st := range n.path {
		amount = min(amount, n.roomOn(st))
	}
	if amount > unbounded/2 {
		return 0, false
	}
	back := -1
	for i, st := range n.path {
		n.push(st, amount)
		if back < 0 && n.roomOn(st) == 0 {
			back = i
		}
	}
	n.value += amount
	n.sent = append(n.sent, sent{source, work, amount})
	return back, true
}

func (n *Network) roomOn(st step) int64 {
	switch st.way {
	case wayAlong:
		return n.room(st.link, int(st.node&1), int32(st.side))
	case wayUndoUp:
		return n.cross[st.link][1-st.side]
	case wayUndoRise:
		return n.rise[st.link]
	}
	return unbounded
}

func (n *Network) push(st step, amount int64) {
	switch st.way {
	case wayAlong:
		n.usedLinks = append(n.usedLinks, st.link)
		if st.side == 1 {
			amount = -amount
		}
		n.along[st.link][st.node&1] += amount
	case wayUp:
		n.usedLinks = append(n.usedLinks, st.link)
		n.cross[st.link][st.side] += amount
	case wayUndoUp:
		n.cross[st.link][1-st.side] -= amount
	case wayRise:
		n.usedSections = append(n.usedSections, st.link)
		n.rise[st.link] += amount
	case wayUndoRise:
		n.rise[st.link] -= amount
	}
}
