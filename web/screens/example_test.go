package screens_test

import (
	"fmt"

	"stillwatch/isolation"
	"stillwatch/web/screens"
)

// A position is called as the trade calls it at that kind of point.
func ExamplePositionWords() {
	fmt.Println(screens.PositionWords(isolation.Breaker, isolation.Open))
	fmt.Println(screens.PositionWords(isolation.Valve, isolation.Closed))
	fmt.Println(screens.SpanWords(5400), screens.Figure(12.3456))
	// Output:
	// OFF
	// SHUT
	// 1 h 30 min 12.346
}
