package main

import (
	"math"
	"testing"

	"stillwatch/isolation"
)

// TestCourseIsShownAtEvenTimesAndNeverFalls: whatever the steps of the computation, a person reads equal steps of time,
// and litres that only grow.
func TestCourseIsShownAtEvenTimesAndNeverFalls(t *testing.T) {
	curve := []isolation.Level{{S: 0, L: 0}, {S: 1, L: 5}, {S: 3, L: 4.9}, {S: 50, L: 8}, {S: 50, L: 8.5}, {S: 100, L: 9}}
	got := evenly(curve, 10)
	if len(got) != 10 || got[9] != (isolation.Level{S: 100, L: 9}) {
		t.Fatalf("evenly = %v, want 10 rows that end at 100 s and 9 L", got)
	}
	for i, l := range got {
		if math.Abs(l.S-10*float64(i+1)) > 1e-9 || i > 0 && l.L < got[i-1].L {
			t.Errorf("row %d = %v after %v, want 10 s later and no less", i, l, got[max(0, i-1)])
		}
	}
	if math.Abs(got[1].L-(4.9+3.1*17/47)) > 1e-9 {
		t.Errorf("after 20 s = %g L, want what lies between the points at 3 s and 50 s", got[1].L)
	}
	if rows := evenly([]isolation.Level{{S: 0, L: 0}}, 10); rows != nil {
		t.Errorf("evenly of one point = %v, want none", rows)
	}
}

// TestMinutesAreRoundedUp: 207 s is 4 min to somebody who waits.
func TestMinutesAreRoundedUp(t *testing.T) {
	for s, want := range map[float64]string{207: "4 min", 240: "4 min", 240.5: "5 min", 61.2: "62 s", 7200: "2.0 h",
		7201: "2.1 h", 0: "no time computed"} {
		if got := minutes(s); got != want {
			t.Errorf("minutes(%g) = %q, want %q", s, got, want)
		}
	}
}
