package envelope

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/graph"
)

// A drain behind a cock that stands shut drains nothing, and shows nothing by being dry. So what is normally shut on
// the way from a part to the opening that lets it out is opened and tagged too (own reasoning, after 29 CFR
// 1910.147(d)(5): stored energy is relieved, not hoped to be).

// standsShut reports whether node i lets nothing through although the plan does not shut it. What holds up for good,
// see isolation.Node.HoldsUp, is no way out in the graph either.
func (k *Work) standsShut(i int32, shut []bool) bool {
	n := k.At(i)
	return !shut[i] && (n.HoldsUp() || n.Kind.IsPoint() && n.Normal == n.Kind.Isolating())
}

// openCocks opens what stands shut between a part that is to be let out and the openings of the plan, and between each
// opening and what it serves, as little of it as can be. Nothing that a source can come to is opened, and no joint is
// broken for it.
func (k *Work) openCocks(d *DrawOff, shut, live []bool) {
	c := &cocks{Work: k, d: d, shut: shut, early: k.Early(shut), live: live, opened: make([]bool, len(k.Plant.Nodes))}
	for _, from := range k.letOutOf(d, shut) {
		c.open(c.easiest(k.Runs, from, d.Has))
	}
	for _, o := range d.Open { // a vent serves the same part as a drain and lets nothing out
		way := c.easiest(k.In, o.Node, func(i int32) bool { return k.InZone[i] || c.early[i] })
		slices.Reverse(way)
		c.open(way)
	}
}

// cocks looks for what must be opened on the way to the openings.
type cocks struct {
	*Work
	d                         *DrawOff
	shut, early, live, opened []bool
}

// open opens every cock on a way that leads to an opening.
func (c *cocks) open(way []int32) {
	for n, i := range way {
		if n == 0 || !c.standsShut(i, c.shut) || c.opened[i] || c.InZone[i] {
			continue
		}
		c.opened[i] = true
		c.d.Cocks = append(c.d.Cocks, Opened{Node: i, Why: fmt.Sprintf("Stands shut between %s and %s: opened so that "+
			"nothing is seen dry through a shut cock.", c.At(way[0]).Label(), c.At(way[len(way)-1]).Label())})
	}
}

// cost returns what it costs to pass a node: 1 for a cock that has to be opened for it; false for what cannot be
// passed.
func (c *cocks) cost(i int32) (int, bool) {
	switch n := c.At(i); {
	case !c.standsShut(i, c.shut) || c.opened[i] || c.InZone[i]:
		return 0, true
	default:
		return 1, n.Kind.IsPoint() && !n.HoldsUp() && !c.live[i]
	}
}

// letOutOf lists the nodes that the openings are for: all that is still joined to the work, what stands between two
// points of a double, and the joints that are broken.
func (k *Work) letOutOf(d *DrawOff, shut []bool) []int32 {
	is := k.envelope(k.Early(shut))
	leads := k.beforePoint(shut)
	for _, w := range k.Sources {
		if w.Rule.Demand == isolation.DemandSingle || !k.At(w.Node).Energy.Flows() {
			continue
		}
		for i, between := range k.Between(w, shut) {
			is[i] = is[i] || between && leads[i]
		}
	}
	var out []int32
	for i := range is {
		n := k.At(int32(i))
		if (is[i] || shut[i] && n.BreaksJoint()) && n.Kind != isolation.Opening && !n.Kind.IsElectrical() {
			out = append(out, int32(i))
		}
	}
	return out
}

// easiest returns a way along next from a node to one that ends, on which least has to be opened and no point of the
// plan is crossed; nil where there is none. A 0-1 breadth-first search.
func (c *cocks) easiest(next [][]int32, from int32, ends func(int32) bool) []int32 {
	best, came := make([]int, len(next)), make([]int32, len(next))
	for i := range best {
		best[i], came[i] = len(next), -1
	}
	best[from] = 0
	front, back := []int32{from}, []int32(nil)
	for len(front)+len(back) > 0 {
		if len(front) == 0 {
			front, back = back, nil
		}
		at := front[len(front)-1]
		front = front[:len(front)-1]
		if at != from && ends(at) {
			return graph.TraceBack(came, at)
		}
		if at != from && c.early[at] {
			continue
		}
		for _, to := range next[at] {
			cost, ok := c.cost(to)
			if cost += best[at]; !ok || best[to] <= cost {
				continue
			}
			best[to], came[to] = cost, at
			if cost == best[at] {
				front = append(front, to)
			} else {
				back = append(back, to)
			}
		}
	}
	return nil
}

// RunsOut reports whether what stands at a node can run to an opening of the plan through what stands open: past no
// point that the plan shuts and no cock that stands shut.
func (k *Work) RunsOut(i int32, shut []bool, d DrawOff) bool {
	early := k.Early(shut)
	reach := graph.Flood(k.Runs, []int32{i}, func(j int32) bool {
		return early[j] || !k.InZone[j] && k.standsShut(j, shut) &&
			!slices.ContainsFunc(d.Cocks, func(o Opened) bool { return o.Node == j })
	})
	return slices.ContainsFunc(d.Open, func(o Opened) bool { return reach[o.Node] })
}
