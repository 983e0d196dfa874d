package proof_test

import (
	"fmt"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
)

const small = `
plant: tank and filter
nodes:
  - {id: tank, kind: source, energy: water, gauge_bar: 2}
  - {id: V1, kind: valve}
  - {id: filter, kind: vessel}
  - {id: D1, kind: opening}
links:
  - {a: tank, b: V1}
  - {a: V1, b: filter}
  - {a: filter, b: D1}
jobs:
  - {id: element, opens: [filter]}
`

// A plan that lost its valve is no plan, whoever made it.
func ExampleProve() {
	plant, err := plantfile.Read("small", []byte(small))
	if err != nil {
		panic(err)
	}
	rules := plantfile.ShippedRules()
	plan, err := planner.Make(plant, rules, "element", isolation.Circumstances{})
	if err != nil {
		panic(err)
	}
	proved, err := proof.Prove(plant, rules, plan, isolation.Circumstances{})
	fmt.Println(proved.IsZero(), err)
	plan.Steps = plan.Steps[1:]
	plan.Steps[0].N = 1
	proved, err = proof.Prove(plant, rules, plan, isolation.Circumstances{})
	fmt.Println(proved.IsZero(), err)
	// Output:
	// false <nil>
	// true prove the plan of job element: tank must be cut by one point, and the way tank – V1 – filter has less
}
