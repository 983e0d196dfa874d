package planner

import (
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/graph"
)

// sayFirst puts to each step what must be read before it: what moves, and what is held by a spring or a restraint,
// before a drain or vent at its machine is opened; every stored energy before a joint is broken there. An opening is
// what lets pressure out, and oil is drained hot, so those two wait for no reading of their own. (29 CFR
// 1910.147(d)(5), read: stored energy is relieved, disconnected or restrained; which before which: own reasoning.)
func (k *task) sayFirst(plan *isolation.Plan, shut []bool) {
	at := map[string][]bool{}
	for _, m := range k.Opened() {
		at[m.ID] = graph.Flood(k.Out, k.Numbers(m.Nodes), func(i int32) bool { return shut[i] })
	}
	for i := range plan.Steps {
		s := &plan.Steps[i]
		if s.Phase != isolation.PhaseDrain && s.Phase != isolation.PhaseBlank {
			continue
		}
		for _, c := range plan.Stored {
			moves := slices.Contains([]string{"rotation", "spring", "weight"}, c.Stored.Kind)
			if reach := at[c.Machine]; reach == nil || !reach[k.Number(s.Point)] ||
				s.Phase == isolation.PhaseDrain && !moves {
				continue
			}
			s.First = append(s.First, c.ID)
			s.Why += " " + firstWords(c)
		}
	}
}

// firstWords is the order that stands before a step.
func firstWords(c isolation.StoredCheck) string {
	switch c.Stored.Kind {
	case "rotation":
		return "First see " + c.Name + " stand still."
	case "spring", "weight":
		return "First see " + c.Name + " restrained."
	}
	return "First read " + c.Name + ": " + c.Quantity + " within its limit."
}
