package planner

import (
	"os"
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
