package planner

import (
	"os"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
)

// readFile reads a plant file of the repository.
func readFile(t *testing.T, path string) *isolation.Plant {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	p, err := plantfile.Read(path, text)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

const demoPlant = "../../cmd/stillwatch/demo/plant.yaml"

func TestEveryDemoJobHasAProvedPlan(t *testing.T) {
	p := readFile(t, demoPlant)
	r := plantfile.ShippedRules()
	for _, j := range p.Jobs {
		t.Run(j.ID, func(t *testing.T) {
			plan, err := Make(p, r, j.ID, isolation.Circumstances{})
			if err != nil {
				t.Fatal(err)
			}
			if !plan.Feasible {
				t.Fatalf("Make(%s) = no plan: %s", j.ID, plan.Words)
			}
			if plan.Cost != plan.LowerBound {
				t.Errorf("Make(%s) cost %d, bound %d; want them equal", j.ID, plan.Cost, plan.LowerBound)
			}
			if _, err := proof.Prove(p, r, plan, isolation.Circumstances{}); err != nil {
				t.Errorf("Prove(Make(%s)) = %v, want proved", j.ID, err)
			}
		})
	}
}

// Two valves stand one behind the other before the work, with the drain between them: the one farther off leaves the
// work a drain of its own.
func TestTiesGoToThePlanThatDrains(t *testing.T) {
	p := readPlant(t, `plant: x
nodes:
  - {id: tank, kind: source, energy: fuel}
  - {id: far, kind: valve}
  - {id: pipe, kind: junction}
  - {id: drain, kind: opening}
  - {id: near, kind: valve}
  - {id: filter, kind: vessel}
links:
  - {a: tank, b: far}
  - {a: far, b: pipe}
  - {a: pipe, b: drain}
  - {a: pipe, b: near}
  - {a: near, b: filter}
jobs:
  - {id: j, opens: [filter]}
`)
	r, err := plantfile.ReadRules("single", []byte("rules:\n  - {demand: single, because: drawn}\n"))
	if err != nil {
		t.Fatal(err)
	}
	plan, err := Make(p, r, "j", isolation.Circumstances{})
	if err != nil {
		t.Fatal(err)
	}
	if len(plan.Steps) == 0 || plan.Steps[0].Point != "far" || !strings.Contains(plan.Words, "lets what is opened drain") {
		t.Errorf("Make = %v: %s; want far shut, so that the filter drains", plan.Steps, plan.Words)
	}
}
