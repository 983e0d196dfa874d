package planner

import (
	"stillwatch/isolation"
	"stillwatch/isolation/graph"
)

// sayDeadTests lists the electrical parts of the work that must be proved dead: every node of the work, or of the
// isolated envelope next to it, that an electrical source of the plant would feed.
func (k *task) sayDeadTests(plan *isolation.Plan, shut []bool) {
	seen := map[int32]bool{}
	for _, w := range k.Sources {
		src := k.At(w.Node)
		if src.Energy.Nature() != isolation.Current {
			continue
		}
		for _, z := range k.Zone {
			if seen[z] || !k.fedByCable(z, w.Node) {
				continue
			}
			seen[z] = true
			n := k.At(z)
			name := n.Name
			if name == "" {
				name = string(n.ID)
			}
			plan.DeadTests = append(
				plan.DeadTests,
				isolation.DeadTest{ID: "dead-" + string(n.ID), Node: n.ID, Name: name, Volt: src.Volt},
			)
		}
	}
}

// fedByCable reports whether current from a source can come to node i through points and consumers alone, not through
// a pipe, a vessel or another part of the work.
func (k *task) fedByCable(i, source int32) bool {
	reach := graph.Flood(k.Out, []int32{source}, func(j int32) bool {
		kind := k.At(j).Kind
		return j != source && (k.InZone[j] || !kind.IsElectrical() && kind != isolation.Junction)
	})
	return reach[i]
}
