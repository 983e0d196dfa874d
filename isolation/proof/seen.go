package proof

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
)

// seen checks that every opening of the plan is proved: by the section that it alone drains, or that it vents, or by an
// answer of its own (before edition 5 one reading was taken for all drains of a section); and, until edition 4, that an
// entry asks for its permit: see kinds.
func (v *prover) seen() error {
	asked := func(id string) bool {
		return slices.ContainsFunc(v.plan.Stored, func(c isolation.StoredCheck) bool {
			return c.ID == id && c.Unit == "" &&
				c.Limit == 1 && c.Stored.IsSeen()
		})
	}
	for id, s := range v.opens {
		in := slices.ContainsFunc(v.plan.Sections, func(c isolation.Section) bool {
			return slices.Contains(c.Drains, id) && (len(c.Drains) < 2 || v.edition < 5) || slices.Contains(c.Vents, id)
		})
		if !in && !asked("dry-"+string(id)) {
			return fmt.Errorf("step %d opens %s, and nothing asks whether it ran dry", s.N, id)
		}
	}
	for _, s := range v.plan.Steps {
		if v.edition >= 3 && s.Isolates() && s.Kind == isolation.AutomaticValve && !asked("held-"+string(s.Point)) {
			return fmt.Errorf("step %d relies on %s, and nothing asks whether it is held shut", s.N, s.Point)
		}
	}
	if m := v.plant.Machine(v.job.Machine); m != nil && v.edition >= 3 {
		for _, s := range v.plan.Steps {
			if s.Isolates() && slices.Contains(m.ShutAtRest, s.Point) && !v.waitsForRest(&s, m) {
				return fmt.Errorf("step %d shuts %s, and nothing asks first whether %s stands still", s.N, s.Point, m.Name)
			}
		}
	}
	if v.edition < 5 && v.job.Exposure == isolation.Enter && !asked("entry") {
		return fmt.Errorf("people go in, and nothing asks for the entry permit")
	}
	return nil
}

// waitsForRest reports whether a step waits for a reading of everything that turns in a machine.
func (v *prover) waitsForRest(s *isolation.Step, m *isolation.Machine) bool {
	turning := 0
	for _, t := range m.Stored {
		if t.Kind == "rotation" {
			turning++
		}
	}
	for _, c := range v.plan.Stored {
		if c.Machine == m.ID && c.Stored.Kind == "rotation" && slices.Contains(s.First, c.ID) {
			turning--
		}
	}
	return turning <= 0
}
