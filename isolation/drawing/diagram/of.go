package diagram

import (
	"fmt"
	"strings"

	"stillwatch/isolation"
)

// Of draws the part of the plant that matters for a plan in one column, narrow enough for a phone: every source with
// the points that keep it from the work, their positions, locks and step numbers, the isolated part shaded, and the
// openings that drain and prove it. Where the plan says that a demand cannot be met, the path that cannot be cut is
// drawn instead. A plan that does not fit the plant is drawn as far as it does; nothing panics.
func Of(p *isolation.Plant, plan *isolation.Plan) Drawing { return draw(p, plan, 1) }

// Sheet draws the same in two columns, for a page.
func Sheet(p *isolation.Plant, plan *isolation.Plan) Drawing { return draw(p, plan, 2) }

func draw(p *isolation.Plant, plan *isolation.Plan, columns int) Drawing {
	if p == nil || plan == nil {
		return Drawing{Title: "No plan", W: columnW, H: 10}
	}
	if len(plan.Uncut) > 0 {
		return uncut(p, plan)
	}
	s := newScene(p, plan)
	blocks := s.blocks()
	d := Drawing{Title: heading(plan), Desc: s.describe()}
	d.lay(d.Title, blocks, columns)
	return d
}

func heading(plan *isolation.Plan) string {
	machine := plan.MachineName
	if machine == "" {
		machine = plan.Machine
	}
	return strings.TrimSpace(strings.TrimSuffix(machine+": "+plan.Title, ": "))
}

// block is a finished piece of the drawing, to be put into a column.
type block struct {
	ops    []Op
	height float64
}

func (s *scene) blocks() []block {
	var out []block
	if len(s.stops) > 0 {
		out = append(out, s.list("Stopped first: controls put to off", s.stops))
	}
	for i := range s.groups {
		out = append(out, s.group(&s.groups[i])...)
	}
	if len(s.others) > 0 {
		out = append(out, s.list("Held as well", s.others))
	}
	return append(out, legend())
}

// list draws steps one below the other, without lines between them.
func (s *scene) list(title string, steps []*isolation.Step) block {
	b := board{s: s}
	b.text(Point{flagX, 4}, nameSize, Left, Mute, title)
	b.y = 5
	for _, st := range steps {
		y := b.y + 4
		b.line(flagX, y, flagX+9, y, Faint)
		b.symbol(st.Kind, st.Position, flagX+4.5, y)
		b.y = b.label(st, flagX+12, y-0.2, columnW-flagX-14) - 1
	}
	return block{b.ops, b.y + 2}
}

// group draws one isolated piece as one block.
func (s *scene) group(g *group) []block {
	b := board{s: s, y: 2}
	if single(g) {
		b.inline(g)
	} else {
		b.hubs(g)
		for _, r := range g.rooms {
			b.room(r)
		}
		for _, sp := range b.spines {
			b.line(sp.x, sp.from, sp.x, sp.to, Spine)
		}
	}
	height := b.y + 1.5
	zone := pen{}
	zone.zone(zoneX, 0.5, columnW-zoneX-0.5, height-1)
	return []block{{append(zone.ops, b.ops...), height + 2}}
}

// single says that a group is one opened thing behind one row, so that its box can stand in that row.
func single(g *group) bool {
	if len(g.hubs) != 1 || len(g.rooms) > 1 {
		return false
	}
	if len(g.rooms) == 0 {
		return true
	}
	r := g.rooms[0]
	return len(r.entries) <= 1 && len(r.openings)+len(r.devices)+len(r.opened) == 0
}

// inline draws a single group.
func (b *board) inline(g *group) {
	y := b.y + 8
	if len(g.rooms) == 0 {
		b.lines(Point{flagX, y - 1}, zoneX-flagX-3, 3, Mute, "No source of energy reaches this part.")
		b.y = y + 6
	} else if e := g.rooms[0].entries; len(e) == 1 && e[0].leg != nil {
		y = b.series(e[0])
	} else if len(e) == 1 {
		y = b.row(e[0])
	}
	lines := wrap(b.s.nodes[g.hubs[0]].Label(), plain, columnW-barX-8, 4)
	h := lineH*float64(len(lines)) + 2.4
	top := max(y-h/2, 2)
	b.rect(barX, top, columnW-barX-3, h, Work)
	b.lines(Point{barX + 2, top + 3.9}, columnW-barX-8, 4, Words, b.s.hubLabel(g.hubs[0]))
	b.y = max(b.y, top+h+1) + 1
}

// hubLabel is what the box of something opened, or kept off, says.
func (s *scene) hubLabel(v int) string {
	if s.kept[v] {
		return s.nodes[v].Label() + ": kept off, not opened"
	}
	return s.nodes[v].Label()
}

// hubs draws the boxes of what is opened and begins the spine below each. Things that are joined to one another
// without a pipe between are joined by a line across their spines.
func (b *board) hubs(g *group) {
	for i, h := range g.hubs {
		right := columnW - 2.5
		if i > 0 {
			right = b.spines[i-1].x - 1.6
		}
		width := max(right-barX+3, 12)
		lines := wrap(b.s.hubLabel(h), plain, width-4, 4)
		height := lineH*float64(len(lines)) + 2.4
		b.rect(barX-3, b.y, width, height, Work)
		b.lines(Point{barX - 1, b.y + 3.9}, width-4, 4, Words, b.s.hubLabel(h))
		b.y += height + 1.5
		x := max(spineX-spineGap*float64(i), barX)
		b.spines = append(b.spines, spine{x, b.y - 1.5, b.y})
	}
	at := map[int]int{}
	for i, h := range g.hubs {
		at[h] = i
	}
	for i, h := range g.hubs {
		for _, w := range b.s.near[h] {
			if j, ok := at[w]; ok && j > i {
				b.toHubs(room{hubs: []int{i, j}}, b.y)
				b.y += 1.5
			}
		}
	}
}

// zone shades the isolated part and hatches its edge.
func (d *pen) zone(x, y, w, h float64) {
	d.rect(x, y, w, h, Zone)
	const band, step = 1.6, 2.2
	for t := step; t < h; t += step {
		d.line(x, y+t, x+band, y+t-band, Hatch)
		d.line(x+w-band, y+t, x+w, y+t-band, Hatch)
	}
	for t := step; t < w-band; t += step {
		d.line(x+t, y+band, x+t+band, y, Hatch)
		d.line(x+t, y+h, x+t+band, y+h-band, Hatch)
	}
}

// legend says what the strokes mean.
func legend() block {
	b := board{}
	y := 4.0
	b.text(Point{flagX, y}, nameSize, Left, Mute, "Numbers: order of fitting. All come off in the reverse order.")
	y += 4.2
	b.line(flagX, y-1, flagX+8, y-1, Live)
	b.text(Point{flagX + 10, y}, nameSize, Left, Mute, "can bring energy")
	b.zone(zoneX-4, y-3, 8, 4)
	b.text(Point{zoneX + 6, y}, nameSize, Left, Mute, "isolated part")
	y += 4.6
	b.padlock(flagX+2, y-0.8)
	b.text(Point{flagX + 10, y}, nameSize, Left, Mute, "lock and tag")
	b.tag(zoneX, y-0.8)
	b.text(Point{zoneX + 6, y}, nameSize, Left, Mute, "tag, no lock")
	return block{b.ops, y + 2}
}

// lay puts the blocks under a heading, in one column or in columns of about equal height.
func (d *Drawing) lay(title string, blocks []block, columns int) {
	b := board{}
	width := columnW*float64(columns) + 6*float64(columns-1)
	y := 5.0
	for _, l := range wrap(title, face{3.8, true}, width-2*flagX, 3) {
		b.text(Point{flagX, y}, 3.8, Left, Strong, l)
		y += 4.8
	}
	top := y - 2
	total, tallest := 0.0, 0.0
	for _, bl := range blocks {
		total += bl.height
		tallest = max(tallest, bl.height)
	}
	limit := max(total/float64(columns), tallest)
	x, bottom := 0.0, top
	y = top
	for i, bl := range blocks {
		if i > 0 && x < columnW*float64(columns-1) && y-top+bl.height/2 > limit {
			x, y = x+columnW+6, top
		}
		b.ops = append(b.ops, shift(bl.ops, x, y)...)
		y += bl.height
		bottom = max(bottom, y)
	}
	d.Ops, d.W, d.H = b.ops, width, bottom+1
}

// describe says the drawing in sentences.
func (s *scene) describe() string {
	var out []string
	for i := range s.plan.Steps {
		st := &s.plan.Steps[i]
		mark := "tag"
		if st.Lock {
			mark = "lock and tag"
		}
		line := fmt.Sprintf("%d. %s (%s): %s, %s", st.N, st.Name, st.Point, st.Kind.Word(st.Position), mark)
		if len(st.Cuts) > 0 {
			ids := make([]string, len(st.Cuts))
			for j, id := range st.Cuts {
				ids[j] = string(id)
			}
			line += ", keeps off " + strings.Join(ids, ", ")
		}
		out = append(out, line+".")
	}
	for i := range s.plan.Opens {
		out = append(out, fmt.Sprintf("Opened: %s.", s.plan.Opens[i]))
	}
	for _, h := range s.plan.Kept {
		out = append(out, fmt.Sprintf("Kept off, not opened: %s.", h.ID))
	}
	return strings.Join(out, " ")
}
