package sequence

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// anyRound draws stops in blocks, with requirements that go in no circle.
func anyRound(t *rapid.T, most int) []Stop {
	n := rapid.IntRange(1, most).Draw(t, "stops")
	stops := make([]Stop, n)
	at := rapid.Float64Range(-40, 40)
	for i := range stops {
		stops[i] = Stop{X: at.Draw(t, "x"), Y: at.Draw(t, "y"), Z: at.Draw(t, "z"),
			Block: rapid.IntRange(0, 2).Draw(t, "block"), Unknown: rapid.IntRange(0, 9).Draw(t, "unknown") == 0}
		for j := range i {
			if stops[j].Block == stops[i].Block && rapid.IntRange(0, 4).Draw(t, "after") == 0 {
				stops[i].After = append(stops[i].After, j)
			}
		}
	}
	return stops
}

// allowed reports whether an order names every stop once and keeps blocks and requirements.
func allowed(stops []Stop, order []int) bool {
	if len(order) != len(stops) {
		return false
	}
	place := make([]int, len(stops))
	for i := range place {
		place[i] = -1
	}
	for p, i := range order {
		if place[i] >= 0 || p > 0 && stops[order[p-1]].Block > stops[i].Block {
			return false
		}
		place[i] = p
	}
	for i, s := range stops {
		for _, j := range s.After {
			if stops[j].Block == s.Block && place[j] > place[i] {
				return false
			}
		}
	}
	return true
}

// shortest tries every order.
func shortest(stops []Stop) float64 {
	best := math.Inf(1)
	var try func(order []int)
	try = func(order []int) {
		if len(order) == len(stops) {
			if allowed(stops, order) {
				best = min(best, Walk(stops, order))
			}
			return
		}
		for i := range stops {
			if !slices.Contains(order, i) {
				try(append(slices.Clone(order), i))
			}
		}
	}
	try(nil)
	return best
}

func TestRoundIsTheShortestOfAllAllowed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stops := anyRound(t, 7)
		r, err := Order(stops)
		if err != nil {
			t.Fatal(err)
		}
		if want := shortest(stops); !allowed(stops, r.Order) || math.Abs(r.Metres-want) > 1e-9 ||
			math.Abs(Walk(stops, r.Order)-r.Metres) > 1e-9 {
			t.Errorf("Order = %v of %g m (walked %g m), want an allowed order of %g m", r.Order, r.Metres, Walk(stops, r.Order),
				want)
		}
	})
}

func TestReverseUndoesItself(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := rapid.SliceOf(rapid.Int()).Draw(t, "order")
		if got := Reverse(Reverse(o)); !slices.Equal(got, o) {
			t.Errorf("Reverse(Reverse(%v)) = %v, want the same", o, got)
		}
	})
}

func TestLargeBlockStaysAllowedAndAboveItsBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		stops := anyRound(t, 1)
		for i := range 2*Exact + 3 {
			s := Stop{X: float64(i * 37 % 41), Y: float64(i * 17 % 11), Block: 1}
			if i > 0 && i%5 == 0 {
				s.After = []int{len(stops) - 1}
			}
			stops = append(stops, s)
		}
		r, err := Order(stops)
		if err != nil {
			t.Fatal(err)
		}
		if !allowed(stops, r.Order) || r.BoundM > r.Metres+1e-9 || math.Abs(Walk(stops, r.Order)-r.Metres) > 1e-9 {
			t.Errorf("Order = %v of %g m, bound %g m; want an allowed order not below its bound", r.Order, r.Metres, r.BoundM)
		}
	})
}

// The heuristic is held against the exact search on blocks that both can do.
func TestHeuristicIsSeldomMuchLongerThanTheShortest(t *testing.T) {
	worst := 1.0
	rapid.Check(t, func(t *rapid.T) {
		stops := anyRound(t, 9)
		for i := range stops {
			stops[i].Block, stops[i].Unknown = 0, false
		}
		r, err := Order(stops)
		if err != nil {
			t.Fatal(err)
		}
		b := newBlock(stops, blocksOf(stops)[0])
		rough := b.roughly(nil)[0]
		if !allowed(stops, rough.way()) || rough.metres < r.Metres-1e-9 {
			t.Fatalf("heuristic gives %v of %g m, shortest is %g m", rough.way(), rough.metres, r.Metres)
		}
		if r.Metres > 0 {
			worst = max(worst, rough.metres/r.Metres)
		}
	})
	if t.Logf("worst: %.3f times the shortest", worst); worst > 1.5 {
		t.Errorf("worst = %.3f times the shortest, want at most 1.5", worst)
	}
}

func TestCirclesAndPlacelessStopsAreRefused(t *testing.T) {
	if _, err := Order([]Stop{{After: []int{1}}, {After: []int{0}}}); err == nil {
		t.Error("Order of two stops that each come after the other = nil, want an error")
	}
	if _, err := Order([]Stop{{X: math.NaN()}}); err == nil {
		t.Error("Order of a stop at no number = nil, want an error")
	}
	if _, err := Order([]Stop{{After: []int{3}}}); err == nil {
		t.Error("Order of a stop after one that is not there = nil, want an error")
	}
}

func TestNoStopsIsNoWalk(t *testing.T) {
	if r, err := Order(nil); err != nil || len(r.Order) != 0 || r.Metres != 0 {
		t.Errorf("Order(nil) = %v, %v; want nothing of 0 m", r, err)
	}
}

func TestEqualWaysKeepTheOrderOfTheList(t *testing.T) {
	r, err := Order(make([]Stop, 6))
	if err != nil {
		t.Fatal(err)
	}
	if want := []int{0, 1, 2, 3, 4, 5}; !slices.Equal(r.Order, want) {
		t.Errorf("Order of six stops in one place = %v, want %v", r.Order, want)
	}
}

func BenchmarkSixtyStopsInFiveBlocks(b *testing.B) {
	var stops []Stop
	for i := range 60 {
		stops = append(stops, Stop{X: float64(i * 37 % 61), Y: float64(i * 17 % 13), Z: float64(i % 4), Block: i % 5})
	}
	for b.Loop() {
		if _, err := Order(stops); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkTwentyStopsInOneBlock(b *testing.B) {
	var stops []Stop
	for i := range Exact {
		stops = append(stops, Stop{X: float64(i * 37 % 61), Y: float64(i * 17 % 13)})
	}
	for b.Loop() {
		if _, err := Order(stops); err != nil {
			b.Fatal(err)
		}
	}
}
