package cut

import (
	"container/heap"
	"errors"
	"slices"
)

// branch and bound: every node of the search has some points decided, open or
// closed, and the plain cut under these decisions is its bound. Where that cut
// doesn't do, a path or a consumer shows why, and the children are the ways in
// which a set can put it right: each child decides so much that the cut at
// hand isn't allowed in it, and together they leave nothing out. Nodes are
// taken cheapest first, so the least bound left is a bound for all.

// branch solves the posed question, whose plain cut has been found. services
// may be nil; if so, parts of the plant that only the work joins are solved one
// by one.
func (n *Network) branch(services *serving, withLabels bool) (Solution, error) {
	sources, zone := n.sources, n.zone
	root := n.certificate()
	if err := n.hopeless(); err != nil {
		return Solution{}, err
	}
	parts := [][]Source{sources}
	if services == nil {
		parts = n.parts()
	}
	limit := n.p.NodeLimit
	if limit <= 0 {
		limit = DefaultNodeLimit
	}
	var sol Solution
	for _, part := range parts {
		b := &branching{n: n, sources: part, zone: zone, services: services, limit: limit - sol.Nodes}
		if err := b.solve(&sol); err != nil {
			return Solution{}, err
		}
	}
	sol.Flow = root
	slices.Sort(sol.Chosen)
	n.describe(&sol, sources, zone, withLabels)
	return sol, nil
}

// parts are the posed sources, apart as far as only the work joins them: eight
// lines to one machine are eight small searches, not one large one.
//
// What a set does in one part has no bearing on another. A path that has reached
// the work must have met its demand there, so nothing beyond helps or harms it.
// Nor does an opening beyond the work help: a stretch that reaches it without
// crossing a chosen point reaches the work without crossing one, so the path
// that turns off there must have met its demand before that stretch.
func (n *Network) parts() [][]Source {
	group := make([]int32, len(n.rep))
	for s := range group {
		group[s] = int32(s)
	}
	for i := range n.link {
		e := n.link[i].ends
		if e[0] >= 0 && n.sec[e[0]].role&isZone == 0 && n.sec[e[1]].role&isZone == 0 {
			union(group, e[0], e[1])
		}
	}
	index := make(map[int32]int)
	var parts [][]Source
	for _, s := range n.sources {
		g := n.exit(s.Vertex)
		for g >= 0 && group[g] != g {
			g = group[g]
		}
		i, known := index[g]
		if !known {
			i = len(parts)
			index[g] = i
			parts = append(parts, nil)
		}
		parts[i] = append(parts[i], s)
	}
	return parts
}

// solve adds the set for b's sources to sol.
func (b *branching) solve(sol *Solution) error {
	b.witness = newWitness(&b.n.p, b.sources, b.zone)
	b.n.pose(b.sources, b.zone)
	b.split()
	b.sharing = b.newSharing()
	b.joinHalves()
	b.consider(&node{})
	b.run()
	if b.best == nil {
		return b.failure()
	}
	sol.Nodes += b.nodes
	sol.Chosen = append(sol.Chosen, b.best...)
	sol.Cost += b.bestCost
	bound, lost := b.bestCost, b.bestLost
	for _, a := range b.open {
		if !a.done && a.less(lost, bound) {
			bound, lost = a.cost, a.lost
		}
	}
	sol.Bound += bound
	if b.services != nil {
		b.services.bound = lost
	}
	return nil
}

type branching struct {
	n        *Network
	sources  []Source
	zone     []int32
	blanks   []Source // the sources apart, where blanks are mixed with others
	plains   []Source
	witness  *witness
	services *serving
	sharing  *sharing // nil unless blanks are mixed with other demands

	open     openNodes
	cheapest *node // of the children just opened
	nodes    int
	limit    int

	best     []int32 // nil: none yet
	bestCost int64
	bestLost int
	blame    []int32 // the first path that a cut fell short on
	blameFor Demand
}

// node is a set of decisions: its own and those of its parents.
type node struct {
	parent  *node
	made    []decision
	stretch []int32 // vertices between two closed points: must reach an opening
	keeps   int32   // consumer that must be kept, plus 1
	yields  int32   // consumer that is given up, plus 1
	depth   int
	done    bool // expanded already

	lost   int   // consumers lost at least
	cost   int64 // cost at least
	chosen []int32
}

type decision struct {
	link  int32
	state uint8
}

// less tells whether a node may hold something better.
func (a *node) less(lost int, cost int64) bool {
	return a.lost < lost || a.lost == lost && a.cost < cost
}

// openNodes is a heap, best bound first, then deepest.
type openNodes []*node

// Len is the number of nodes; this and the next four are for container/heap.
func (o openNodes) Len() int { return len(o) }

// Less puts the better bound first.
func (o openNodes) Less(i, j int) bool {
	if o[i].lost == o[j].lost && o[i].cost == o[j].cost {
		return o[i].depth > o[j].depth
	}
	return o[i].less(o[j].lost, o[j].cost)
}

// Swap exchanges two nodes.
func (o openNodes) Swap(i, j int) { o[i], o[j] = o[j], o[i] }

// Push appends a *node.
func (o *openNodes) Push(x any) { *o = append(*o, x.(*node)) }

// Pop removes the last node.
func (o *openNodes) Pop() any {
	last := len(*o) - 1
	x := (*o)[last]
	(*o)[last] = nil
	*o = (*o)[:last]
	return x
}

// hopeless returns the error for a path that has too few points of the kinds
// demanded even with all of them closed.
func (n *Network) hopeless() error {
	err := n.uncut(n.sources, n.zone)
	var u *Uncut
	if errors.As(err, &u) {
		return err
	}
	return nil
}

// split sorts the sources apart if blanks are mixed with other demands.
func (b *branching) split() {
	if b.n.typing != partly {
		return
	}
	for _, s := range b.sources {
		if s.Demand == BlankBehind {
			b.blanks = append(b.blanks, s)
		} else {
			b.plains = append(b.plains, s)
		}
	}
}

// run takes nodes until none can be better than the best set. Now and then it
// goes down from the best node as deep as it can, to find a set early.
func (b *branching) run() {
	for turn := 0; len(b.open) > 0 && b.nodes < b.limit; turn++ {
		a := heap.Pop(&b.open).(*node)
		if a.done {
			continue
		}
		if !b.mayImprove(a) {
			return
		}
		b.expand(a)
		for down := b.cheapest; turn%64 == 0 && down != nil && b.nodes < b.limit; down = b.cheapest {
			b.expand(down)
		}
	}
}

func (b *branching) mayImprove(a *node) bool {
	return b.best == nil || a.less(b.bestLost, b.bestCost)
}

// keep takes a set that meets everything as the best, if it is better.
func (b *branching) keep(chosen []int32, lost int, cost int64) {
	if b.best == nil || lost < b.bestLost || lost == b.bestLost && cost < b.bestCost {
		b.best, b.bestLost, b.bestCost = append([]int32{}, chosen...), lost, cost
	}
}

// failure says why there is no set.
func (b *branching) failure() error {
	if b.nodes >= b.limit && len(b.open) > 0 {
		return ErrNodeLimit
	}
	return &Uncut{Path: b.blame, Need: 2, Have: 1, Drain: b.drains(b.blameFor), Exhausted: !b.drains(b.blameFor)}
}

// drains tells whether a demand asks for an opening between two points.
func (b *branching) drains(d Demand) bool { return d == Double && b.n.p.Vents != nil }

// load poses the question for some of the sources under a node's decisions.
func (b *branching) load(at *node, sources []Source) bool {
	ok := b.n.pose(sources, b.zone)
	for _, s := range b.sources {
		if i := b.n.at[s.Vertex]; i < 0 {
			b.n.setState(^i, open)
		}
	}
	for a := at; a != nil; a = a.parent {
		for _, d := range a.made {
			b.n.setState(d.link, d.state)
		}
	}
	return ok
}

// The bounds of a node: the plain cut that takes blanks for any points; the cuts
// for the blank demands and for the others alone; and the shared costs, dearest, so last. Points
// decided closed are paid for and then free to each of these. A bound never
// falls from parent to child, as a child only decides more.

// consider bounds a new node. It drops it, takes its cut as the best set if
// that meets everything, or opens it.
func (b *branching) consider(a *node) {
	b.nodes++
	if a.parent != nil {
		a.depth = a.parent.depth + 1
		a.cost = a.parent.cost
	}
	if len(b.blanks) > 0 {
		for _, half := range [][]Source{b.blanks, b.plains} {
			if !b.load(a, half) || !b.n.maximise() {
				return
			}
			a.cost = max(a.cost, b.n.value+b.n.paidFor())
		}
	}
	if !b.load(a, b.sources) || !b.n.maximise() {
		return
	}
	a.cost = max(a.cost, b.n.value+b.n.paidFor())
	if b.services != nil && !b.services.boundLost(b, a) {
		return
	}
	if !b.mayImprove(a) {
		return
	}
	if b.sharing != nil {
		a.cost = max(a.cost, b.sharing.bound(b, a))
		if !b.mayImprove(a) || !b.load(a, b.sources) || !b.n.maximise() {
			return
		}
	}
	var cost int64
	a.chosen, _, cost = b.n.closest()
	lost, met := b.judge(a.chosen)
	if met {
		b.keep(a.chosen, lost, cost)
	}
	if !met || a.less(lost, cost) {
		heap.Push(&b.open, a)
		if b.cheapest == nil || a.less(b.cheapest.lost, b.cheapest.cost) {
			b.cheapest = a
		}
	}
}

// judge tells whether a set meets the demands, and how many consumers it loses.
func (b *branching) judge(chosen []int32) (lost int, met bool) {
	b.close(chosen)
	path, d, _ := b.witness.find()
	if path != nil {
		if b.blame == nil {
			b.blame, b.blameFor = path, d
		}
		return 0, false
	}
	if b.services == nil {
		return 0, true
	}
	return b.services.countLost(b.witness.closed), true
}

func (b *branching) close(chosen []int32) {
	clear(b.witness.closed)
	for _, v := range chosen {
		b.witness.closed[v] = true
	}
}

// Closing more points harms no demand as long as nothing has to stay open for a
// drain, so here the sum of two sets is a set.

// joinHalves finds a first set where blanks are mixed with other demands: the
// cheapest for the blanks together with the cheapest for the others, less what
// turns out not to be needed.
func (b *branching) joinHalves() {
	if len(b.blanks) == 0 || b.best != nil || b.n.p.Vents != nil {
		return
	}
	var both []int32
	for _, half := range [][]Source{b.blanks, b.plains} {
		if !b.load(nil, half) || !b.n.maximise() {
			return
		}
		set, _, _ := b.n.closest()
		both = append(both, set...)
	}
	slices.Sort(both)
	both = slices.Compact(both)
	slices.SortStableFunc(both, func(u, v int32) int { return int(min(max(b.n.p.Cost[v]-b.n.p.Cost[u], -1), 1)) })
	b.close(both)
	if path, _, _ := b.witness.find(); path != nil {
		return
	}
	var chosen []int32
	cost := int64(0)
	for _, v := range both {
		b.witness.closed[v] = false
		if path, _, _ := b.witness.find(); path != nil {
			b.witness.closed[v] = true
			chosen = append(chosen, v)
			cost += b.n.p.Cost[v]
		}
	}
	lost := 0
	if b.services != nil {
		lost = b.services.countLost(b.witness.closed)
	}
	b.keep(chosen, lost, cost)
}

// describe returns a set its layers and labels, by closing just these points in
// the network.
func (n *Network) describe(sol *Solution, sources []Source, zone []int32, withLabels bool) {
	n.pose(sources, zone)
	chosen := make(map[int32]bool)
	for _, v := range sol.Chosen {
		chosen[v] = true
	}
	for i, v := range n.vertex {
		switch {
		case chosen[v]:
			n.setState(int32(i), closed)
		case n.link[i].state == usual:
			n.setState(int32(i), open)
		}
	}
	n.maximise()
	_, sol.Outer, _ = n.closest()
	if withLabels {
		sol.Labels = n.vertexLabels()
	}
}
