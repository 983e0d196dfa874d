package diagram

import (
	"fmt"
	"sort"

	"stillwatch/isolation"
)

// The grid of a whole plant's drawing, in millimetres.
const (
	stepX    = 36.0
	stepY    = 14.0
	plantMax = 840.0 // width at which pieces go into the next row
)

// Plant draws the whole plant: every node with its id and name, every point in its normal position, every line, and
// what is a check valve or an automatic valve. Each source is drawn once in every piece that it feeds, because a
// tank or a board that joins everything would only make a knot. The drawing of a large plant is large.
func Plant(p *isolation.Plant) Drawing {
	if p == nil {
		return Drawing{Title: "No plant", W: columnW, H: 10}
	}
	g := newGraph(p)
	var pieces []block
	var widths []float64
	for _, piece := range g.pieces() {
		b, w := g.piece(p, piece)
		pieces, widths = append(pieces, b), append(widths, w)
	}
	order := make([]int, len(pieces))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return pieces[order[i]].height > pieces[order[j]].height })
	d := Drawing{Title: p.Title, Desc: summary(p)}
	b := board{}
	b.text(Point{4, 9}, 6, Left, Strong, shorten(p.Title, face{6, true}, plantMax-10))
	b.text(Point{4, 14}, nameSize, Left, Mute, d.Desc)
	x, y, rowH := 0.0, 18.0, 0.0
	right := textWidth(d.Desc, nameSize, false) + 8
	for _, i := range order {
		if x > 0 && x+widths[i] > plantMax {
			x, y, rowH = 0, y+rowH, 0
		}
		b.ops = append(b.ops, shift(pieces[i].ops, x, y)...)
		x += widths[i]
		rowH = max(rowH, pieces[i].height)
		right = max(right, x)
	}
	d.Ops, d.W, d.H = b.ops, max(right, columnW), y+rowH+2
	return d
}

func summary(p *isolation.Plant) string {
	points := 0
	for i := range p.Nodes {
		if p.Nodes[i].Kind.IsPoint() {
			points++
		}
	}
	return fmt.Sprintf("%d nodes, of which %d can be shut and locked or tagged; %d lines; %d machines; %d jobs. Points "+
		"are drawn in their normal positions.",
		len(p.Nodes), points, len(p.Links), len(p.Machines), len(p.Jobs))
}

// pieces lists the parts that stay joined when the sources are taken away; a source that touches nothing is a part of
// its own.
func (g *graph) pieces() [][]int {
	seen := make([]bool, len(g.nodes))
	var out [][]int
	for v := range g.nodes {
		source := g.nodes[v].Kind == isolation.Source
		if seen[v] || source && len(g.joined[v]) > 0 {
			continue
		}
		seen[v] = true
		queue := []int{v}
		for i := 0; i < len(queue); i++ {
			for _, w := range g.joined[queue[i]] {
				if !seen[w] && g.nodes[w].Kind != isolation.Source {
					seen[w] = true
					queue = append(queue, w)
				}
			}
		}
		sort.Ints(queue)
		out = append(out, queue)
	}
	return out
}

// part is one piece of a plant as a net, with the plant's node behind each of the net's.
type part struct {
	net
	nodes  []int
	oneWay []bool // per edge
}

// part takes the links that touch some nodes, and the sources at their other ends as roots.
func (g *graph) part(p *isolation.Plant, nodes []int) part {
	return g.cutOut(p, nodes, func(v int) bool { return g.nodes[v].Kind == isolation.Source })
}

// cutOut takes the links that touch some nodes. What feeds them, and is at the other end of one, becomes a root.
func (g *graph) cutOut(p *isolation.Plant, nodes []int, feeds func(int) bool) part {
	m := part{nodes: append([]int(nil), nodes...)}
	local := make(map[int]int, len(nodes))
	for i, v := range nodes {
		local[v] = i
	}
	belongs := func(v int) bool {
		_, ok := local[v]
		return ok && !feeds(v)
	}
	for i := range p.Links {
		a, okA := g.at[p.Links[i].A]
		b, okB := g.at[p.Links[i].B]
		if !okA || !okB || a == b || !(belongs(a) || belongs(b)) {
			continue
		}
		var ends [2]int
		for k, v := range [2]int{a, b} {
			j, ok := local[v]
			if !ok {
				j = len(m.nodes)
				local[v] = j
				m.nodes = append(m.nodes, v)
				m.roots = append(m.roots, j)
			}
			ends[k] = j
		}
		m.edges = append(m.edges, ends)
		m.oneWay = append(m.oneWay, p.Links[i].OneWay || p.Links[i].AirGap)
	}
	m.n = len(m.nodes)
	return m
}

// piece draws one part with the sources that feed it, and returns its width.
func (g *graph) piece(p *isolation.Plant, nodes []int) (block, float64) {
	m := g.part(p, nodes)
	l := m.layout()
	b := board{s: &scene{graph: g}}
	for e, ends := range m.edges {
		style := Safe
		if g.nodes[m.nodes[ends[0]]].Kind == isolation.Source || g.nodes[m.nodes[ends[1]]].Kind == isolation.Source {
			style = Live
		}
		b.edge(l.course(ends, e), style, m.oneWay[e])
	}
	for i, v := range m.nodes {
		b.node(&g.nodes[v], onGrid(float64(l.layer[i]), l.row[i]))
	}
	return block{b.ops, l.rows*stepY + 6}, float64(l.layers)*stepX + 4
}

func onGrid(layer, row float64) Point { return Point{stepX/2 + layer*stepX, 6 + row*stepY} }

// course lists where an edge begins, bends and ends, on the grid.
func (l *laid) course(ends [2]int, e int) []Point {
	pts := []Point{onGrid(float64(l.layer[ends[0]]), l.row[ends[0]])}
	for _, p := range l.bends[e] {
		pts = append(pts, onGrid(p.X, p.Y))
	}
	return append(pts, onGrid(float64(l.layer[ends[1]]), l.row[ends[1]]))
}

// edge draws one link along its course: level where it leaves and passes a layer, straight between layers. A one-way
// link has a small arrow at its end.
func (b *board) edge(course []Point, style Style, oneWay bool) {
	const stub = 12.5 // beyond the widest label, so that slanting lines keep off the words
	b.add(Polyline{bent(course, stub), style})
	if oneWay {
		dir, end := 1.0, course[len(course)-1]
		if course[0].X > end.X {
			dir = -1
		}
		x, y := end.X-half*dir, end.Y
		b.poly(Solid, x, y, x-2*dir, y-1, x-2*dir, y+1)
	}
}

// bent returns a course that is level for a stub on both sides of each of its places.
func bent(course []Point, stub float64) []Point {
	last := len(course) - 1
	if course[0].X > course[last].X {
		stub = -stub
	}
	pts := []Point{course[0]}
	for i, p := range course {
		if i > 0 {
			pts = append(pts, Point{p.X - stub, p.Y})
		}
		if i < last {
			pts = append(pts, Point{p.X + stub, p.Y})
		}
	}
	return append(pts, course[last])
}

// node draws a node with its id and name.
func (b *board) node(n *isolation.Node, at Point) {
	b.symbol(n.Kind, restsAt(n), at.X, at.Y)
	const width = 24.0
	b.text(Point{at.X, at.Y + 5}, 2.4, Middle, Strong, shorten(string(n.ID), face{2.4, true}, width))
	y := at.Y + 7.1
	for _, line := range wrap(n.Name, face{1.7, false}, width, 2) {
		b.text(Point{at.X, y}, 1.7, Middle, Words, line)
		y += 2
	}
}

// restsAt returns the position in which a node stands when nothing holds it.
func restsAt(n *isolation.Node) isolation.Position {
	pos := n.Normal
	if pos == "" && (n.Kind.IsMoved()) {
		pos = n.Kind.Passing()
		if n.Kind == isolation.Opening {
			pos = isolation.Closed
		}
	}
	return pos
}
