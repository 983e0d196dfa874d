package cut

// Network is a plant made ready for questions: connected vertices that can't
// be closed are drawn together into sections, and a point between two sections
// is one link. Build it once, then ask [Network.Solve] about any sources and
// zone. It isn't safe for use by several goroutines at once.
type Network struct {
	p Problem // the plant; its sources and zone aren't read

	// at is per vertex: its section, or ^i for point i.
	at []int32
	// vertex is the plant vertex of each point.
	vertex []int32
	// ends are the two sections of each link. Links 0 to len(vertex)-1 are the
	// points; those above are one-way joints that can't be closed.
	ends [][2]int32
	// oneWay is per point: true if the ends are its own entry and exit nodes,
	// because it touches three sections or more, or an arc. nil: none.
	oneWay []bool
	// first and adj: the links of section s are adj[first[s]:first[s+1]], each
	// twice its link number, plus 1 if s is the link's second end.
	first []int32
	adj   []int32
	// rep names each section by a vertex, or by ^i for edge i between points.
	rep      []int32
	sections int32
	joints   int32 // sections that aren't a point's entry or exit

	question
	flow
}

// NewNetwork draws the plant of p together; sources and zone of p are ignored.
// Returns an error if p isn't a graph. Takes time and memory in proportion to
// the number of vertices and edges. The network keeps p's slices.
func NewNetwork(p Problem) (*Network, error) {
	if err := p.checkPlant(); err != nil {
		return nil, err
	}
	n := &Network{p: p}
	n.drawSections()
	n.attachPoints()
	n.splitPoints()
	n.index()
	n.readyQuestion()
	n.readyFlow()
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
		}
	}
	parent := make([]int32, p.N)
	for v := range parent {
		parent[v] = int32(v)
	}
	for _, e := range p.Edges {
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
	n.ends = make([][2]int32, len(n.vertex), len(n.vertex)+2*len(n.p.Arcs))
	for i := range n.ends {
		n.ends[i] = [2]int32{-1, -1}
	}
	for i, e := range n.p.Edges {
		u, w := n.at[e[0]], n.at[e[1]]
		switch {
		case u >= 0 && w >= 0 || u == w:
		case u >= 0:
			n.attach(^w, u)
		case w >= 0:
			n.attach(^u, w)
		default:
			between := int32(len(n.rep))
			n.rep = append(n.rep, ^int32(i))
			n.attach(^u, between)
			n.attach(^w, between)
		}
	}
	for _, e := range n.p.Arcs {
		for _, v := range e {
			if i := n.at[v]; i < 0 {
				n.markOneWay(^i)
			}
		}
	}
	n.joints = int32(len(n.rep))
}

func (n *Network) attach(i, section int32) {
	e := &n.ends[i]
	switch {
	case e[0] < 0:
		e[0], e[1] = section, section
	case e[0] == section || e[1] == section:
	case e[1] == e[0]:
		e[1] = section
	default:
		n.markOneWay(i)
	}
}

func (n *Network) markOneWay(i int32) {
	if n.oneWay == nil {
		n.oneWay = make([]bool, len(n.vertex))
	}
	n.oneWay[i] = true
}

// splitPoints gives each marked point an entry and an exit node, and adds the
// one-way joints.
func (n *Network) splitPoints() {
	if n.oneWay == nil && len(n.p.Arcs) == 0 {
		n.sections = int32(len(n.rep))
		return
	}
	for i, split := range n.oneWay {
		if split {
			in := int32(len(n.rep))
			n.rep = append(n.rep, n.vertex[i], n.vertex[i])
			n.ends[i] = [2]int32{in, in + 1}
		}
	}
	n.sections = int32(len(n.rep))
	between := n.firstBetween()
	for _, e := range n.p.Edges {
		u, w := n.at[e[0]], n.at[e[1]]
		switch {
		case u >= 0 && w >= 0 || u == w:
		case u >= 0:
			n.joinSplit(^w, u)
		case w >= 0:
			n.joinSplit(^u, w)
		default:
			n.joinSplit(^u, between)
			n.joinSplit(^w, between)
			between++
		}
	}
	for _, e := range n.p.Arcs {
		n.joint(n.exit(e[0]), n.entry(e[1]))
	}
}

// firstBetween is the first section that stands for an edge between points.
func (n *Network) firstBetween() int32 {
	s := int32(0)
	for s < n.joints && n.rep[s] >= 0 {
		s++
	}
	return s
}

func (n *Network) joinSplit(i, section int32) {
	if n.oneWay != nil && n.oneWay[i] {
		n.joint(section, n.ends[i][0])
		n.joint(n.ends[i][1], section)
	}
}

func (n *Network) joint(from, to int32) {
	if from != to {
		n.ends = append(n.ends, [2]int32{from, to})
	}
}

// exit is the section that flow leaving v is in; v of an arc is split if it is
// a point.
func (n *Network) exit(v int32) int32 {
	if s := n.at[v]; s >= 0 {
		return s
	}
	return n.ends[^n.at[v]][1]
}

// entry is the section that flow arriving at v is in.
func (n *Network) entry(v int32) int32 {
	if s := n.at[v]; s >= 0 {
		return s
	}
	return n.ends[^n.at[v]][0]
}

// index lists the links of each section. Points with one section only, and
// points that join nothing, are in no list.
func (n *Network) index() {
	n.first = make([]int32, n.sections+1)
	for _, e := range n.ends {
		if e[0] != e[1] {
			n.first[e[0]]++
			n.first[e[1]]++
		}
	}
	sum := int32(0)
	for s, d := range n.first {
		n.first[s] = sum
		sum += d
	}
	n.adj = make([]int32, sum)
	for i, e := range n.ends {
		if e[0] != e[1] {
			n.adj[n.first[e[0]]] = int32(i) << 1
			n.first[e[0]]++
			n.adj[n.first[e[1]]] = int32(i)<<1 | 1
			n.first[e[1]]++
		}
	}
	copy(n.first[1:], n.first[:n.sections])
	n.first[0] = 0
}
