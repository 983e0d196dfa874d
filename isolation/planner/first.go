package planner

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/envelope"
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
		for _, c := range plan.Stored {
			if k.atRest(s) && c.Machine == k.Machine.ID && c.Stored.Kind == "rotation" {
				s.First = append(s.First, c.ID)
				s.Why += " " + firstWords(c)
			}
			if s.Phase != isolation.PhaseDrain && s.Phase != isolation.PhaseBlank {
				continue
			}
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

// atRest reports whether a step shuts what is shut only when the machine's rotor stands still.
func (k *task) atRest(s *isolation.Step) bool {
	return s.Isolates() && k.Machine != nil && slices.Contains(k.Machine.ShutAtRest, s.Point)
}

// firstWords is the order that stands before a step.
func firstWords(c isolation.StoredCheck) string {
	switch c.Stored.Kind {
	case "rotation":
		return "First see " + c.Name + " stand still."
	case "spring", "weight":
		return "First see " + c.Name + " restrained."
	}
	if c.Unit == "bar" {
		return fmt.Sprintf("First see the gauge of %s at 0 (at most %.2g bar), and nothing blow at an open vent.", c.Name,
			c.Limit)
	}
	return fmt.Sprintf("First read %s: %s at most %.4g %s.", c.Name, c.Quantity, c.Limit, c.Unit)
}

// A joint is broken for a blank or a spool only in a line that has been let down. So its step comes after the drains
// and vents, and until then the line is held by the valves alone: what counts for the drains is what is shut early.

// jointWhy says what must be open before the joint at a blank or spool is broken: the nearest, and rather one that
// stands not beyond the work.
func (k *task) jointWhy(i int32, d envelope.DrawOff, early []bool) string {
	way := graph.WayTo(k.Out, []int32{i}, d.Has, func(j int32) bool { return early[j] || k.InZone[j] })
	if way == nil {
		way = graph.WayTo(k.Out, []int32{i}, d.Has, func(j int32) bool { return early[j] })
	}
	if way == nil {
		return ""
	}
	return fmt.Sprintf(" Its joint is broken only when %s is open and blows and runs no more.",
		k.At(way[len(way)-1]).Label())
}
