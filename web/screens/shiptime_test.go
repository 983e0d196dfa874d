package screens_test

import (
	"strings"
	"testing"
	"time"

	"stillwatch/permits"
	"stillwatch/web/screens"
)

// Pages show the ship's clock; gates write the log's.
func TestGatesTimesAreShownByTheShipsClock(t *testing.T) {
	zone := time.Local
	time.Local = time.FixedZone("ship", 9*3600)
	t.Cleanup(func() { time.Local = zone })
	now := time.Date(2026, 11, 28, 20, 0, 0, 0, time.UTC)
	for _, tc := range []struct{ words, want string }{
		{"It ran out at 2026-11-28 18:43 UTC.", "It ran out at 29 Nov 2026, 03:43."},
		{"Read it earliest 21:15 UTC; then fit.", "Read it earliest 06:15; then fit."},
		{"2026-99-99 10:00 UTC is no time.", "2026-99-99 10:00 UTC is no time."},
		{"Nothing to change.", "Nothing to change."},
	} {
		if got := screens.ShipTime(tc.words, now); got != tc.want {
			t.Errorf("ShipTime(%q) = %q, want %q", tc.words, got, tc.want)
		}
	}
	no := &permits.Refusal{What: "At 21:15 UTC."}
	if got := screens.InShipTime(no, now); got.What != "At 06:15." || no.What != "At 21:15 UTC." {
		t.Errorf("InShipTime = %q and left %q, want a copy with the ship's time", got.What, no.What)
	}
	teller := screens.Teller{}
	e := permits.Entry{At: now, Act: permits.RefusedAct{Of: permits.KindFitLock,
		What: "It ran out at 2026-11-28 18:43 UTC."}}
	if got := teller.Tell(e); !strings.Contains(got, "29 Nov 2026, 03:43") || strings.Contains(got, "UTC") {
		t.Errorf("an entry is told as %q, on page and paper by the ship's clock", got)
	}
}
