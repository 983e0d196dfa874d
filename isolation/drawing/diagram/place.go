package diagram

import (
	"fmt"

	"stillwatch/isolation"
)

// Where things stand across a column, in millimetres. A column is as wide as a phone shows legibly: at 390 px its
// smallest type is about 10 px high.
const (
	columnW  = 98.0
	flagX    = 1.5
	outerX   = 15.0
	legX     = 25.0 // bar of a leg between two points
	innerX   = 39.0
	zoneX    = 49.5 // left edge of the shading
	barX     = 54.5
	openingX = 61.0
	openingL = 66.3 // labels of openings
	spineX   = 94.0
	spineGap = 3.2

	idSize   = 3.2
	nameSize = 2.8
	lineH    = 3.5
)

// board places one group or list; y is the lower edge of what has been drawn so far.
type board struct {
	pen
	s      *scene
	y      float64
	spines []spine // of the group being drawn, by hub
}

// spine is the heavy line below the box of what is opened, as far down as its last room.
type spine struct{ x, from, to float64 }

func (b *board) text(at Point, size float64, a Anchor, st Style, words string) {
	b.add(Text{X: at.X, Y: at.Y, Size: size, Words: words, Anchor: a, Style: st})
}

// lines sets words in at most limit lines no wider than width, from at downward, and returns the base line after the
// last.
func (b *board) lines(at Point, width float64, limit int, st Style, words string) float64 {
	for _, l := range wrap(words, plain, width, limit) {
		b.text(at, nameSize, Left, st, l)
		at.Y += lineH
	}
	return at.Y
}

// label writes the number, id and position of a step at x on the base line y, within width, with its lock or tag, and
// its name below. It returns the base line after the last.
func (b *board) label(st *isolation.Step, x, y, width float64) float64 {
	b.badge(fmt.Sprint(st.N), x+1.9, y-1)
	id, word := string(st.Point), st.Kind.Word(st.Position)
	x, width = x+4.6, width-4.6
	idW, wordW := strong.width(id), strong.width(word)
	const mark = 4.2
	if idW+1.5+wordW+mark <= width {
		b.text(Point{x, y}, idSize, Left, Strong, id)
		b.text(Point{x + idW + 1.5, y}, idSize, Left, Strong, word)
		b.mark(st, x+idW+1.5+wordW+2.2, y-0.6)
		y += lineH + 0.2
	} else {
		y = b.narrowLabel(st, x, y, width)
	}
	return b.lines(Point{x - 4.6 + 0.4, y}, width+4.2, 4, Words, st.Name)
}

// narrowLabel writes the id on one line and the position below it; the mark stands behind the position if there is room
// there, else behind the id. What is too wide is set smaller, an id that would become illegible is broken.
func (b *board) narrowLabel(st *isolation.Step, x, y, width float64) float64 {
	const mark = 4.2
	word := st.Kind.Word(st.Position)
	below := strong.width(word)+mark <= width+4.2
	room := width
	if !below {
		room -= mark
	}
	f := strong
	if w := f.width(string(st.Point)); w > room {
		f.size = max(2.3, f.size*room/w*0.999)
	}
	parts := split(string(st.Point), f, room)
	for i, l := range parts {
		b.text(Point{x, y}, f.size, Left, Strong, l)
		if i == len(parts)-1 && !below {
			b.mark(st, x+f.width(l)+2, y-0.6)
		}
		y += lineH + 0.2
	}
	size := idSize * min(1, (width+4.2)/strong.width(word))
	b.text(Point{x - 4.2, y}, size, Left, Strong, word)
	if below {
		b.mark(st, x-4.2+strong.width(word)+2.2, y-0.6)
	}
	return y + lineH + 0.2
}

// mark draws a lock or, where none can go on, a tag.
func (b *board) mark(st *isolation.Step, x, y float64) {
	if st.Lock {
		b.padlock(x, y)
		return
	}
	b.tag(x, y)
}

// row draws an entry without a leg and gives where its line leaves it. The line comes from the source's flag on the
// left; what is said of it stands above, what is said of the point below.
func (b *board) row(e entry) float64 {
	y := b.lines(Point{flagX, b.y + lineH}, zoneX-flagX-2, 5, Mute, b.s.origin(e.from)) - lineH + 4.8
	style, x := Live, innerX
	if len(e.from) == 0 {
		style = Safe
	} else {
		b.flag(flagX, y)
	}
	if e.point < 0 {
		b.line(flagX+4.4, y, barX, y, Alarm)
		b.y = b.lines(Point{flagX, y + 5}, zoneX-flagX-2, 2, Strong, "NOT CUT OFF")
		return y
	}
	b.line(flagX+4.4, y, x-half, y, style)
	b.point(e.point, x, y)
	b.line(x+half, y, barX, y, Safe)
	b.y = b.label(b.s.step[e.point], flagX, y+6, zoneX-flagX-1) - 1
	return y
}

// point draws a plan's point in the position in which it is held.
func (b *board) point(v int, x, y float64) {
	st := b.s.step[v]
	b.symbol(st.Kind, st.Position, x, y)
}

// series draws an entry with a leg: the outer points and the leg's openings one below the other, then the inner point.
func (b *board) series(e entry) float64 {
	top, first, last := b.y, 0.0, 0.0
	for i, o := range e.leg.outers {
		y := b.lines(Point{flagX, b.y + lineH}, zoneX-flagX-2, 5, Mute, b.s.origin(o.from)) - lineH + 4.8
		if len(o.from) > 0 {
			b.flag(flagX, y)
		}
		b.line(flagX+4.4, y, outerX-half, y, Live)
		b.point(o.point, outerX, y)
		b.line(outerX+half, y, legX, y, Safe)
		b.y = b.label(b.s.step[o.point], flagX, y+6, legX-flagX-1.5)
		if i == 0 {
			first = y
		}
		last = y
	}
	for _, v := range e.leg.openings {
		y := b.y + 3
		b.point(v, outerX, y)
		b.line(outerX+half, y, legX, y, Safe)
		b.mouth(v, outerX-half, y, -1)
		b.y = b.label(b.s.step[v], flagX, y+5.4, legX-flagX-1.5)
		if first == 0 {
			first = y
		}
		last = y
	}
	b.line(legX, first, legX, last, Safe)
	b.line(legX, first, innerX-half, first, Safe)
	b.point(e.point, innerX, first)
	b.line(innerX+half, first, barX, first, Safe)
	lower := b.label(b.s.step[e.point], legX+2.5, first+6, zoneX-legX-3.5)
	b.y = max(b.y, lower, top) - 1
	return first
}

// mouth draws the open end of a drain (down) or vent (up) at x, with the line leaving to the side dir (-1 or 1).
func (b *board) mouth(v int, x, y, dir float64) {
	tip := y + 2.4
	if b.s.nodes[v].Role == "vent" {
		tip = y - 2.4
	}
	lean := 0.7
	if tip < y {
		lean = -0.7
	}
	b.path(Ink, x, y, x+1.2*dir, y, x+1.2*dir, tip)
	b.path(Ink, x+1.2*dir-0.7, tip-lean, x+1.2*dir, tip, x+1.2*dir+0.7, tip-lean)
}

// room draws the entries of a room on the left, its bar, its openings and devices on the right, and its line to what
// is opened.
func (b *board) room(r room) {
	top := b.y
	var ys []float64
	for _, e := range r.entries {
		if e.leg != nil {
			ys = append(ys, b.series(e))
		} else {
			ys = append(ys, b.row(e))
		}
		b.y += 1.5
	}
	if len(ys) == 0 {
		ys = []float64{top + 2}
	}
	low := b.right(r, top, ys[0])
	if bottom := max(ys[len(ys)-1], low); len(r.nodes) > 0 && bottom > ys[0] {
		b.line(barX, ys[0], barX, bottom, Safe)
	}
	b.toHubs(r, ys[0])
	b.y = max(b.y, low+4) + 1.5
}

// toHubs draws the line from a room to the spines of what it leads to.
func (b *board) toHubs(r room, y float64) {
	start, end := barX, barX
	if len(r.nodes)+len(r.entries) == 0 && len(r.hubs) > 0 {
		start = b.spines[r.hubs[len(r.hubs)-1]].x
	}
	for _, h := range r.hubs {
		sp := &b.spines[h]
		sp.to = max(sp.to, y)
		end = max(end, sp.x)
		b.add(Circle{sp.x, y, 0.8, Solid})
	}
	if end > start {
		b.line(start, y, end, y, Safe)
	}
}

// right draws what stands to the right of a room's bar, below the line to what is opened, and returns the level of the
// lowest stub.
func (b *board) right(r room, top, y float64) float64 {
	width := spineX - 3*spineGap - openingL + 4
	var ids string
	for i, v := range r.opened {
		if i > 0 {
			ids += ", "
		}
		ids += string(b.s.nodes[v].ID)
	}
	if ids != "" {
		lines := wrap("opened: "+ids, plain, spineX-barX-6, 4)
		ly := y - 1.5 - lineH*float64(len(lines)-1)
		if ly < top+2 {
			ly = y + 4
		}
		for _, l := range lines {
			b.text(Point{barX + 2, ly}, nameSize, Left, Words, l)
			ly += lineH
		}
		if ly > y+4 {
			y = ly - 4
		}
	}
	low := y
	next := y + 7
	for _, v := range r.openings {
		low = next
		b.line(barX, low, openingX-half, low, Safe)
		b.point(v, openingX, low)
		b.mouth(v, openingX+half, low, 1)
		end := b.label(b.s.step[v], openingL+1.2, low-0.4, width)
		next = max(low+7, end+1.5)
	}
	for _, v := range r.devices {
		low = next + 2
		n := &b.s.nodes[v]
		b.line(barX, low, openingX-half, low, Safe)
		b.symbol(n.Kind, "", openingX, low)
		end := b.lines(Point{openingL + 1.2, low}, width, 4, Mute,
			fmt.Sprintf("%s: %s, not relied on", n.ID, kindWord(n.Kind)))
		next = max(low+5, end+1)
	}
	b.y = max(b.y, next-4)
	return low
}

func kindWord(k isolation.Kind) string {
	if k == isolation.CheckValve {
		return "non-return valve"
	}
	return "automatic valve"
}
