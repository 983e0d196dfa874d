package envelope_test

import (
	"fmt"

	"stillwatch/isolation"
	"stillwatch/isolation/envelope"
)

// Only a yes lets the work begin where something has to be seen.
func ExampleJudgeStored() {
	c := isolation.StoredCheck{ID: "dry-D1", Stored: isolation.Stored{Kind: isolation.KindDry}, Name: "Drain (D1)",
		Quantity: "ran dry and stays dry, no pressure", Limit: 1}
	for _, answer := range []float64{0, 1} {
		f, err := envelope.JudgeStored(&c, answer)
		fmt.Println(f.OK, f.Words, err)
	}
	// Output:
	// false Drain (D1): not yet. Only yes lets the work begin: ran dry and stays dry, no pressure. <nil>
	// true Drain (D1): yes, ran dry and stays dry, no pressure. <nil>
}
