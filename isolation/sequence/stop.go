package sequence

import (
	"fmt"
	"math"
)

// Stop is one place of a round. X runs forward, Y to starboard and Z upward, in metres. Unknown means that nobody
// recorded where it is: it is then taken to lie Strange metres from everything, so that it neither shortens nor
// decides a round.
type Stop struct {
	X, Y, Z float64
	Unknown bool
	Block   int   // all stops of a lower block come before any of a higher
	After   []int // stops of the same block, by index, that must come before this one; those of other blocks are ignored
}

// Strange is the distance in metres at which a stop without a place is taken to lie from any other. An assumption.
const Strange = 10.0

// Ladder is how much dearer a metre climbed is than a metre walked. An assumption: a deck of 2.6 m then counts as much
// as nine frames of 0.7 m, about what going to the ladder and climbing it takes. No source.
const Ladder = 2.5

// Metres returns the walk between two stops: along, across and up are added, because gratings run along and across, and
// what is climbed counts Ladder times. It is symmetric and obeys the triangle inequality between known places.
func Metres(a, b Stop) float64 {
	if a.Unknown || b.Unknown {
		return Strange
	}
	return math.Abs(a.X-b.X) + math.Abs(a.Y-b.Y) + Ladder*math.Abs(a.Z-b.Z)
}

// Walk returns the metres of a round through stops in this order, without the way to the first and from the last.
func Walk(stops []Stop, order []int) float64 {
	sum := 0.0
	for i := 1; i < len(order); i++ {
		sum += Metres(stops[order[i-1]], stops[order[i]])
	}
	return sum
}

// Reverse returns an order from its end to its beginning: removal is fitting reversed, so Reverse(Reverse(o)) is o.
func Reverse(order []int) []int {
	out := make([]int, len(order))
	for i, v := range order {
		out[len(order)-1-i] = v
	}
	return out
}

// check refuses figures that are no places and requirements that cannot be met.
func check(stops []Stop) error {
	for i, s := range stops {
		for _, v := range []float64{s.X, s.Y, s.Z} {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return fmt.Errorf("stop %d is at no place: %g, %g, %g", i, s.X, s.Y, s.Z)
			}
		}
		for _, j := range s.After {
			if j < 0 || j >= len(stops) || j == i {
				return fmt.Errorf("stop %d must come after stop %d, which does not exist", i, j)
			}
		}
	}
	return nil
}
