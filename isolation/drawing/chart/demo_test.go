package chart

import (
	"math"
	"os"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
)

// Everything that the plans of the demo ship foretell can be drawn, and meets its own limits.
func TestEveryForecastOfTheDemoShipIsDrawn(t *testing.T) {
	const path = "../../../cmd/stillwatch/demo/plant.yaml"
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	p, err := plantfile.Read(path, text)
	if err != nil {
		t.Fatal(err)
	}
	sections, stored := 0, 0
	for _, job := range p.Jobs {
		plan, err := planner.Make(p, plantfile.ShippedRules(), job.ID, isolation.Circumstances{})
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range plan.Sections {
			sections++
			c := Drain(s, []Reading{{S: s.DrainS + 700, Value: s.OutL, HoldS: 600, OK: true}})
			checkSVG(t, c)
			if s.DrainS > 0 && (c.Expected == nil || math.Abs(c.Expected[len(c.Expected)-1].V-s.OutL) > 1e-6*s.OutL) {
				t.Errorf("%s, %s: the course ends at %v, want %g L", job.ID, s.ID, c.Expected, s.OutL)
			}
			if s.DrainS > 0 && timeTo(c.Expected, 0.99*s.OutL) > 1.001*s.DrainS {
				t.Errorf("%s, %s: 99 %% are out after %g s, want within the %g s of the plan", job.ID, s.ID,
					timeTo(c.Expected, 0.99*s.OutL), s.DrainS)
			}
		}
		for _, check := range plan.Stored {
			c, ok := Stored(check, nil)
			if !ok && check.WaitS > 0 {
				t.Errorf("%s, %s: no chart, want one of a wait of %g s", job.ID, check.ID, check.WaitS)
			}
			if !ok {
				continue
			}
			stored++
			checkSVG(t, c)
			if got := at(c.Expected, check.WaitS); check.WaitS > 0 && math.Abs(got-check.Limit) > 0.01*check.Now {
				t.Errorf("%s, %s: %g %s after the wait, want %g", job.ID, check.ID, got, check.Unit, check.Limit)
			}
		}
	}
	if sections < 5 || stored < 5 {
		t.Errorf("the demo ship has %d sections and %d stored energies to draw, want 5 of each at least", sections, stored)
	}
	t.Logf("%d sections, %d stored energies", sections, stored)
}
