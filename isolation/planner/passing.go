package planner

import (
	"fmt"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/graph"
)

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
		more := 0
		reach := graph.Flood(k.In, k.Zone, stop)
		for _, w := range k.Sources {
			if reach[w.Node] && w.Node != back[0] {
				more++
			}
		}
		plan.Passes = append(plan.Passes, isolation.Pass{Point: k.At(p).ID, Source: k.At(back[0]).ID, Path: k.IDs(back),
			Words: k.passWords(p, back, more)})
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

func (k *task) passWords(p int32, way []int32, more int) string {
	source, work := k.At(way[0]), k.At(way[len(way)-1])
	s := fmt.Sprintf("If %s passed, %s from %s would reach %s", k.At(p).Label(), k.whatFrom(k.pressingBy(way)),
		source.Label(), work.Label())
	var via []string
	for _, i := range way[1 : len(way)-1] {
		if i != p {
			via = append(via, string(k.At(i).ID))
		}
	}
	if len(via) > 0 {
		s += " by way of " + strings.Join(via, ", ")
	}
	if more > 0 {
		s += "; " + isolation.Amount(
			more,
			"other source could follow by a longer way",
			"other sources could follow by longer ways",
		)
	}
	return s + "."
}
