package diagram

import (
	"testing"

	"github.com/google/go-cmp/cmp"
)

func TestPlainKeepsTheWordsAndNeedsNoWhite(t *testing.T) {
	p := demoPlant(t)
	for _, plan := range demoPlans(t, p) {
		d := Sheet(p, &plan)
		plain := d.Plain()
		if diff := cmp.Diff(texts(d), texts(plain)); diff != "" {
			t.Errorf("Plain(%s) changes the words (-want +got):\n%s", plan.Job, diff)
		}
		for _, op := range plain.Ops {
			switch o := op.(type) {
			case Line:
			case Text:
				if o.Style == Number {
					t.Errorf("Plain(%s) leaves %q white on black", plan.Job, o.Words)
				}
			case Polygon:
				if fill := o.Style.Look().Fill; fill != "" && o.Style != Solid && o.Style != Zone {
					t.Errorf("Plain(%s) leaves a polygon of %s to be filled", plan.Job, o.Style.Look().Class)
				}
			default:
				t.Errorf("Plain(%s) leaves a %T, want lines, polygons and words", plan.Job, op)
			}
		}
		if diff := cmp.Diff(plain, plain.Plain()); diff != "" {
			t.Errorf("Plain(Plain(%s)) differs:\n%s", plan.Job, diff)
		}
	}
}
