package planner

import (
	"fmt"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/graph"
)

// sayLost finds every consumer outside the work that loses a supply which it has in the plant's normal line-up: joined
// to a source before, and no longer once the plan's points are shut. Points, openings and automatic valves that are
// normally shut supply nothing, a supply does not go on through another source, and a check valve and a one-way link
// supply one way only. A machine that is not worked on and loses a supply otherwise, at a vessel or junction, is named
// once, by the first of its nodes that does; so is a standby that loses what it needs once it is lined up.
func (k *task) sayLost(plan *isolation.Plan, shut []bool) {
	lost, named := map[int32]bool{}, map[string]bool{}
	instead := k.fedInstead(plan, shut)
	take := func(s supply) {
		if k.isKept(s.consumer) || instead[s.consumer] {
			return // it is kept off on purpose, or lives on the standby meanwhile
		}
		l := k.loss(s.consumer, k.At(s.source).ID)
		lost[s.consumer], named[l.Machine] = true, true
		plan.Losses = append(plan.Losses, l)
	}
	all := k.lostWith(shut)
	for _, s := range all {
		if k.At(s.consumer).Kind == isolation.Consumer {
			take(s)
		}
	}
	for _, s := range append(all, k.standbyLost(shut)...) {
		if m := k.machineOf(k.At(s.consumer).ID); m != nil && !lost[s.consumer] && !named[m.ID] {
			take(s)
		}
	}
	for c := range k.Plant.Nodes {
		if lost[int32(c)] {
			plan.Lost = append(plan.Lost, k.Plant.Nodes[c].ID)
		}
	}
}

// fedInstead marks the consumers that the standbys feed while a plan is on, once they are lined up as the plan asks.
func (k *task) fedInstead(plan *isolation.Plan, shut []bool) []bool {
	out := make([]bool, len(k.Plant.Nodes))
	if len(k.standIns()) == 0 {
		return out
	}
	lined := k.linedUp()
	for _, s := range k.suppliesIn(shut, func(i int32) bool { return lined[i] },
		func(c int32, e isolation.Energy) bool { return k.uses(k.At(c), e) }) {
		out[s.consumer] = true
	}
	return out
}

// lostLabel names what loses a supply: a consumer by its name, a machine by its own and that of the part.
func (k *task) lostLabel(id isolation.NodeID) string {
	n := k.Plant.Node(id)
	if m := k.machineOf(id); m != nil && n.Kind != isolation.Consumer {
		return m.Name + ", at " + n.Label()
	}
	return n.Label()
}

func (k *task) loss(c int32, source isolation.NodeID) isolation.Loss {
	n := k.At(c)
	l := isolation.Loss{ID: n.ID, Name: n.Name, Source: source}
	if m := k.machineOf(n.ID); m != nil {
		l.Machine = m.ID
	}
	return l
}

// machineOf returns the machine that a node belongs to, or nil.
func (k *task) machineOf(id isolation.NodeID) *isolation.Machine {
	for i := range k.Plant.Machines {
		for _, n := range k.Plant.Machines[i].Nodes {
			if n == id {
				return &k.Plant.Machines[i]
			}
		}
	}
	return nil
}

// normallyShut reports whether node i lets nothing through in the normal line-up. An opening is shut unless the file
// says otherwise.
func (k *task) normallyShut(i int32) bool {
	if k.normally == nil {
		k.normally = make([]bool, len(k.Plant.Nodes))
		for i := range k.normally {
			switch n := &k.Plant.Nodes[i]; {
			case n.Kind == isolation.Opening:
				k.normally[i] = n.Normal != isolation.Open
			case n.Kind == isolation.AutomaticValve:
				k.normally[i] = n.Normal == isolation.Closed
			case n.Kind.IsPoint():
				k.normally[i] = n.Normal == n.Kind.Isolating()
			}
		}
	}
	return k.normally[i]
}

// uses reports whether a node is a consumer of an energy: one whose energy the file leaves out uses all that it gets.
func (k *task) uses(n *isolation.Node, e isolation.Energy) bool {
	return n.Kind == isolation.Consumer && (n.Energy == "" || e.IsUnder(n.Energy) || n.Energy.IsUnder(e))
}

// feedsOf returns feeds, made once for each nature.
func (k *task) feedsOf(nature isolation.Nature) [][]int32 {
	if k.feed == nil {
		k.feed = map[isolation.Nature][][]int32{}
	}
	if k.feed[nature] == nil {
		k.feed[nature] = k.feeds(nature)
	}
	return k.feed[nature]
}

// feeds returns where a supply of one nature can go next from each node. Current is not fed through a pipe that has a
// bore, nor flow through an electrical point, although isolation counts such ways: a motor is joined to its pump, but
// the board does not feed what stands behind the pump. A check valve and a pump feed from the links that the file
// writes towards it to those that it writes away from it; where the file writes all of them one way, the direction is
// not known and both are taken.
func (k *task) feeds(nature isolation.Nature) [][]int32 {
	next := make([][]int32, len(k.Plant.Nodes))
	into, away := make([]bool, len(next)), make([]bool, len(next))
	for _, e := range k.Ends {
		if a, b := e[0], e[1]; a >= 0 && b >= 0 {
			away[a], into[b] = true, true
		}
	}
	directed := func(i int32) bool {
		return (k.At(i).Kind == isolation.CheckValve || k.At(i).LiftsBar > 0) && into[i] && away[i]
	}
	for i, l := range k.Plant.Links {
		a, b := k.Ends[i][0], k.Ends[i][1]
		if a < 0 || b < 0 || nature == isolation.Current && l.BoreMM > 0 || flows(nature) &&
			(k.At(a).Kind.IsElectrical() || k.At(b).Kind.IsElectrical()) {
			continue
		}
		next[a] = append(next[a], b)
		if !l.OneWay && !l.AirGap && !directed(a) && !directed(b) {
			next[b] = append(next[b], a)
		}
	}
	return next
}

func flows(n isolation.Nature) bool { return n == isolation.Liquid || n == isolation.Gas }

// sayPasses finds, for each chosen point, what would reach the work if that one point passed and all others held: the
// source with the shortest way, that way, and in words how many other sources could follow. A point behind which
// another stands lets nothing through, and is not listed. O(points · (nodes + links)).
func (k *task) sayPasses(plan *isolation.Plan, points []int32) {
	isSource := make([]bool, len(k.Plant.Nodes))
	for _, w := range k.Sources {
		isSource[w.Node] = true
	}
	for _, p := range points {
		others := k.Marks(points)
		others[p] = false
		stop := func(i int32) bool { return others[i] }
		back := graph.WayTo(k.In, k.Zone, func(i int32) bool { return isSource[i] }, stop)
		if back == nil {
			back = k.wayToKept(stop)
		}
		if back == nil {
			continue
		}
		slices.Reverse(back)
		var follow []int32
		reach := graph.Flood(k.In, k.Zone, stop)
		for _, w := range k.Sources {
			if reach[w.Node] && w.Node != back[0] {
				follow = append(follow, w.Node)
			}
		}
		plan.Passes = append(plan.Passes, isolation.Pass{Point: k.At(p).ID, Source: k.At(back[0]).ID, Path: k.IDs(back),
			Words: k.passWords(p, back, follow)})
	}
}

// wayToKept returns a way from something that is kept off back to one of its sources; nil where there is none.
func (k *task) wayToKept(stop func(int32) bool) []int32 {
	for _, h := range k.Keeps {
		way := graph.WayTo(k.In, []int32{h.Node}, func(i int32) bool { return slices.Contains(h.From, i) }, stop)
		if way != nil {
			return way
		}
	}
	return nil
}

// passWords puts a way into words, with how many other sources could follow. The pressure is that along the way; what
// the point bears at most, by any way, is said beside it.
func (k *task) passWords(p int32, way, more []int32) string {
	source, work := k.At(way[0]), k.At(way[len(way)-1])
	presses := k.pressingBy(way, p)
	s := fmt.Sprintf("If %s passed, %s from %s would reach %s", k.At(p).Label(), k.whatFrom(presses), source.Label(),
		work.Label())
	var via []string
	for _, i := range way[1 : len(way)-1] {
		if i != p {
			via = append(via, string(k.At(i).ID))
		}
	}
	if len(via) > 0 {
		s += " by way of " + strings.Join(via, ", ")
	}
	most := k.atMost(p, append(slices.Clone(more), way[0]), presses.GaugeBar)
	switch {
	case len(more) > 0:
		s += "; " + isolation.Amount(len(more), "other source could follow by a longer way",
			"other sources could follow by longer ways") + most
	case most != "":
		s += "; by another way it would come" + most[1:]
	}
	return s + "."
}
