package cut

// The formulation. Give every vertex a label d from 0 to K, the number of layers
// (2, or 1 if every demand is single). A source with demand k has d <= K-k, the
// work has d = K, d doesn't rise along an edge or arc, and it rises by at most 1
// over a point, which is then chosen.
//
//   - Such labels mean that every path from the source to the work, whose d has
//     to rise by k, passes k chosen points.
//   - If a set meets the demands, then the fewest chosen points met from any
//     source, counted from K-k and up to K, are such labels: a walk with the
//     fewest points may be taken to be a simple path, as cutting a loop out of
//     it adds no point.
//
// The source's bound is no equality: a single source that stands behind a double
// one has label 0, and to hold it at 1 would cost a point between the two.
//
// With one yes-or-no variable "d >= l" per vertex and layer l this is a minimum
// cut in K copies of the plant, see flow.

// question is what one question asks of a network: which sections are work and
// which are sources, in how many layers. All of it is undone before the next.
type question struct {
	layers  int // 1 if every demand is single, else 2
	sources []Source
	zone    []int32

	marked  []int32 // sections with a role
	changed []int32 // points whose state isn't usual
	typing  typing
	plain   []bool // per section: reached by a source whose demand isn't blank
}

// Role bits of a section.
const (
	isZone uint8 = 1 << iota
	isSrc1       // fixed below layer 1
	isSrc2       // fixed below layer 2
)

// States of a point within a question.
const (
	usual  uint8 = iota
	open         // must not be chosen
	closed       // is chosen and paid for already
)

// typing says for which points the kind of point matters to the layer.
type typing uint8

const (
	untyped typing = iota
	typed          // every source has a blank demand
	valves         // none has, and some points count as blanks
	partly         // only where no other source reaches
)

// pose sets up a checked question. It reports false if a source and the work
// are in one section.
func (n *Network) pose(sources []Source, zone []int32) bool {
	n.clearQuestion()
	n.sources, n.zone = sources, zone
	n.layers = 1
	blanks, others := 0, 0
	for _, s := range sources {
		switch s.Demand {
		case None:
			continue
		case BlankBehind:
			blanks++
		default:
			others++
		}
		n.layers = max(n.layers, s.Demand.layers())
	}
	for _, z := range zone {
		n.mark(z, isZone)
	}
	for _, s := range sources {
		n.mark(s.Vertex, n.sourceRole(s.Demand))
	}
	n.typing = untyped
	if blanks == 0 && n.p.Counts != nil {
		n.typing = valves
	}
	if blanks > 0 {
		n.typing = typed
		if others > 0 {
			n.typing = partly
			n.reachPlain()
		}
	}
	for _, s := range n.marked {
		if n.sec[s].role&isZone != 0 && n.sec[s].role&(isSrc1|isSrc2) != 0 {
			return false
		}
	}
	return true
}

// sourceRole: d(s) <= K-k means that s is fixed below layers K-k+1 and above.
func (n *Network) sourceRole(d Demand) uint8 {
	switch {
	case d == None:
		return 0
	case n.layers == 1:
		return isSrc1
	case d == Single:
		return isSrc2
	}
	return isSrc1 | isSrc2
}

// mark returns v's section the role. A point with a role can't be chosen, so its
// sections on either side are one with it.
func (n *Network) mark(v int32, role uint8) {
	if s := n.at[v]; s >= 0 {
		n.addRole(s, role)
		return
	}
	i := ^n.at[v]
	n.setState(i, open)
	if e := n.link[i].ends; e[0] >= 0 {
		n.addRole(e[0], role)
		n.addRole(e[1], role)
	}
}

// addRole notes what a section is to this question.
func (n *Network) addRole(s int32, role uint8) {
	if n.sec[s].role == 0 {
		n.marked = append(n.marked, s)
	}
	n.sec[s].role |= role
}

// setState notes that point i is open or closed in this question.
func (n *Network) setState(i int32, state uint8) {
	if n.link[i].state == usual {
		n.changed = append(n.changed, i)
	}
	n.link[i].state = state
}

// clearQuestion undoes the last question, in time that goes with its size.
func (n *Network) clearQuestion() {
	for _, s := range n.marked {
		n.sec[s].role = 0
	}
	for _, i := range n.changed {
		n.link[i].state = usual
	}
	n.marked, n.changed = n.marked[:0], n.changed[:0]
}

// reachPlain finds the sections that a single or double source reaches, with
// nothing closed and not through the work.
func (n *Network) reachPlain() {
	if n.plain == nil {
		n.plain = make([]bool, len(n.rep))
	}
	clear(n.plain)
	var queue []int32
	visit := func(s int32) {
		if s >= 0 && !n.plain[s] && n.sec[s].role&isZone == 0 {
			n.plain[s] = true
			queue = append(queue, s)
		}
	}
	for _, s := range n.sources {
		if s.Demand != BlankBehind && s.Demand != None {
			visit(n.entry(s.Vertex))
			visit(n.exit(s.Vertex))
		}
	}
	for len(queue) > 0 {
		s := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		for _, h := range n.links(s) {
			if h.code&1 == 0 || n.link[h.code>>1].kind == between {
				visit(h.to)
			}
		}
	}
}

// unbounded stands for a capacity that no cut can pay; half of it is more than
// any flow.
const unbounded = int64(1) << 61

// capacity is what closing link i costs in a layer (0 or 1).
func (n *Network) capacity(i int32, layer int32) int64 {
	e := &n.link[i]
	if e.state == usual && n.typing == untyped {
		return e.cost
	}
	if e.state == open {
		return unbounded
	}
	if n.typing != untyped && e.kind != passage && !n.servesAs(i, layer) {
		return unbounded
	}
	if e.state == closed {
		return 0
	}
	return e.cost
}

// Where only blank demands arrive, the labels are theirs alone, and asking that
// the outer layer is made of valves and the inner one of blanks is exact. So is
// asking for valves in both where no blank demand is. Where both arrive, labels
// would have to be kept for each; there the kinds are left out of account, which
// makes the cut a bound only.

// servesAs tells whether the point may serve in the layer: where only blank
// demands arrive, a valve in the outer and a blank in the inner one.
func (n *Network) servesAs(i int32, layer int32) bool {
	e := &n.link[i]
	if n.typing == valves {
		return n.p.counts(n.vertex[i])&Valve != 0
	}
	if n.typing == partly && (n.plain[e.ends[0]] || n.plain[e.ends[1]]) {
		return true
	}
	return n.p.counts(n.vertex[i])&(Valve<<layer) != 0
}
