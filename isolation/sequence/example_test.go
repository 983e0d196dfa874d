package sequence_test

import (
	"fmt"

	"stillwatch/isolation/sequence"
)

// A breaker on the deck above comes first, whatever the walk, for it is in a lower block. Of the two valves the one
// aft must be shut before the one forward.
func ExampleOrder() {
	round, err := sequence.Order([]sequence.Stop{
		{X: 21, Block: 1, After: []int{1}},
		{X: 14, Block: 1},
		{X: 23.1, Z: 2.6, Block: 0},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%v, %.1f m, none shorter than %.1f m\n", round.Order, round.Metres, round.BoundM)
	fmt.Println("back:", sequence.Reverse(round.Order))
	// Output:
	// [2 1 0], 22.6 m, none shorter than 22.6 m
	// back: [0 1 2]
}
