package proved_test

import (
	"fmt"
	"os"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proved"
)

// A plan that was made and proved, as it may be shown and authorised.
func ExampleMake() {
	text, err := os.ReadFile("../../testdata/plants/tiny.yaml")
	if err != nil {
		panic(err)
	}
	plant, err := plantfile.Read("tiny.yaml", text)
	if err != nil {
		panic(err)
	}
	p, err := proved.Make(plant, plantfile.ShippedRules(), "P1-seal", isolation.Circumstances{})
	if err != nil {
		panic(err)
	}
	for _, s := range p.Plan.Steps {
		fmt.Println(s.N, s.Phase, s.Point, s.Kind.Word(s.Position))
	}
	// Output:
	// 1 isolate Q1 OFF
	// 2 isolate V2 SHUT
	// 3 isolate V1 SHUT
	// 4 drain A1 OPEN
	// 5 drain D1 OPEN
}
