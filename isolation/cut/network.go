package cut

// Network is a plant made ready for questions: connected vertices that can't
// be closed are contracted into sections, and a point between two sections
// is one link. Build it once, then ask [Network.Solve] about any sources and
// zone. It isn't safe for use by several goroutines at once.
type Network struct {
	p     Problem    // the plant; its sources and zone aren't read
	edges [][2]int32 // all that flow passes either way

	// at is per vertex: its section, or ^i for point i.
	at []int32
	// vertex is the plant vertex of each point.
	vertex []int32
	// link: the first len(vertex) are the points, those above are one-way
	// passages that can't be closed.
	link []link
	// sec holds the sections, and one record more to end the last one's links:
	// those of section s are adj[sec[s].first:sec[s+1].first].
	sec  []section
	cold []seldom // per section
	adj  []halfEdge
	// rep names each section by a vertex, or by ^i for edge i between points.
	rep    []int32
	joints int32 // sections that aren't a point's entry or exit
	split  bool  // some points are split into entry and exit
	broken bool  // some points are closed by breaking a joint

	question
	flow
}

// link joins two sections. Its flow is kept beside it, so that a search needs
// one place in memory for all of it.
type link struct {
	ends  [2]int32
	cost  int64
	along [2]int64 // per layer: flow from end 0 to end 1
	cross [2]int64 // per end: flow from its layer 0 to the other end's layer 1
	kind  linkKind
	state uint8   // usual, open or closed
	_     [6]byte // one line of a processor's cache each
	_     int64
}

// halfEdge is a link as one of its sections sees it: its code is twice the
// link's number, plus 1 if the section is the link's second end.
type halfEdge struct {
	code int32
	to   int32 // the section at the other end
}

type linkKind uint8

const (
	between linkKind = iota // a point between two sections, passable both ways
	through                 // a point split: from its entry to its exit
	passage                 // one way, can't be closed
)

// section is one node in each of the two layers.
type section struct {
	epoch  [2]int32 // in the search tree if equal to the flow's epoch
	parent [2]int32 // the step towards the work
	dist   [2]int32 // steps to the work, at least at the time of seen
	queued [2]bool
	role   uint8
	first  int32
}

// seldom is what is seldom asked of a section, kept apart so that the rest fits
// the processor's cache.
type seldom struct {
	rise int64    // flow from layer 0 to layer 1
	seen [2]int32 // when last known to be joined to the work
}

// NewNetwork contracts the plant of p; sources and zone of p are ignored.
// Returns an error if p isn't a graph. Takes time and memory in proportion to
// the number of vertices and edges. The network keeps p's slices.
func NewNetwork(p Problem) (*Network, error) {
	if err := p.checkPlant(); err != nil {
		return nil, err
	}
	n := &Network{p: p, edges: p.edges()}
	n.drawSections()
	n.attachPoints()
	n.splitPoints()
	n.index()
	return n, nil
}

// drawSections joins vertices that can't be closed. A set is named by its
// lowest vertex and every parent lies below its child, so one upward pass
// numbers the sections in place.
func (n *Network) drawSections() {
	p := &n.p
	shut := make([]bool, p.N)
	points := 0
	for v := range shut {
		if p.closable(int32(v)) {
			shut[v] = true
			points++
			n.broken = n.broken || p.counts(int32(v))&Joint != 0
		}
	}
	parent := make([]int32, p.N)
	for v := range parent {
		parent[v] = int32(v)
	}
	for _, e := range n.edges {
		if !shut[e[0]] && !shut[e[1]] {
			union(parent, e[0], e[1])
		}
	}
	n.vertex = make([]int32, 0, points)
	n.rep = make([]int32, 0, p.N-points)
	for v, up := range parent {
		switch {
		case shut[v]:
			parent[v] = ^int32(len(n.vertex))
			n.vertex = append(n.vertex, int32(v))
		case int(up) == v:
			parent[v] = int32(len(n.rep))
			n.rep = append(n.rep, int32(v))
		default:
			parent[v] = parent[up]
		}
	}
	n.at = parent
}

// union joins the sets of a and b under the lower of their lowest members.
func union(parent []int32, a, b int32) {
	for parent[a] != a {
		parent[a] = parent[parent[a]]
		a = parent[a]
	}
	for parent[b] != b {
		parent[b] = parent[parent[b]]
		b = parent[b]
	}
	if a < b {
		parent[b] = a
	} else {
		parent[a] = b
	}
}

// attachPoints finds the sections that each point touches, and marks those
// that one link can't describe. An edge between two points becomes a section.
func (n *Network) attachPoints() {
	n.link = make([]link, len(n.vertex), len(n.vertex)+2*len(n.p.Gaps))
	for i, v := range n.vertex {
		n.link[i] = link{ends: [2]int32{-1, -1}, cost: n.p.Cost[v]}
	}
	for i, e := range n.edges {
		u, w := n.at[e[0]], n.at[e[1]]
		switch {
		case u >= 0 && w >= 0 || u == w:
		case u >= 0:
			n.attach(^w, u)
		case w >= 0:
			n.attach(^u, w)
		default:
			middle := int32(len(n.rep))
			n.rep = append(n.rep, ^int32(i))
			n.attach(^u, middle)
			n.attach(^w, middle)
		}
	}
	for _, e := range n.p.Gaps {
		for _, v := range e {
			if i := n.at[v]; i < 0 {
				n.link[^i].kind, n.split = through, true
			}
		}
	}
	n.joints = int32(len(n.rep))
}

// attach notes that a point touches a section. Two sections make it a link; from
// the third on it has to be split.
func (n *Network) attach(i, section int32) {
	e := &n.link[i].ends
	switch {
	case e[0] < 0:
		e[0], e[1] = section, section
	case e[0] == section || e[1] == section:
	case e[1] == e[0]:
		e[1] = section
	default:
		n.link[i].kind, n.split = through, true
	}
}

// splitPoints gives each marked point an entry and an exit node, and adds the
// one-way joints.
func (n *Network) splitPoints() {
	if !n.split && len(n.p.Gaps) == 0 {
		return
	}
	for i, v := range n.vertex {
		if n.link[i].kind == through {
			in := int32(len(n.rep))
			n.rep = append(n.rep, v, v)
			n.link[i].ends = [2]int32{in, in + 1}
		}
	}
	middle := n.firstMiddle()
	for _, e := range n.edges {
		u, w := n.at[e[0]], n.at[e[1]]
		switch {
		case u >= 0 && w >= 0 || u == w:
		case u >= 0:
			n.joinSplit(^w, u)
		case w >= 0:
			n.joinSplit(^u, w)
		default:
			n.joinSplit(^u, middle)
			n.joinSplit(^w, middle)
			middle++
		}
	}
	for _, e := range n.p.Gaps {
		n.passage(n.exit(e[0]), n.entry(e[1]))
	}
}

// firstMiddle is the first section that stands for an edge between points.
func (n *Network) firstMiddle() int32 {
	s := int32(0)
	for s < n.joints && n.rep[s] >= 0 {
		s++
	}
	return s
}

// joinSplit lets flow from a section into a split point and out of it again.
func (n *Network) joinSplit(i, section int32) {
	if e := n.link[i]; e.kind == through {
		n.passage(section, e.ends[0])
		n.passage(e.ends[1], section)
	}
}

// passage adds a link that nothing closes, one way only.
func (n *Network) passage(from, to int32) {
	if from != to {
		n.link = append(n.link, link{ends: [2]int32{from, to}, cost: unbounded, kind: passage})
	}
}

// exit is the section that flow leaving v is in; v at a gap is split if it is a
// point.
func (n *Network) exit(v int32) int32 {
	if s := n.at[v]; s >= 0 {
		return s
	}
	return n.link[^n.at[v]].ends[1]
}

// entry is the section that flow arriving at v is in.
func (n *Network) entry(v int32) int32 {
	if s := n.at[v]; s >= 0 {
		return s
	}
	return n.link[^n.at[v]].ends[0]
}

// index lists the links of each section. Points with one section only, and
// points that join nothing, are in no list.
func (n *Network) index() {
	n.sec, n.cold = make([]section, len(n.rep)+1), make([]seldom, len(n.rep))
	for i := range n.link {
		if e := n.link[i].ends; e[0] != e[1] {
			n.sec[e[0]].first++
			n.sec[e[1]].first++
		}
	}
	sum := int32(0)
	for s := range n.sec {
		sum += n.sec[s].first
		n.sec[s].first = sum
	}
	n.adj = make([]halfEdge, sum)
	for i := len(n.link) - 1; i >= 0; i-- {
		if e := n.link[i].ends; e[0] != e[1] {
			for side, s := range e {
				n.sec[s].first--
				n.adj[n.sec[s].first] = halfEdge{int32(i)<<1 | int32(side), e[1-side]}
			}
		}
	}
}

// links are what section s holds.
func (n *Network) links(s int32) []halfEdge { return n.adj[n.sec[s].first:n.sec[s+1].first] }
