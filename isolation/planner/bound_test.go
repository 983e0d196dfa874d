package planner

import (
	"slices"

	"pgregory.net/rapid"

	"stillwatch/isolation"
	"stillwatch/isolation/proof"
)

// holdFalseBounds alters the bound of a plan at random. Whatever it then says, Prove must not pass it if a set with
// fewer points exists.
func holdFalseBounds(t *rapid.T, p *isolation.Plant, r *isolation.Rules, plan isolation.Plan, few int64) {
	if plan.Bound == nil || len(plan.Bound.Ways) == 0 {
		return
	}
	for range 4 {
		b := *plan.Bound
		b.Ways = slices.Clone(b.Ways)
		w := &b.Ways[rapid.IntRange(0, len(b.Ways)-1).Draw(t, "way")]
		switch rapid.IntRange(0, 3).Draw(t, "alter") {
		case 0:
			w.Amount += b.Scale
		case 1:
			w.Rise = rapid.IntRange(-1, len(w.Nodes)-1).Draw(t, "rise")
			w.Amount += b.Scale
		case 2:
			b.Ways = append(b.Ways, *w)
			b.Ways[len(b.Ways)-1].Rise = rapid.IntRange(-1, len(w.Nodes)-1).Draw(t, "rise")
		case 3:
			b.With = nil
			w.Amount += b.Scale - 1
		}
		bad := plan
		bad.Bound, bad.LowerBound = &b, b.Points()
		bad.Words = bad.SayBound()
		if _, err := proof.Prove(p, r, bad, isolation.Circumstances{}); err == nil && bad.LowerBound > few {
			t.Fatalf("Prove passed a bound of %d, and %d points do\n%+v\n%s\n%s", bad.LowerBound, few, b, p.Text, r.Text)
		}
	}
}
