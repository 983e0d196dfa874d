package planner_test

import (
	"fmt"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
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

// The plan of a job: one valve is shut, one drain is opened.
func ExampleMake() {
	plant, err := plantfile.Read("small", []byte(small))
	if err != nil {
		panic(err)
	}
	plan, err := planner.Make(plant, plantfile.ShippedRules(), "element", isolation.Circumstances{})
	if err != nil {
		panic(err)
	}
	for _, s := range plan.Steps {
		fmt.Println(s.N, s.Phase, s.Point, s.Kind.Word(s.Position))
	}
	fmt.Println("at least", plan.LowerBound, "by", plan.Bound.Ways[0].Nodes)
	// Output:
	// 1 isolate V1 SHUT
	// 2 drain D1 OPEN
	// at least 1 by [tank V1 filter]
}
