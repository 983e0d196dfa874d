package diagram

import (
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
)

// strokes counts the lines of a style.
func strokes(d Drawing, want Style) int {
	n := 0
	for _, op := range d.Ops {
		line, isLine := op.(Line)
		course, isCourse := op.(Polyline)
		if isLine && line.Style == want || isCourse && course.Style == want {
			n++
		}
	}
	return n
}

func all(int) bool { return true }

// TestMimicShadesWhatIsProvedAndNothingElse draws each of the demo's plans in its stages. A shaded part says to people
// that nothing can come there: it must never stand in a picture whose part was not called isolated, and no heavy line,
// along which energy can come, may touch what is shaded.
func TestMimicShadesWhatIsProvedAndNothingElse(t *testing.T) {
	p := demoPlant(t)
	for _, plan := range demoPlans(t, p) {
		on := Mimic(p, Part{Plan: &plan, On: all, Isolated: true})
		if strokes(on, Flood) == 0 {
			t.Errorf("%s: isolated and proved, and nothing is shaded", plan.Job)
		}
		if locked := Mimic(p, Part{Plan: &plan, On: all}); strokes(locked, Flood)+strokes(locked, Shore) > 0 {
			t.Errorf("%s: shaded, although nobody said that it is isolated", plan.Job)
		}
		none := Mimic(p, Part{Plan: &plan, On: func(int) bool { return false }})
		if strokes(none, Live) <= strokes(on, Live) {
			t.Errorf("%s: %d heavy lines before the first lock, %d when all hang; want fewer then", plan.Job,
				strokes(none, Live), strokes(on, Live))
		}
		for _, st := range plan.Steps {
			if !slices.Contains(texts(on), string(st.Point)) {
				t.Errorf("%s: the mimic does not show %s", plan.Job, st.Point)
			}
		}
		if got := append(overlaps(on), outside(on)...); len(got) > 0 {
			t.Errorf("%s: words overlap or leave the page:\n%s", plan.Job, strings.Join(got, "\n"))
		}
		if on.W != none.W || on.H != none.H {
			t.Errorf("%s: %g by %g when all hangs, %g by %g before: the picture jumps", plan.Job, on.W, on.H, none.W, none.H)
		}
	}
}

// TestMimicOfOneLockMissingShowsTheWayIn leaves one isolating point after the other without its lock, and wants each
// time more heavy lines than with all on, unless what lies behind it is kept off by another point as well.
func TestMimicOfOneLockMissingShowsTheWayIn(t *testing.T) {
	p := demoPlant(t)
	ways := 0
	for _, plan := range demoPlans(t, p) {
		shut := strokes(Mimic(p, Part{Plan: &plan, On: all}), Live)
		for _, st := range plan.Steps {
			if st.Phase == isolation.PhaseStop || !st.Isolates() || st.Position != st.Kind.Isolating() {
				continue
			}
			got := strokes(Mimic(p, Part{Plan: &plan, On: func(n int) bool { return n != st.N }}), Live)
			if got < shut {
				t.Errorf("%s without lock %d: %d heavy lines, %d with all on", plan.Job, st.N, got, shut)
			}
			if got > shut {
				ways++
			}
		}
	}
	if ways < 50 {
		t.Errorf("only %d missing locks show a way in, want 50 at least: each single point is one", ways)
	}
}

func TestMimicOfNothingIsADrawing(t *testing.T) {
	for _, d := range []Drawing{Mimic(nil, Part{}), Mimic(demoPlant(t), Part{}), Mimic(demoPlant(t), Part{
		Plan: &isolation.Plan{Steps: []isolation.Step{{N: 1, Point: "gone"}}}, On: all})} {
		if d.W <= 0 || d.H <= 0 {
			t.Errorf("extent %g by %g, want some", d.W, d.H)
		}
	}
}
