package drain

import "testing"

// TestWaitsAreRoundedUpAndRecordsDown: 207 s is 4 min to somebody who waits, and 599 s is no hold of 10 min.
func TestWaitsAreRoundedUpAndRecordsDown(t *testing.T) {
	for _, tc := range []struct {
		s        float64
		up, down string
	}{{207, "4 min", "3 min"}, {240, "4 min", "4 min"}, {599, "10 min", "9 min"}, {7201, "2.1 h", "2.0 h"},
		{7200, "2.0 h", "2.0 h"}} {
		if up, down := span(tc.s), lasted(tc.s); up != tc.up || down != tc.down {
			t.Errorf("span(%g), lasted(%g) = %q, %q, want %q, %q", tc.s, tc.s, up, down, tc.up, tc.down)
		}
	}
}

// TestWantOfAirIsSaidOnceForAllPartsThatShareIt: twenty parts without a vent make one short sentence.
func TestWantOfAirIsSaidOnceForAllPartsThatShareIt(t *testing.T) {
	var o Outlook
	for i := range 20 {
		o.Pieces = append(o.Pieces, Holding{Name: string(rune('a' + i)), TrappedM3: 1, Air: Gulps})
	}
	o.Pieces = append(o.Pieces, Holding{Name: "z", TrappedM3: 1, Air: Holds},
		Holding{Name: "fine", TrappedM3: 1, Air: Breathes}, Holding{Name: "stays", TrappedM3: 1, KeptM3: 1, Air: Gulps})
	want := "a, b, c, d and 16 more (" + Gulps.String() + "); z (" + Holds.String() + ")"
	if got := o.unvented(); got != want {
		t.Errorf("unvented() = %q, want %q", got, want)
	}
}
