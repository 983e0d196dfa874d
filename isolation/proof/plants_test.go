package proof

import (
	"os"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
)

const demoPlant = "../../cmd/stillwatch/demo/plant.yaml"

// readFile reads a plant file of the repository.
func readFile(t testing.TB, path string) *isolation.Plant {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return readPlant(t, string(text))
}

// readPlant reads a plant written out in a test.
func readPlant(t testing.TB, text string) *isolation.Plant {
	t.Helper()
	p, err := plantfile.Read("test", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// makeProved makes the plan of a job and has it proved; it fails the test where either does not work.
func makeProved(t testing.TB, p *isolation.Plant, job string, c isolation.Circumstances) isolation.Plan {
	t.Helper()
	plan, err := planner.Make(p, plantfile.ShippedRules(), job, c)
	if err != nil || !plan.Feasible {
		t.Fatalf("Make(%s) = %v, %s, want a plan", job, err, plan.Words)
	}
	if _, err := Prove(p, plantfile.ShippedRules(), plan, c); err != nil {
		t.Fatalf("Prove = %v, want proved", err)
	}
	return plan
}

const pump = `
plant: pump between two tanks
nodes:
  - {id: board, kind: source, energy: electrical, volt: 440}
  - {id: tank, kind: source, energy: fuel, gauge_bar: 0.5}
  - {id: far, kind: source, energy: fuel, gauge_bar: 0.8}
  - {id: Q1, kind: breaker}
  - {id: motor, kind: consumer}
  - {id: V1, kind: valve}
  - {id: casing, kind: vessel}
  - {id: NRV, kind: check-valve}
  - {id: V2, kind: valve}
links:
  - {a: board, b: Q1}
  - {a: Q1, b: motor}
  - {a: motor, b: casing}
  - {a: tank, b: V1}
  - {a: V1, b: casing}
  - {a: casing, b: NRV}
  - {a: NRV, b: V2}
  - {a: V2, b: far}
jobs:
  - {id: seal, opens: [casing]}
`

const steamLine = `
plant: steam to a heater
nodes:
  - {id: main, kind: source, energy: steam, gauge_bar: 7, temp_c: 170}
  - {id: V1, kind: valve}
  - {id: leg, kind: junction}
  - {id: D1, kind: opening}
  - {id: V2, kind: valve}
  - {id: heater, kind: vessel}
links:
  - {a: main, b: V1}
  - {a: V1, b: leg}
  - {a: leg, b: D1}
  - {a: leg, b: V2}
  - {a: V2, b: heater}
jobs:
  - {id: tubes, opens: [heater]}
  - {id: inside, opens: [heater], exposure: enter}
`
