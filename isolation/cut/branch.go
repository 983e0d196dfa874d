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
// may be nil.
func (n *Network) branch(services *serving, withLabels bool) (Solution, error) {
	b := &branching{n: n, sources: n.sources, zone: n.zone, labels: withLabels, services: services}
	b.limit = n.p.NodeLimit
	if b.limit <= 0 {
		b.limit = DefaultNodeLimit
	}
	b.witness = newWitness(&n.p, n.sources, n.zone)
	root := n.certificate()
	if err := b.hopeless(); err != nil {
		return Solution{}, err
	}
	b.split()
	b.consider(&node{})
	b.joinHalves()
	b.run()
	if b.best == nil {
		return Solution{}, b.failure()
	}
	sol := *b.best
	sol.Flow, sol.Nodes = root, b.nodes
	sol.Bound = sol.Cost
	b.lostBound = b.bestLost
	if len(b.open) > 0 && b.open[0].less(b.bestLost, b.best.Cost) {
		sol.Bound, b.lostBound = b.open[0].cost, b.open[0].lost
	}
	if services != nil {
		services.lost, services.bound = b.bestLost, b.lostBound
	}
	return sol, nil
}

type branching struct {
	n        *Network
	sources  []Source
	zone     []int32
	blanks   []Source // the sources apart, where blanks are mixed with others
	plains   []Source
	labels   bool
	witness  *witness
	services *serving

	open  openNodes
	nodes int
	limit int

	best      *Solution
	bestLost  int
	lostBound int
	blame     []int32 // the first path that a cut fell short on
	blameFor  Demand
}

// node is a set of decisions: its own and those of its parents.
type node struct {
	parent  *node
	made    []decision
	stretch []int32 // vertices between two closed points: must reach an opening
	keeps   int32   // consumer that must be kept, plus 1
	yields  int32   // consumer that is given up, plus 1
	depth   int

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

func (o openNodes) Len() int { return len(o) }
func (o openNodes) Less(i, j int) bool {
	if o[i].lost == o[j].lost && o[i].cost == o[j].cost {
		return o[i].depth > o[j].depth
	}
	return o[i].less(o[j].lost, o[j].cost)
}
func (o openNodes) Swap(i, j int) { o[i], o[j] = o[j], o[i] }
func (o *openNodes) Push(x any)   { *o = append(*o, x.(*node)) }
func (o *openNodes) Pop() any {
	last := len(*o) - 1
	x := (*o)[last]
	(*o)[last] = nil
	*o = (*o)[:last]
	return x
}

// hopeless returns the error for a path that has too few points of the kinds
// demanded even with all of them closed.
func (b *branching) hopeless() error {
	err := b.n.uncut(b.sources, b.zone)
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

// run takes nodes until none can be better than the best set.
func (b *branching) run() {
	for len(b.open) > 0 && b.nodes < b.limit {
		if b.best != nil && !b.open[0].less(b.bestLost, b.best.Cost) {
			return
		}
		b.expand(heap.Pop(&b.open).(*node))
	}
}

// failure says why there is no set.
func (b *branching) failure() error {
	if len(b.open) > 0 {
		return ErrNodeLimit
	}
	return &Uncut{Path: b.blame, Need: 2, Have: 1, Drain: b.blameFor == Double, Exhausted: b.blameFor != Double}
}

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

// consider bounds a new node. It drops it, takes its cut as the best set if
// that meets everything, or opens it.
func (b *branching) consider(a *node) {
	b.nodes++
	if a.parent != nil {
		a.depth = a.parent.depth + 1
		a.cost = a.parent.cost
	}
	if len(b.blanks) > 0 {
		if !b.load(a, b.blanks) || !b.n.maximise() {
			return
		}
		a.cost = max(a.cost, b.n.value+b.n.paidFor())
	}
	if !b.load(a, b.sources) || !b.n.maximise() {
		return
	}
	a.cost = max(a.cost, b.n.value+b.n.paidFor())
	if b.services != nil && !b.services.bound1(b, a) {
		return
	}
	if b.best != nil && !a.less(b.bestLost, b.best.Cost) {
		return
	}
	sol := Solution{}
	sol.Chosen, sol.Outer, sol.Cost = b.n.closest()
	a.chosen = sol.Chosen
	if b.labels {
		sol.Labels = b.n.vertexLabels()
	}
	lost, met := b.judge(a, &sol)
	if met && (b.best == nil || lost < b.bestLost || lost == b.bestLost && sol.Cost < b.best.Cost) {
		b.best, b.bestLost = &sol, lost
	}
	if !met || a.less(lost, sol.Cost) {
		heap.Push(&b.open, a)
	}
}

// judge tells whether a set meets the demands, and how many consumers it loses.
func (b *branching) judge(a *node, sol *Solution) (lost int, met bool) {
	b.close(sol.Chosen)
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
	sol := Solution{}
	for _, v := range both {
		b.witness.closed[v] = false
		if path, _, _ := b.witness.find(); path != nil {
			b.witness.closed[v] = true
			sol.Chosen = append(sol.Chosen, v)
			sol.Cost += b.n.p.Cost[v]
		}
	}
	slices.Sort(sol.Chosen)
	b.describe(&sol)
	lost := 0
	if b.services != nil {
		lost = b.services.countLost(b.witness.closed)
	}
	b.best, b.bestLost = &sol, lost
}

// describe gives a set found otherwise its layers, by closing just these
// points in the network.
func (b *branching) describe(sol *Solution) {
	fixed := &node{}
	chosen := make(map[int32]bool)
	for _, v := range sol.Chosen {
		chosen[v] = true
	}
	for i, v := range b.n.vertex {
		d := decision{int32(i), open}
		if chosen[v] {
			d.state = closed
		}
		fixed.made = append(fixed.made, d)
	}
	b.load(fixed, b.sources)
	b.n.maximise()
	_, sol.Outer, _ = b.n.closest()
	if b.labels {
		sol.Labels = b.n.vertexLabels()
	}
}
