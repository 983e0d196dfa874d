package diagram

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
)

// box is the space that a text takes, as measured.
type box struct {
	words          string
	x1, y1, x2, y2 float64
}

func textBoxes(d Drawing) []box {
	var out []box
	for _, op := range d.Ops {
		t, ok := op.(Text)
		if !ok || t.Words == "" {
			continue
		}
		w := textWidth(t.Words, t.Size, t.Style.Look().Bold)
		x := t.X - w*[...]float64{Left: 0, Middle: 0.5, Right: 1}[t.Anchor]
		out = append(out, box{t.Words, x, t.Y - 0.72*t.Size, x + w, t.Y + 0.2*t.Size})
	}
	return out
}

// overlaps lists pairs of texts whose boxes meet by more than a hair.
func overlaps(d Drawing) []string {
	const hair = 0.05
	var out []string
	boxes := textBoxes(d)
	for i, a := range boxes {
		for _, b := range boxes[i+1:] {
			if math.Min(a.x2, b.x2)-math.Max(a.x1, b.x1) > hair && math.Min(a.y2, b.y2)-math.Max(a.y1, b.y1) > hair {
				out = append(out, fmt.Sprintf("%q at %.1f,%.1f meets %q at %.1f,%.1f", a.words, a.x1, a.y2, b.words, b.x1, b.y2))
			}
		}
	}
	return out
}

// outside lists texts that leave the page.
func outside(d Drawing) []string {
	var out []string
	for _, b := range textBoxes(d) {
		if b.x1 < -0.01 || b.y1 < -0.01 || b.x2 > d.W+0.01 || b.y2 > d.H+0.01 {
			out = append(out, fmt.Sprintf("%q: %.1f…%.1f, %.1f…%.1f", b.words, b.x1, b.x2, b.y1, b.y2))
		}
	}
	return out
}

func readPlant(t testing.TB, path string) *isolation.Plant {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	p, err := plantfile.Read(filepath.Base(path), text)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func demoPlant(t testing.TB) *isolation.Plant {
	t.Helper()
	return readPlant(t, "../../../cmd/stillwatch/demo/plant.yaml")
}

// demoPlans are the plans of every job of the demo plant.
func demoPlans(t testing.TB, p *isolation.Plant) []isolation.Plan {
	t.Helper()
	var out []isolation.Plan
	for _, j := range p.Jobs {
		plan, err := planner.Make(p, plantfile.ShippedRules(), j.ID, isolation.Circumstances{})
		if err != nil {
			t.Fatalf("plan %s: %v", j.ID, err)
		}
		out = append(out, plan)
	}
	return out
}

// longNames returns every node and step a name that no column can hold.
func longNames(p *isolation.Plant, plan *isolation.Plan) {
	const long = "Overhead cross-connection between the forward and the after " +
		"Feinsaugfilterdifferenzdruckmesseinrichtung, inboard"
	for i := range p.Nodes {
		p.Nodes[i].Name = long
	}
	for i := range plan.Steps {
		plan.Steps[i].Name = long
	}
	plan.Title, plan.MachineName = long, long
}

func TestWordsNeverOverlapOrLeaveThePage(t *testing.T) {
	p := demoPlant(t)
	for _, plan := range demoPlans(t, p) {
		for name, d := range map[string]Drawing{"Of": Of(p, &plan), "Sheet": Sheet(p, &plan)} {
			if got := overlaps(d); len(got) > 0 {
				t.Errorf("%s(%s): words overlap:\n%s", name, plan.Job, strings.Join(got, "\n"))
			}
			if got := outside(d); len(got) > 0 {
				t.Errorf("%s(%s): words leave the page:\n%s", name, plan.Job, strings.Join(got, "\n"))
			}
		}
	}
}

func TestLongNamesNeverOverlapOrLeaveThePage(t *testing.T) {
	p := demoPlant(t)
	for _, plan := range demoPlans(t, p) {
		longNames(p, &plan)
		d := Of(p, &plan)
		if got := append(overlaps(d), outside(d)...); len(got) > 0 {
			t.Errorf("Of(%s) with long names:\n%s", plan.Job, strings.Join(got, "\n"))
		}
	}
	d := Plant(p)
	if got := append(overlaps(d), outside(d)...); len(got) > 0 {
		t.Errorf("Plant with long names: %d faults, the first: %s", len(got), got[0])
	}
}

func TestPlantShowsEveryNode(t *testing.T) {
	p := demoPlant(t)
	d := Plant(p)
	shown := map[string]bool{}
	for _, b := range textBoxes(d) {
		shown[b.words] = true
	}
	for i := range p.Nodes {
		if !shown[string(p.Nodes[i].ID)] {
			t.Errorf("Plant: no text %q", p.Nodes[i].ID)
		}
	}
	if got := append(overlaps(d), outside(d)...); len(got) > 0 {
		t.Errorf("Plant: %d faults of words, the first: %s", len(got), got[0])
	}
}

func TestShortenAndWrapFit(t *testing.T) {
	for _, words := range []string{"", "valve", "Überdruckventil der Rücklaufleitung", "主海水泵吸入阀主海水泵吸入阀主海水泵吸入阀",
		strings.Repeat("W", 200), "a b c d e f g h i j k l m n o p q r s t u v w x y z"} {
		for _, width := range []float64{8, 20, 45} {
			for _, line := range append(wrap(words, plain, width, 3), shorten(words, plain, width)) {
				if got := plain.width(line); got > width+0.01 {
					t.Errorf("line %q is %.1f wide, want at most %.1f", line, got, width)
				}
			}
			if got := len(wrap(words, plain, width, 3)); got > 3 {
				t.Errorf("wrap(%q) gives %d lines, want at most 3", words, got)
			}
		}
	}
}
