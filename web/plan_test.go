package web

import (
	"bytes"
	"net/http"
	"os"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/drawing/diagram"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proved"
	"stillwatch/permits"
	"stillwatch/permits/paper"
	"stillwatch/web/screens"
	"stillwatch/web/sheets"
)

func TestPlanSaysWhyAPointIsInItOrNot(t *testing.T) {
	j := begin(t)
	for _, path := range []string{"/permits/new?job=P1-seal", j.path + "/plan?"} {
		for point, want := range map[string]string{"V1": "V1", "A1": "A1", "nowhere": "has no such node"} {
			got := j.tech.get(path + "&why=" + point)
			i := strings.Index(got.body, `id="why"`)
			if got.status != http.StatusOK || i < 0 {
				t.Fatalf("GET %s&why=%s = %d, with a form %v", path, point, got.status, i >= 0)
			}
			answer := got.body[i:]
			answer = answer[:strings.Index(answer, "</form>")]
			if !strings.Contains(answer, `role="status"`) || !strings.Contains(answer, want) {
				t.Errorf("%s&why=%s gives no answer with %q", path, point, want)
			}
		}
		if body := j.tech.get(path).body; !strings.Contains(body, "why=V1#why") ||
			strings.Contains(body, `role="status"><b>`) {
			t.Errorf("%s: a step does not lead to its reason, or one is given unasked", path)
		}
	}
	words, err := planner.Why(j.a.reg.Plant(), j.a.reg.Rules(), "P1-seal", isolation.Circumstances{}, "V1")
	if err != nil {
		t.Fatal(err)
	}
	if body := j.tech.get(j.path + "/plan?why=V1").body; !strings.Contains(body, words[:20]) {
		t.Errorf("the plan's page does not say %q", words)
	}
}

// TestEveryPlanOfTheDemoIsDrawn looks at every job of the demo's ship: on the page in both widths, and on paper.
func TestEveryPlanOfTheDemoIsDrawn(t *testing.T) {
	text, err := os.ReadFile("../cmd/stillwatch/demo/plant.yaml")
	if err != nil {
		t.Fatal(err)
	}
	plant, err := plantfile.Read("plant.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	for _, job := range plant.Jobs {
		made, err := proved.Make(plant, plantfile.ShippedRules(), job.ID, isolation.Circumstances{})
		if err != nil {
			t.Errorf("job %s: %v", job.ID, err)
			continue
		}
		v := screens.PlanViewOf(made.Plan, plant, permits.Held{}, 0)
		if len(v.Diagrams) != 2 || v.Diagrams[0].Class != "slim" || !strings.HasPrefix(v.Diagrams[1].Class, "broad") {
			t.Errorf("job %s has %d diagrams, want a slim and a broad one", job.ID, len(v.Diagrams))
		}
		d := sheets.Diagram(plant, made.Plan)
		if d == nil || len(d.Ops) == 0 {
			t.Errorf("job %s has no diagram for paper", job.ID)
			continue
		}
		drawn := map[string]bool{}
		for _, op := range d.Ops {
			if w, ok := op.(paper.Text); ok {
				drawn[w.Words] = true
			}
		}
		for _, st := range made.Plan.Steps {
			if !drawn[string(st.Point)] {
				t.Errorf("job %s: the diagram for paper does not name %s", job.ID, st.Point)
			}
		}
	}
}

func TestPaperDiagramHoldsEveryStrokeOfThePlainOne(t *testing.T) {
	plant, plan := infeasible(t)
	d := sheets.Diagram(plant, plan)
	if d == nil {
		t.Fatal("paperDiagram() = nil")
	}
	if want := len(diagram.Of(plant, plan).Plain().Ops); len(d.Ops) != want {
		t.Errorf("paperDiagram() has %d strokes, want %d", len(d.Ops), want)
	}
}

// infeasible is a plant with a job that nothing can isolate, and what the planner says of it.
func infeasible(t *testing.T) (*isolation.Plant, *isolation.Plan) {
	t.Helper()
	plant, err := plantfile.Read("infeasible.yaml", plantText(t, "infeasible.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	plan, err := planner.Make(plant, plantfile.ShippedRules(), plant.Jobs[0].ID, isolation.Circumstances{})
	if err != nil {
		t.Fatal(err)
	}
	if plan.Feasible {
		t.Fatal("the plan is feasible")
	}
	return plant, &plan
}

func TestPathThatCannotBeCutIsDrawn(t *testing.T) {
	plant, plan := infeasible(t)
	v := screens.PlanViewOf(plan, plant, permits.Held{}, 0)
	if len(v.Diagrams) != 2 {
		t.Fatalf("%d diagrams, want 2", len(v.Diagrams))
	}
	for _, id := range plan.Uncut {
		if !strings.Contains(string(v.Diagrams[0].SVG), string(id)) {
			t.Errorf("the drawing of the path that cannot be cut does not name %s", id)
		}
	}
}

// TestPlanSheetCarriesItsDiagram prints the sheet with and without, and wants a page more.
func TestPlanSheetCarriesItsDiagram(t *testing.T) {
	j := begin(t)
	got := j.tech.get(j.path + "/plan.pdf")
	if got.status != http.StatusOK {
		t.Fatalf("GET plan.pdf = %d", got.status)
	}
	p := j.a.permit(1)
	sheet := sheets.Plan(j.a.web.setting(permits.Person{}), p)
	sheet.Stamp = paper.Stamp{PrintedBy: "Fitter One", PrintedAt: j.a.clock(), Entry: 9, Hash: strings.Repeat("0", 64)}
	if sheet.Diagram == nil {
		t.Fatal("the plan sheet has no diagram")
	}
	pages := func(s paper.PlanSheet) int {
		var b bytes.Buffer
		if err := paper.WritePlan(&b, s); err != nil {
			t.Fatal(err)
		}
		return bytes.Count(b.Bytes(), []byte("/Type /Page\n"))
	}
	with := pages(sheet)
	sheet.Diagram = nil
	if without := pages(sheet); with != without+1 {
		t.Errorf("the sheet has %d pages with its diagram and %d without, want one more", with, without)
	}
}

func TestWalkIsInWords(t *testing.T) {
	here := isolation.Place{Deck: 2, Frame: 10, Side: "port"}
	for want, plan := range map[string]isolation.Plan{
		"–":                         {},
		"not known":                 {Steps: []isolation.Step{{Place: here}, {}}},
		"all in one place":          {Steps: []isolation.Step{{Place: here}, {Place: here}}},
		"13 m":                      {Steps: []isolation.Step{{Place: here}}, WalkM: 12.6, ListWalkM: 13.2},
		"13 m (20 m in list order)": {Steps: []isolation.Step{{Place: here}}, WalkM: 12.6, ListWalkM: 20.4},
	} {
		if got := screens.WalkWords(&plan); got != want {
			t.Errorf("walkWords(%d steps, %g m) = %q, want %q", len(plan.Steps), plan.WalkM, got, want)
		}
	}
}
