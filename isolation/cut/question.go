package cut

// question is what one question asks of a network: which sections are work and
// which are sources, in how many layers. All of it is undone before the next.
type question struct {
	layers  int // 1 if every demand is single, else 2
	sources []Source
	zone    []int32

	role    []uint8 // per section: the role bits
	marked  []int32 // sections with a role
	state   []uint8 // per point: usual, open or closed
	changed []int32 // points whose state isn't usual
	typing  typing
	plain   []bool // per section: reached by a source whose demand isn't blank
}

// Role bits of a section.
const (
	isZone  uint8 = 1 << iota
	isSrc1        // fixed below layer 1
	isSrc2        // fixed below layer 2
	inQueue       // scratch mark of the search for chosen points
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
	partly         // only where no other source reaches
)

func (n *Network) readyQuestion() {
	n.role = make([]uint8, n.sections)
	n.state = make([]uint8, len(n.vertex))
}

// pose sets up a checked question. It reports false if a source and the work
// are in one section.
func (n *Network) pose(sources []Source, zone []int32) bool {
	n.clearQuestion()
	n.sources, n.zone = sources, zone
	n.layers = 1
	blanks := 0
	for _, s := range sources {
		if s.Demand != Single {
			n.layers = 2
		}
		if s.Demand == BlankBehind {
			blanks++
		}
	}
	for _, z := range zone {
		n.mark(z, isZone)
	}
	for _, s := range sources {
		n.mark(s.Vertex, n.sourceRole(s.Demand))
	}
	n.typing = untyped
	if blanks > 0 {
		n.typing = typed
		if blanks < len(sources) {
			n.typing = partly
			n.reachPlain()
		}
	}
	for _, s := range n.marked {
		if n.role[s]&isZone != 0 && n.role[s]&(isSrc1|isSrc2) != 0 {
			return false
		}
	}
	return true
}

// sourceRole: d(s) <= K-k means that s is fixed below layers K-k+1 and above.
func (n *Network) sourceRole(d Demand) uint8 {
	switch {
	case n.layers == 1:
		return isSrc1
	case d == Single:
		return isSrc2
	}
	return isSrc1 | isSrc2
}

// mark gives v's section the role. A point with a role can't be chosen, so its
// sections on either side are one with it.
func (n *Network) mark(v int32, role uint8) {
	if s := n.at[v]; s >= 0 {
		n.addRole(s, role)
		return
	}
	i := ^n.at[v]
	n.setState(i, open)
	if n.ends[i][0] >= 0 {
		n.addRole(n.ends[i][0], role)
		n.addRole(n.ends[i][1], role)
	}
}

func (n *Network) addRole(s int32, role uint8) {
	if n.role[s] == 0 {
		n.marked = append(n.marked, s)
	}
	n.role[s] |= role
}

func (n *Network) setState(i int32, state uint8) {
	if n.state[i] == usual {
		n.changed = append(n.changed, i)
	}
	n.state[i] = state
}

func (n *Network) clearQuestion() {
	for _, s := range n.marked {
		n.role[s] = 0
	}
	for _, i := range n.changed {
		n.state[i] = usual
	}
	n.marked, n.changed = n.marked[:0], n.changed[:0]
}

// reachPlain finds the sections that a single or double source reaches, with
// nothing closed and not through the work.
func (n *Network) reachPlain() {
	if n.plain == nil {
		n.plain = make([]bool, n.sections)
	}
	clear(n.plain)
	var queue []int32
	visit := func(s int32) {
		if s >= 0 && !n.plain[s] && n.role[s]&isZone == 0 {
			n.plain[s] = true
			queue = append(queue, s)
		}
	}
	for _, s := range n.sources {
		if s.Demand != BlankBehind {
			visit(n.entry(s.Vertex))
			visit(n.exit(s.Vertex))
		}
	}
	for len(queue) > 0 {
		s := queue[len(queue)-1]
		queue = queue[:len(queue)-1]
		for _, a := range n.adj[n.first[s]:n.first[s+1]] {
			if a&1 == 0 || n.bothWays(a>>1) {
				visit(n.ends[a>>1][1-a&1])
			}
		}
	}
}

// bothWays tells whether flow may pass the link either way.
func (n *Network) bothWays(link int32) bool {
	return int(link) < len(n.vertex) && (n.oneWay == nil || !n.oneWay[link])
}

// unbounded stands for a capacity that no cut can pay; half of it is more than
// any flow.
const unbounded = int64(1) << 61

// capacity is what closing the link costs in a layer (0 or 1).
func (n *Network) capacity(link int32, layer int) int64 {
	if int(link) >= len(n.vertex) || n.state[link] == open {
		return unbounded
	}
	if n.typing != untyped && !n.servesAs(link, layer) {
		return unbounded
	}
	if n.state[link] == closed {
		return 0
	}
	return n.p.Cost[n.vertex[link]]
}

// servesAs tells whether the point may serve in the layer: where only blank
// demands arrive, a valve in the outer and a blank in the inner one.
func (n *Network) servesAs(link int32, layer int) bool {
	if n.typing == partly && (n.plain[n.ends[link][0]] || n.plain[n.ends[link][1]]) {
		return true
	}
	return n.p.counts(n.vertex[link])&(Valve<<layer) != 0
}
