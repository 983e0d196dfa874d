package planner

import (
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
)

// companyRules reads rules of a company's own.
func companyRules(t *testing.T, rules string) *isolation.Rules {
	t.Helper()
	r, err := plantfile.ReadRules("rules.yaml", []byte("rules:\n"+rules+"  - {demand: single, because: the rest}\n"))
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// What is kept off is judged by what presses on it and by the pipes on the way, under rules that ask for more than one
// point although nothing is opened. Each case is held against the proof too: it refuses the plan that takes the source
// for itself alone.
func TestWhatIsKeptOffIsJudgedByWhatComesToIt(t *testing.T) {
	two := []string{"lock V1 closed", "lock V2 closed", "tag D1 open", "tag D2 open"}
	for _, tc := range []struct{ name, rules, swap, mild string }{
		{"a pump on the way", "  - {above_bar: 10, demand: double, because: pressure}\n", "lifts_bar: 12", "lifts_bar: 2"},
		{"a wide pipe", "  - {energy: fuel, above_bore_mm: 40, demand: double, because: bore}\n", "bore_mm: 50",
			"bore_mm: 25"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			file := "../../testdata/plants/hazards/08-kept-behind-a-pump.yaml"
			p, r := readFile(t, file), companyRules(t, tc.rules)
			plan, err := Make(p, r, "gauge", isolation.Circumstances{})
			if err != nil {
				t.Fatal(err)
			}
			if got := shown(plan); !slices.Equal(got, two) {
				t.Errorf("steps %q, want %q\n%s", got, two, plainly(plan))
			}
			if _, err := proof.Prove(p, r, plan, isolation.Circumstances{}); err != nil {
				t.Errorf("Prove = %v", err)
			}
			weak, err := plantfile.Read("weak", []byte(strings.ReplaceAll(string(p.Text), tc.swap, tc.mild)))
			if err != nil {
				t.Fatal(err)
			}
			low, err := Make(weak, r, "gauge", isolation.Circumstances{})
			if err != nil || !low.Feasible || low.Locks != 1 {
				t.Fatalf("Make on the milder plant = %d locks, %v, want 1", low.Locks, err)
			}
			low.PlantSHA256 = p.SHA256
			if _, err := proof.Prove(p, r, low, isolation.Circumstances{}); err == nil {
				t.Error("the proof takes a plan with one point there")
			}
			if _, err := proof.ProveAs(3, p, r, low, isolation.Circumstances{}); err != nil &&
				strings.Contains(err.Error(), "kept off") {
				t.Errorf("edition 3 is asked what edition 5 brought: %v", err)
			}
		})
	}
}

// Fuel that a heater makes hotter than its tank is cut as what it has become, also where the heater says nothing of how
// warm it makes it, and its drains say that it scalds. The proof refuses the plan that takes it for as warm as the
// tank.
func TestWhatIsHeatedOnTheWayIsJudgedHot(t *testing.T) {
	p, r := readFile(t, "../../testdata/plants/hazards/08-heated-on-the-way.yaml"), plantfile.ShippedRules()
	with := func(old, is string) *isolation.Plant {
		v, err := plantfile.Read("variant", []byte(strings.ReplaceAll(string(p.Text), old, is)))
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	for name, v := range map[string]*isolation.Plant{"135": p, "170": with("temp_c: 135, ", "")} {
		plan := makeProved(t, v, "clean", isolation.Circumstances{})
		for _, s := range plan.Steps {
			if s.Phase == isolation.PhaseDrain && s.Point != "A1" && !strings.Contains(s.Why, "up to "+name+" °C") {
				t.Errorf("step %s says %q, want that up to %s °C comes", s.Point, s.Why, name)
			}
		}
		if !strings.HasSuffix(plan.Sources[0].Because, "It comes heated, at up to "+name+" °C") {
			t.Errorf("the source is cut because %q", plan.Sources[0].Because)
		}
	}
	low, err := Make(with("temp_c: 135", "temp_c: 98"), r, "clean", isolation.Circumstances{})
	if err != nil || low.Locks != 1 {
		t.Fatalf("Make behind a cooler heater = %d locks, %v, want 1", low.Locks, err)
	}
	low.PlantSHA256 = p.SHA256
	if _, err := proof.Prove(p, r, low, isolation.Circumstances{}); err == nil {
		t.Error("the proof takes a plan with one point")
	}
	if _, err := proof.ProveAs(3, p, r, low, isolation.Circumstances{}); err != nil &&
		strings.Contains(err.Error(), "its demand is double") {
		t.Errorf("edition 3 is asked what edition 5 brought: %v", err)
	}
	cold := makeProved(t, with("VS, kind: valve, ", "VS, kind: valve, normal: closed, "), "clean",
		isolation.Circumstances{})
	if cold.Sources[0].Demand != isolation.DemandSingle {
		t.Errorf("with the steam shut in service the demand is %s", cold.Sources[0].Demand)
	}
}

// A ring is warm all over, and a burner heats. The proof refuses the plan that takes the oil for as warm as its
// expansion tank; edition 5 took it so.
func TestARingThatABurnerHeatsIsJudgedHot(t *testing.T) {
	p, r := readFile(t, "../../testdata/plants/hazards/08-thermal-oil-ring.yaml"), plantfile.ShippedRules()
	cold, err := plantfile.Read("cold", []byte(strings.ReplaceAll(string(p.Text), "heated_by: flame, temp_c: 250, ", "")))
	if err != nil {
		t.Fatal(err)
	}
	low, err := Make(cold, r, "seal", isolation.Circumstances{})
	if err != nil || low.Locks != 3 {
		t.Fatalf("Make without the burner = %d locks, %v, want 3", low.Locks, err)
	}
	low.PlantSHA256 = p.SHA256
	if _, err := proof.Prove(p, r, low, isolation.Circumstances{}); err == nil ||
		!strings.Contains(err.Error(), "its demand is double") {
		t.Errorf("Prove of one valve on each side = %v, want two asked for", err)
	}
	for i := range low.Sources { // edition 6 brought what its height adds too
		if low.Sources[i].ID == "exp" {
			low.Sources[i].GaugeBar = 6.2
		}
	}
	if _, err := proof.ProveAs(5, p, r, low, isolation.Circumstances{}); err != nil {
		t.Errorf("edition 5 asks what edition 6 brought: %v", err)
	}
}
