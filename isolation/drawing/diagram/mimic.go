package diagram

import (
	"math"
	"slices"
	"sort"

	"stillwatch/isolation"
)

// Part is the isolation of one job as it stands at a moment.
type Part struct {
	Plan     *isolation.Plan
	On       func(step int) bool // reports whether the lock or tag of a step (from 1) hangs
	Isolated bool                // only then the inside is shaded
	Words    string              // how it stands, for readers who cannot see the drawing
}

// The grid of a mimic, in millimetres: tighter and with larger ids than that of a whole plant, to be read from afar.
const (
	mimicX     = 20.0
	mimicY     = 11.6
	mimicID    = 3.6  // height of the ids
	mimicStub  = 5.0  // level at both sides of a node
	mimicBand  = 10.8 // height of the shading
	mimicShape = 1.5  // of width to height, as of the place that a board has for it
)

// Mimic draws the plant about one isolation as it is now: the part that is cut off, the points that hold it with the
// position in which they stand, and what comes first behind them. A point whose lock or tag hangs carries its mark and
// stands as the plan wants it; one that is to come stands in its normal position. A line to which a source can still
// come past what hangs is heavy; a valve that is merely shut keeps nothing off. The inside is shaded while the
// isolation is proved, and only then.
func Mimic(p *isolation.Plant, part Part) Drawing {
	if p == nil || part.Plan == nil {
		return Drawing{Title: "No plan", W: columnW, H: 10}
	}
	m := mimic{scene: newScene(p, part.Plan), part: part, steps: map[int]*isolation.Step{}}
	for i := range part.Plan.Steps {
		if v, ok := m.at[part.Plan.Steps[i].Point]; ok {
			m.steps[v] = &part.Plan.Steps[i]
		}
	}
	m.cut = m.flooded(func(v int) bool { return m.shut[v] })
	m.live = m.flooded(func(v int) bool { return m.shut[v] && part.On(m.steps[v].N) })
	var pieces []block
	var widths []float64
	for _, nodes := range m.pieces() {
		b, w := m.piece(p, nodes)
		pieces, widths = append(pieces, b), append(widths, w)
	}
	d := Drawing{Title: heading(part.Plan), Desc: part.Words + " " + m.describe()}
	d.pack(pieces, widths)
	return d
}

// mimic is a scene with what hangs.
type mimic struct {
	*scene
	part  Part
	steps map[int]*isolation.Step // of every phase, by node
	cut   []bool                  // to which a source comes when every point of the plan is shut
	live  []bool                  // to which one comes now
}

// flooded says of each node whether something comes to it from any source past what does not stop it.
func (m mimic) flooded(stops func(int) bool) []bool {
	onward := make([][]int, len(m.nodes))
	for v, from := range m.near {
		for _, w := range from {
			onward[w] = append(onward[w], v)
		}
	}
	wet := make([]bool, len(m.nodes))
	var queue []int
	for v := range m.nodes {
		if m.nodes[v].Kind == isolation.Source {
			queue, wet[v] = append(queue, v), true
		}
	}
	for i := 0; i < len(queue); i++ {
		for _, w := range onward[queue[i]] {
			if !wet[w] && !stops(w) {
				queue, wet[w] = append(queue, w), true
			}
		}
	}
	return wet
}

// own reports whether a node is drawn for its own sake: a point of the plan, what is isolated, and what lies between
// two points. A dead end that the plan does not use is left out.
func (m mimic) own(v int) bool {
	if m.steps[v] != nil || m.opened[v] {
		return true
	}
	idle := len(m.joined[v]) < 2 || m.nodes[v].Kind == isolation.Opening
	return (m.inside[v] || !m.cut[v]) && m.nodes[v].Kind != isolation.Source && !idle
}

// pieces lists the joined parts of what is drawn, the one with the first step first.
func (m mimic) pieces() [][]int {
	var out [][]int
	seen := map[int]bool{}
	for v := range m.nodes {
		if seen[v] || m.steps[v] == nil {
			continue
		}
		piece := m.whole(v, func(w int) bool { return !m.own(w) })
		for _, w := range piece {
			seen[w] = true
		}
		sort.Ints(piece)
		out = append(out, piece)
	}
	first := func(nodes []int) int {
		n := math.MaxInt
		for _, v := range nodes {
			if st := m.steps[v]; st != nil {
				n = min(n, st.N)
			}
		}
		return n
	}
	sort.SliceStable(out, func(i, j int) bool { return first(out[i]) < first(out[j]) })
	return out
}

// used returns the plant without the lines to dead ends that are not drawn.
func (m mimic) used(p *isolation.Plant) *isolation.Plant {
	drawn := func(id isolation.NodeID) bool {
		v, ok := m.at[id]
		return ok && (m.own(v) || m.cut[v])
	}
	return &isolation.Plant{Nodes: p.Nodes, Links: slices.DeleteFunc(slices.Clone(p.Links),
		func(l isolation.Link) bool { return !drawn(l.A) || !drawn(l.B) })}
}

// piece draws one of them, and returns its width.
func (m mimic) piece(p *isolation.Plant, nodes []int) (block, float64) {
	own := map[int]bool{}
	for _, v := range nodes {
		own[v] = true
	}
	net := m.cutOut(m.used(p), nodes, func(v int) bool { return !own[v] })
	l := net.layout()
	at := func(layer, row float64) Point { return Point{mimicX/2 + layer*mimicX, 6 + row*mimicY} }
	where := make([]Point, net.n)
	for i := range where {
		where[i] = at(float64(l.layer[i]), l.row[i])
	}
	b := board{s: m.scene}
	courses := make([][]Point, len(net.edges))
	for e, ends := range net.edges {
		courses[e] = []Point{where[ends[0]]}
		for _, bend := range l.bends[e] {
			courses[e] = append(courses[e], at(bend.X, bend.Y))
		}
		courses[e] = append(courses[e], where[ends[1]])
	}
	within := func(i int) bool { return m.inside[net.nodes[i]] && !slices.Contains(net.roots, i) }
	if m.part.Isolated {
		for _, style := range []Style{Shore, Flood} { // the edge under all of it, then the shading
			for e, ends := range net.edges {
				if within(ends[0]) && within(ends[1]) {
					b.add(Polyline{bent(courses[e], mimicStub), style})
				}
			}
			for i, c := range where {
				if within(i) {
					b.line(c.X-mimicX/2+1, c.Y, c.X+mimicX/2-1, c.Y, style)
				}
			}
		}
	}
	for e, ends := range net.edges {
		style := Ink
		switch {
		case m.live[net.nodes[ends[0]]] || m.live[net.nodes[ends[1]]]:
			style = Live
		case m.part.Isolated:
			style = Safe
		}
		b.add(Polyline{bent(courses[e], mimicStub), style})
	}
	for i, v := range net.nodes {
		m.node(&b, v, where[i], slices.Contains(net.roots, i))
	}
	return block{b.ops, (l.rows-1)*mimicY + 13}, float64(l.layers)*mimicX + 4
}

// node draws one node with its id, the position in which it stands, and the mark of what hangs on it.
func (m mimic) node(b *board, v int, at Point, root bool) {
	n, style := &m.nodes[v], Words
	pos := restsAt(n)
	st := m.steps[v]
	hangs := st != nil && !root && m.part.On(st.N)
	switch {
	case hangs:
		pos, style = st.Position, Strong
	case m.opened[v] && !root:
		style = Strong
	case st == nil:
		style = Mute
	}
	if m.opened[v] && !m.kept[v] && !root {
		b.rect(at.X-3.4, at.Y-3.2, 6.8, 6, Work)
	}
	b.symbol(n.Kind, pos, at.X, at.Y)
	switch {
	case hangs && st.Lock:
		b.padlock(at.X+5, at.Y-1.6)
	case hangs:
		b.tag(at.X+5, at.Y-1.6)
	}
	if style == Mute && !root { // what lies between two points needs no name
		return
	}
	size := mimicID
	if root {
		size = 2.8
	}
	words := shorten(string(n.ID), face{size, style == Strong}, mimicX-0.6)
	b.text(Point{at.X, at.Y + 5.7}, size, Middle, style, words)
}

// pack sets pieces side by side in rows, in an order that leaves little room between them and in the width by which the
// whole comes nearest to the shape of its place.
func (d *Drawing) pack(pieces []block, widths []float64) {
	order := make([]int, len(pieces))
	widest := 0.0
	for i := range order {
		order[i], widest = i, max(widest, widths[i])
	}
	sort.SliceStable(order, func(i, j int) bool { return pieces[order[i]].height > pieces[order[j]].height })
	rows := func(most float64, put func(i int, x, y float64)) (w, h float64) {
		x, y, tall := 0.0, 0.0, 0.0
		for _, i := range order {
			if x > 0 && x+widths[i] > most {
				x, y, tall = 0, y+tall, 0
			}
			put(i, x, y)
			x += widths[i]
			w, tall = max(w, x), max(tall, pieces[i].height)
		}
		return w, y + tall
	}
	best, most := math.Inf(1), widest
	for try := widest; try <= 4*widest+200; try += 10 {
		w, h := rows(try, func(int, float64, float64) {})
		if size := max(w, h*mimicShape); size < best {
			best, most = size, try
		}
	}
	d.W, d.H = rows(most, func(i int, x, y float64) { d.Ops = append(d.Ops, shift(pieces[i].ops, x, y)...) })
	d.W, d.H = max(d.W, 1), max(d.H, 1)
}
