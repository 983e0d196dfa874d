package isolation

import (
	"fmt"
	"strings"
)

// sayPasses finds, for each chosen point, what would reach the work if that one point passed and all others held, with
// the shortest way that it would take. A point behind which another stands lets nothing through, and is not listed.
// O(points · (nodes + links)).
func (k *task) sayPasses(plan *Plan, points []int32) {
	for _, p := range points {
		others := k.marks(points)
		others[p] = false
		for _, w := range k.sources {
			way := wayTo(k.out, []int32{w.node}, func(i int32) bool { return k.inZone[i] }, func(i int32) bool { return others[i] })
			if way == nil {
				continue
			}
			plan.Passes = append(plan.Passes, Pass{Point: k.at(p).ID, Source: k.at(w.node).ID, Path: k.ids(way), Words: k.passWords(p, way)})
		}
	}
}

func (k *task) passWords(p int32, way []int32) string {
	source, work := k.at(way[0]), k.at(way[len(way)-1])
	s := fmt.Sprintf("If %s passed, %s from %s would reach %s", k.at(p).Label(), k.whatFrom(source), source.Label(), work.Label())
	var via []string
	for _, i := range way[1 : len(way)-1] {
		if i != p {
			via = append(via, string(k.at(i).ID))
		}
	}
	if len(via) > 0 {
		s += " by way of " + strings.Join(via, ", ")
	}
	return s + "."
}

// whatFrom says what a source would bring, with the figures that make it dangerous.
func (k *task) whatFrom(n *Node) string {
	s := string(n.Energy)
	if s == "" {
		s = "energy"
	}
	if n.Fluid != "" {
		s += " (" + n.Fluid + ")"
	}
	switch {
	case n.Volt > 0:
		s += fmt.Sprintf(" at %g V", n.Volt)
	case n.GaugeBar > 0 && n.TempC > 0:
		s += fmt.Sprintf(" at %g bar and %g °C", n.GaugeBar, n.TempC)
	case n.GaugeBar > 0:
		s += fmt.Sprintf(" at %g bar", n.GaugeBar)
	}
	return s
}
