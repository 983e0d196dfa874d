package planner

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

// hazard is one adversarial plant with what its plan must contain and must never say.
type hazard struct {
	file  string   // in testdata/plants/hazards
	steps []string // as shown writes them; nil: there is no plan
	says  []string // words that stand somewhere in the plan
	never []string // words that stand nowhere in it
}

var hazards = []hazard{
	{"01-check-valve-alone", nil, []string{"a check valve does not isolate"}, []string{"nothing to isolate"}},
	{"01-flap-before-the-sump", []string{"lock SV2 closed", "lock OV closed", "lock GV closed", "tag HA open",
		"tag HD open"}, []string{"No plan with fewer exists.", "Open HA again, a can under it. Open GV a little."}, nil},
	{"02-gas-of-another-space", []string{"lock M1 closed", "lock P1 closed", "tag S1 closed", "tag door open",
		"tag A1 open"}, nil, []string{"S2"}},
	{"01-air-gap", []string{"lock V1 closed"}, nil, []string{"Live header"}},
	{"03-no-source", []string{}, []string{"That proves nothing", "Not proved by this plan"},
		[]string{"nothing to isolate", "No plan with fewer", "Try to start"}},
	{"03-open-end", []string{"lock Q1 open", "lock V1 closed", "tag A1 open", "tag D1 open"},
		[]string{"Suction from the settling tank (V2) is joined at one end only", "leaves 1 thing unproved"}, nil},
	{"04-motor-behind-gearbox", []string{"lock Q1 open", "lock Q2 open"}, []string{"dead motor, 440 V", "dead fan, 440 V",
		"Also kept off, and not opened: Motor, Fan.", "Try to start"}, nil},
	{"03-untold-figures", []string{"lock QB open", "lock V2 closed", "lock V3 closed", "lock V4 closed", "lock V1 closed",
		"tag D1 open"}, []string{"does not tell the pressure of hydrophore.", "does not tell the height of deck.",
		"does not tell the temperature of return.", "does not tell the voltage of board."}, []string{"of tank."}},
	{"04-live-fan", []string{"lock Q1 open"}, []string{"Fan (fan) keeps its electrical supply. It cools another machine."},
		[]string{"dead fan"}},
	{"04-live-turbine", []string{"lock V1 closed", "tag D1 open"},
		[]string{"Turbine (turbine) keeps its supply of steam. It drives another machine."}, nil},
	{"04-turbine-drive", []string{"lock VS closed", "lock V2 closed", "lock V1 closed", "tag D1 open"},
		[]string{"Also kept off, and not opened: Turbine.", "source hotwell: single, met true at 0.2 bar"}, nil},
	{"05-hood-vent-of-a-turning-bowl", []string{"lock V1 closed", "tag A1 open", "tag D1 open"},
		[]string{"before step 2 read [rotation]", "before step 3 read [rotation]"}, []string{"before step 1 "}},
	{"06-high-voltage", []string{"lock Q1 open", "lock X1 open"}, []string{"back  0 Take off every earth and count them",
		"dead motor, 6600 V", "Not proved by this plan: The plant file has no place for an earth"}, nil},
	{"06-disconnector-alone", []string{"lock Q1 open"}, nil, []string{"X1 open"}},
	{"06-no-breaker", nil, []string{"it may be opened only without load"}, nil},
	{"06-earths", []string{"lock Q9 open", "lock Q1 open", "lock X1 open", "lock E1 closed", "tag E2 closed"},
		[]string{"before step 4 read [dead-cable", "before step 5 read [dead-motor",
			"back  0 Count the earths: 2 were put on, and as many off."}, []string{"E9", "no place for an earth"}},
	{"06-asked-for", []string{"lock Q1 open"}, []string{"no place for an earth at Thruster motor (motor)"}, nil},
	{"07-steam-on-standing-oil", []string{"lock V1 closed", "tag A1 open"}, []string{"Take the heat off first: shut V1",
		"Take the lock off V1. Leave it SHUT.",
		"If a liquid is heated there, let it flow first. Drain the line. Open V1 slowly"},
		[]string{"V1. Bring it to OPEN"}},
	{"07-second-boiler", []string{"lock QB open", "lock BL2 closed", "lock M2 closed", "lock BL1 closed", "lock M1 closed",
		"lock FV closed", "lock FD2 closed", "lock FD1 closed", "tag DR open", "tag VT open", "tag MD open", "tag BLD open",
		"tag FDD open"}, []string{"Take the heat off first: shut M2", "Drain the line. Open M2 slowly"},
		[]string{"shut BL", "Open BL", "flows through the heater"}},
	{"07-pump-opened-heater-hot", []string{"lock Q1 open", "lock VS closed", "lock V1 closed", "lock V2 closed"},
		[]string{"Take the heat off first: shut VS", "Take the lock off VS. Leave it SHUT.",
			"When liquid flows through the heater", "Also kept off, and not opened: Pump motor, Heater steam side."},
		[]string{"D9", "VT"}},
	{"07-electric-heater", []string{"lock QE open", "lock Q1 open", "lock V1 closed", "lock V2 closed"},
		[]string{"Take the heat off first: QE to OFF", "Take the lock off QE. Leave it OFF.",
			"When liquid flows through the heater, switch on QE."}, nil},
	{"07-pump-against-shut", []string{"lock Q1 open", "lock V1 closed", "lock V2 closed"},
		[]string{"Also kept off, and not opened: Pump motor."}, []string{"Q2"}},
	{"07-outlet-behind-a-check-valve",
		[]string{"lock Q1 open", "lock VS closed", "lock V2 closed", "tag D1 open"},
		[]string{"Also kept off, and not opened: Pump motor, Heater steam side.", "Take the heat off first: shut VS"}, nil},
	{"07-heater-between-sumps", []string{"lock VS closed", "lock V2 closed", "lock V1 closed", "tag D1 open"},
		[]string{"Also kept off, and not opened: Heater steam side.", "Take the lock off VS. Leave it SHUT."}, nil},
	{"08-running-pump", []string{"lock V2 closed", "lock V1 closed", "lock V0 closed", "tag D1 open"},
		[]string{"source tank2: double, met true at 12.3 bar", "source tank: single, met true at 0.3 bar"}, nil},
	{"08-kept-behind-a-pump", []string{"lock V2 closed", "tag D2 open"},
		[]string{"source tank: single, met true at 12.3 bar"}, nil},
	{"08-heated-on-the-way", []string{"lock V1 closed", "lock V2 closed", "tag A1 open", "tag D2 open", "tag D1 open"},
		[]string{"source tank: double, met true at 3.68 bar"}, nil},
	{"08-thermal-oil-ring", []string{"lock Q1 open", "lock B2 closed", "lock A1 closed", "lock B1 closed",
		"lock A2 closed", "tag PA open", "tag AD open", "tag BD open", "tag PD open"},
		[]string{"source exp: double, met true at 8.07 bar"}, []string{"Take the heat off first", "A2. Leave it SHUT"}},
	{"08-silent-pump", []string{"lock V1 closed", "tag D1 open"},
		[]string{"The plant file does not tell what Pump (pump) adds to the pressure of Tank (tank)."}, nil},
	{"08-standing-head", []string{"lock V1 closed", "lock V3 closed", "lock V2 closed", "tag A2 open", "tag D1 open",
		"tag D2 open"}, []string{"source main: double, met true at 10.81 bar", "source dirty: single, met true at 1.01 bar"},
		[]string{"by another way", "Not proved", "Nothing rises to A2"}},
	{"08-silent-electric-heater", []string{"lock V1 closed", "tag D1 open"},
		[]string{"The plant file does not tell the temperature behind Electric heater (heater) of Tank (tank).",
			"Up to 60 °C comes to Filter (filter), and the plant file does not tell what heat stays in it."}, nil},
	{"09-heater-opened-with-separator", []string{"lock V1 closed", "tag D1 open"},
		[]string{"stored rotation:", "stored heat: 150"}, nil},
	{"10-two-sea-chests", []string{"lock QA open", "lock XO closed", "lock DA closed", "lock P1 closed", "tag AP open",
		"tag DP open"}, []string{"Put Pump B into service"}, []string{"Pump B cannot run"}},
	{"10-standby", []string{"lock Q1 open"}, []string{"Put Pump 2 into service"}, []string{"under isolation"}},
	{"11-automatic-valves",
		[]string{"lock A1 closed", "lock A2 closed", "tag CV2 closed", "tag CV1 closed", "tag D1 open"},
		[]string{"stored held-CV1", "stored held-CV2", "Take the tag off CV1. Leave it SHUT.",
			"See CV1 go back to where it stands in service."}, []string{"CV1. Bring it to OPEN", "CV2. Bring it to OPEN"}},
	{"15-one-steam-valve", []string{"lock V1 closed", "tag A1 open"}, []string{
		"Not proved by this plan: The rules ask for two points in series with a drain", "The line was built with one valve",
		"Done instead: Steam main shut at the boiler for the work; Vent watched by a second person."}, nil},
	{"15-no-deviation", nil, []string{"has only 1 of the 2 that it takes"}, nil},
}

// Each plant's own head says in words what is expected and why.
func TestHazardsThatTheGraphDoesNotShow(t *testing.T) {
	covered := map[string]bool{}
	for _, h := range hazards {
		covered[h.file] = true
		t.Run(h.file, func(t *testing.T) {
			p := readFile(t, "../../testdata/plants/hazards/"+h.file+".yaml")
			for _, j := range p.Jobs {
				h.hold(t, p, j.ID)
			}
		})
	}
	files, err := filepath.Glob("../../testdata/plants/hazards/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("found %d plants, %v", len(files), err)
	}
	for _, f := range files {
		if !covered[strings.TrimSuffix(filepath.Base(f), ".yaml")] {
			t.Errorf("nothing is expected of %s", f)
		}
	}
}

// hold makes the plan of a job, has it proved, and holds it against what is expected.
func (h hazard) hold(t *testing.T, p *isolation.Plant, job string) {
	t.Helper()
	plan, err := Make(p, plantfile.ShippedRules(), job, isolation.Circumstances{})
	if err != nil {
		t.Fatal(err)
	}
	if plan.Feasible != (h.steps != nil) {
		t.Fatalf("Make(%s) feasible %v, want %v: %s", job, plan.Feasible, h.steps != nil, plan.Words)
	}
	if plan.Feasible {
		plan = makeProved(t, p, job, isolation.Circumstances{})
		if got := shown(plan); !slices.Equal(got, h.steps) {
			t.Errorf("Make(%s) steps\n%s\nwant\n%s", job, strings.Join(got, "\n"), strings.Join(h.steps, "\n"))
		}
	}
	all := plainly(plan)
	for _, w := range h.says {
		if !strings.Contains(all, w) {
			t.Errorf("Make(%s) does not say %q:\n%s", job, w, all)
		}
	}
	for _, w := range h.never {
		if strings.Contains(all, w) {
			t.Errorf("Make(%s) says %q:\n%s", job, w, all)
		}
	}
}

// A machine that another permit keeps from its supply cannot take over, and must not be offered as if it could.
func TestStandbyUnderIsolationIsNotOffered(t *testing.T) {
	p := readFile(t, "../../testdata/plants/hazards/10-standby.yaml")
	held := isolation.Circumstances{Held: []isolation.Held{{Point: "Q2", Position: isolation.Open, Permit: "2026-007"}}}
	plan := makeProved(t, p, "bearing", held)
	all := plainly(plan)
	if plan.Standby != "" || strings.Contains(all, "Put Pump 2 into service") {
		t.Errorf("standby %q is offered, and another permit holds its breaker OFF:\n%s", plan.Standby, all)
	}
	if !strings.Contains(all, "Pump 2 is under isolation by another permit and cannot take over.") {
		t.Errorf("the plan does not say why Pump 2 is not offered:\n%s", all)
	}
}
