package planner

import (
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
)

// A plan may not keep silent about a figure that the file does not tell, nor about heat of which nothing asks. Edition
// 5 did not ask.
func TestWhatTheFileDoesNotTellIsSaidAndHeld(t *testing.T) {
	r := plantfile.ShippedRules()
	for _, tc := range []struct {
		file, kind string
		node       isolation.NodeID
	}{
		{"03-untold-figures", isolation.UnprovedFigure, "hydrophore"},
		{"03-untold-figures", isolation.UnprovedFigure, "deck"},
		{"03-untold-figures", isolation.UnprovedFigure, "return"},
		{"03-untold-figures", isolation.UnprovedFigure, "board"},
		{"03-open-end", isolation.UnprovedEnd, "V2"},
		{"08-silent-electric-heater", isolation.UnprovedFigure, "tank"},
		{"08-silent-pump", isolation.UnprovedFigure, "tank"},
		{"08-silent-electric-heater", isolation.UnprovedHeat, "filter"},
	} {
		p := readFile(t, "../../testdata/plants/hazards/"+tc.file+".yaml")
		plan := makeProved(t, p, "clean", isolation.Circumstances{})
		said := len(plan.Unproved)
		plan.Unproved = slices.DeleteFunc(slices.Clone(plan.Unproved), func(u isolation.Unproved) bool {
			return u.Kind == tc.kind && u.Node == tc.node
		})
		if len(plan.Unproved) != said-1 {
			t.Errorf("%s: the plan says %d times that %s of %s is not known, want once", tc.file, said-len(plan.Unproved),
				tc.kind, tc.node)
			continue
		}
		if _, err := proof.Prove(p, r, plan, isolation.Circumstances{}); err == nil {
			t.Errorf("%s: the proof takes a plan that is silent about %s of %s", tc.file, tc.kind, tc.node)
		}
		for i := range plan.Sources { // edition 6 brought what its height adds too
			plan.Sources[i].GaugeBar = p.Node(plan.Sources[i].ID).GaugeBar
		}
		if _, err := proof.ProveAs(5, p, r, plan, isolation.Circumstances{}); err != nil {
			t.Errorf("%s: edition 5 asks what edition 6 brought: %v", tc.file, err)
		}
	}
}

// Rules of a company's own may ask for a bore: a pipe whose bore is not told may be as wide as they ask about.
func TestAnUntoldBoreIsSaidAndHeld(t *testing.T) {
	rules := companyRules(t, "  - {energy: water, above_bore_mm: 100, exposure: open, demand: double, because: bore}\n")
	for _, tc := range []struct {
		name, pipe string
		said       bool
	}{{"told", ", bore_mm: 50", false}, {"untold", "", true}} {
		text := strings.ReplaceAll(`plant: bore
nodes:
  - {id: tank, kind: source, energy: fresh-water, gauge_bar: 0, temp_c: 20, elevation_m: 3}
  - {id: V1, kind: valve}
  - {id: strainer, kind: vessel}
  - {id: D1, kind: opening, role: drain, bore_mm: 15}
links:
  - {a: tank, b: V1, bore_mm: 50}
  - {a: V1, b: strainer PIPE}
  - {a: strainer, b: D1, bore_mm: 15}
jobs:
  - {id: clean, opens: [strainer]}
`, " PIPE", tc.pipe)
		p, err := plantfile.Read("bore", []byte(text))
		if err != nil {
			t.Fatal(err)
		}
		plan, err := Make(p, rules, "clean", isolation.Circumstances{})
		if err != nil {
			t.Fatal(err)
		}
		at := slices.IndexFunc(plan.Unproved, func(u isolation.Unproved) bool { return u.Kind == isolation.UnprovedFigure })
		if (at >= 0) != tc.said {
			t.Errorf("%s: the plan leaves %+v unproved", tc.name, plan.Unproved)
		}
		if _, err := proof.Prove(p, rules, plan, isolation.Circumstances{}); err != nil {
			t.Errorf("%s: Prove = %v", tc.name, err)
		}
		if plan.Unproved = nil; tc.said {
			if _, err := proof.Prove(p, rules, plan, isolation.Circumstances{}); err == nil {
				t.Errorf("%s: the proof takes a silent plan", tc.name)
			}
		}
	}
}

// A metre of liquid presses with its weight (hydrostatics): 1025 kg/m³ · 9.81 m/s² · 13 m from the main at 14 m down
// to the strainer's bottom at 1 m is 1.307 bar beside the 9.5 of the main itself. The proof refuses the plan that
// takes the main for itself alone, as edition 5 did.
func TestWhatStandsAboveAPointPressesOnIt(t *testing.T) {
	p, r := readFile(t, "../../testdata/plants/hazards/08-standing-head.yaml"), plantfile.ShippedRules()
	plan := makeProved(t, p, "clean", isolation.Circumstances{})
	if main := plan.Sources[0]; main.ID != "main" || main.GaugeBar != 10.81 || main.Demand != isolation.DemandDouble {
		t.Errorf("the main is %+v, want double at 9.5 + 1.307 = 10.807 bar, rounded up", main)
	}
	mild, err := plantfile.Read("mild", []byte(strings.ReplaceAll(string(p.Text), "gauge_bar: 9.5", "gauge_bar: 8")))
	if err != nil {
		t.Fatal(err)
	}
	low, err := Make(mild, r, "clean", isolation.Circumstances{})
	if err != nil || low.Locks != 2 {
		t.Fatalf("Make at 8 bar = %d locks, %v, want 2", low.Locks, err)
	}
	low.PlantSHA256 = p.SHA256
	if _, err := proof.Prove(p, r, low, isolation.Circumstances{}); err == nil {
		t.Error("the proof takes a plan with one point")
	}
	for i := range low.Sources {
		low.Sources[i].GaugeBar = p.Node(low.Sources[i].ID).GaugeBar
	}
	if _, err := proof.ProveAs(5, p, r, low, isolation.Circumstances{}); err != nil {
		t.Errorf("edition 5 asks what edition 6 brought: %v", err)
	}
}
