package energy_test

import (
	"fmt"

	"stillwatch/isolation/energy"
)

// The hottest that bare metal may be where skin touches it for ten minutes.
func ExampleTouchLimit() {
	limit, err := energy.TouchLimit(600)
	if err != nil {
		panic(err)
	}
	fmt.Printf("%.0f °C\n", limit)
	// Output: 48 °C
}
