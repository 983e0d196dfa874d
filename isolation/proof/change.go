package proof

import (
	"fmt"

	"stillwatch/isolation"
)

// hangs checks a plan that stands in place of another of the same permit: it begins with every step that hangs, in the
// order and the position in which it hangs, and shuts every point that was asked for. A first plan has none of this.
func (v *prover) hangs() error {
	hang := v.facts.Hang
	change := v.plan.Change
	if change == nil {
		if len(hang) > 0 {
			return fmt.Errorf("%d locks and tags hang, and it begins as if none did", len(hang))
		}
		return nil
	}
	if change.Number < 2 || change.Hang != len(hang) || len(v.plan.Steps) < len(hang) {
		return fmt.Errorf("it goes by %d locks and tags that hang, and %d do", change.Hang, len(hang))
	}
	for i, h := range hang {
		s := &v.plan.Steps[i]
		if s.Point != h.Point || s.Position != h.Position || s.Phase != h.Phase || s.Lock != h.Lock {
			return fmt.Errorf("step %d is to have %s %s, and there hangs %s %s", s.N, s.Point, s.Kind.Word(s.Position), h.Point,
				h.Kind.Word(h.Position))
		}
	}
	for _, id := range change.Added.Points {
		if v.shutAt(id) == nil {
			return fmt.Errorf("nothing shuts %s, which was asked for", id)
		}
	}
	return nil
}

// hung reports whether the order of the phases says nothing of the step at a place in the plan: it hangs, in an order
// that was proved when it was fitted; or it is the first that does not, and the order begins anew.
func (v *prover) hung(i int) bool { return v.plan.Change != nil && i <= v.plan.Change.Hang }

// widened returns the plant with the job as the plan has it: widened by what was added to it.
func widened(p *isolation.Plant, plan *isolation.Plan) (*isolation.Plant, error) {
	if plan.Change == nil {
		return p, nil
	}
	return p.Widened(plan.Job, plan.Change.Added)
}
