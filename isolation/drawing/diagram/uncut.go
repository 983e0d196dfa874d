package diagram

import (
	"fmt"

	"stillwatch/isolation"
)

// uncut draws the path from a source to the work that cannot be cut as demanded, from the top down.
func uncut(p *isolation.Plant, plan *isolation.Plan) Drawing {
	g := newGraph(p)
	b := board{s: &scene{graph: g, plan: plan}}
	d := Drawing{Title: "Cannot be isolated: " + heading(plan)}
	b.y = 2
	const x = 12.0
	prev := 0.0
	for i, id := range plan.Uncut {
		n := isolation.Node{ID: id, Kind: isolation.Junction}
		if v, ok := g.at[id]; ok {
			n = g.nodes[v]
		}
		y := b.y + 6
		if i > 0 {
			b.line(x, prev, x, y-2.6, Alarm)
		}
		prev = y + 2.6
		what := uncutWords(&n, i == 0, i == len(plan.Uncut)-1)
		d.Desc += fmt.Sprintf("%s: %s. ", n.Label(), what)
		if i == len(plan.Uncut)-1 {
			b.rect(x-3.4, y-2.6, 6.8, 5.2, Work)
		} else {
			b.symbol(n.Kind, n.Kind.Isolating(), x, y)
		}
		ly := y
		for _, l := range wrap(n.Label(), strong, columnW-x-10, 3) {
			b.text(Point{x + 7, ly}, idSize, Left, Strong, l)
			ly += lineH + 0.2
		}
		b.y = b.lines(Point{x + 7, ly}, columnW-x-10, 4, Mute, what) - 1
	}
	blocks := []block{{b.ops, b.y + 3}}
	if plan.Words != "" {
		w := board{}
		end := w.lines(Point{flagX, 4}, columnW-2*flagX, 8, Words, plan.Words)
		blocks = append([]block{{w.ops, end}}, blocks...)
	}
	d.lay(d.Title, blocks, 1)
	return d
}

// uncutWords says why a node on the path does not help.
func uncutWords(n *isolation.Node, first, last bool) string {
	switch {
	case first:
		return "brings " + string(n.Energy)
	case last:
		return "opened"
	case n.Kind == isolation.CheckValve:
		return "a non-return valve does not isolate"
	case n.Kind == isolation.AutomaticValve:
		return "an automatic valve does not isolate while its air or power is on"
	case n.Kind.IsPoint() && !n.Lockable && n.Measure == "":
		return "takes no lock, and no further measure is given: does not count"
	case n.Kind.IsPoint():
		return "can be " + n.Kind.Word(n.Kind.Isolating()) +
			", but that is not enough for what the rules demand here"
	}
	return "nothing to close here"
}
