package drain_test

import (
	"fmt"

	"stillwatch/isolation/drain"
)

// An upright vessel of 1 m across falls from 2 m to 0.5 m over a sharp-edged hole of 20 mm.
func ExampleVerticalTankTime() {
	s, err := drain.VerticalTankTime(1, drain.Hole{BoreM: 0.02, Cd: 0.6}, 2, 0.5)
	if err != nil {
		panic(err)
	}
	fmt.Printf("%.0f s\n", s)
	// Output: 1330 s
}
