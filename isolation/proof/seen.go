package proof

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
)

// seen checks that every opening of the plan is proved: by a section that it drains or vents, or by an answer of its
// own; and that an entry asks for its permit.
func (v *prover) seen() error {
	asked := func(id string) bool {
		return slices.ContainsFunc(v.plan.Stored, func(c isolation.StoredCheck) bool {
			return c.ID == id && c.Unit == "" &&
				c.Limit == 1 && c.Stored.IsSeen()
		})
	}
	for id, s := range v.opens {
		in := slices.ContainsFunc(v.plan.Sections, func(c isolation.Section) bool {
			return slices.Contains(c.Drains, id) ||
				slices.Contains(c.Vents, id)
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
	if v.job.Exposure == isolation.Enter && !asked("entry") {
		return fmt.Errorf("people go in, and nothing asks for the entry permit")
	}
	return nil
}
