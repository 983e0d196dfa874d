package proof

import (
	"fmt"
	"strings"

	"stillwatch/isolation"
)

// restored checks how the plant comes back: every step once, the last first; people told before the first energy; every
// earth off, and the earths counted, before anything electrical is closed; what is left as it was shut named again for
// the trial; the report at the end. And that no heat comes back before liquid flows: with everything as the steps leave
// it, nothing hot comes to a heater whose liquid this plan brings to stand.
func (v *prover) restored() error {
	next, told, counted, closed := len(v.plan.Steps), false, len(v.earths) == 0, false
	after := ""
	for _, r := range v.plan.Restore {
		if closed {
			return fmt.Errorf("it asks for %q after the report", r.Do)
		}
		told = told || r.Kind == isolation.RestoreTell
		closed = r.Kind == isolation.RestoreClose
		counted = counted || r.Kind == isolation.RestoreEarths
		if r.Step == 0 {
			after += r.Do + "\n"
			continue
		}
		after = ""
		if r.Step != next {
			return fmt.Errorf("step %d comes off where step %d should", r.Step, next)
		}
		next--
		switch s := &v.plan.Steps[r.Step-1]; {
		case s.Phase == isolation.PhaseIsolate && !told:
			return fmt.Errorf("step %d comes off, and nobody was told that energy comes back", s.N)
		case s.Phase == isolation.PhaseIsolate && s.Kind.IsElectrical() && !counted:
			return fmt.Errorf("step %d comes off before the earths were counted", s.N)
		}
	}
	if next != 0 || len(v.plan.Steps) > 0 && !closed {
		return fmt.Errorf("it does not say to the end how the plant comes back")
	}
	for i := range v.plan.Steps {
		s := &v.plan.Steps[i]
		if s.Isolates() && s.Phase != isolation.PhaseBlank && v.leftCold(s) && !strings.Contains(after, string(s.Point)) &&
			s.Clearance != v.plant.Node(s.Point).Normal {
			return fmt.Errorf("step %d is left %s, and nothing says when it goes back", s.N, s.Kind.Word(s.Clearance))
		}
	}
	return v.comesBackCold()
}

// comesBackCold checks that nothing hot comes back to a heater with the locks.
func (v *prover) comesBackCold() error {
	left := func(i int32) bool { return v.shut[i] != nil && v.shut[i].Clearance == v.shut[i].Position }
	for i := range v.plant.Nodes {
		heater := v.number(v.plant.Nodes[i].HeatedBy)
		if heater < 0 {
			continue
		}
		is := v.heats(&v.plant.Nodes[heater])
		// the way by which it heats in service, which no condensate line is, as its trap lets nothing back
		before, during := v.spread(v.drips, []int32{heater}, left), v.pressedBy(heater)
		for s := range v.plant.Nodes {
			n := &v.plant.Nodes[s]
			if n.Kind == isolation.Source && is(n) && before[s] && !during[s] && v.cutsHeatTo(n.ID, heater) {
				return fmt.Errorf("with the last lock off %s heats %s, and no liquid flows yet", n.ID, v.plant.Nodes[heater].ID)
			}
		}
	}
	return nil
}

// cutsHeatTo reports whether a step of the plan claims to keep a source from the heater: then it cut it on purpose, and
// not by the way.
func (v *prover) cutsHeatTo(source isolation.NodeID, heater int32) bool {
	for _, h := range v.kept {
		for _, s := range h.from {
			if h.node == heater && v.plant.Nodes[s].ID == source {
				return true
			}
		}
	}
	return v.work[heater]
}
