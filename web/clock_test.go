package web

import (
	"testing"
	"time"
)

// TestAClockThatRanAheadLocksNobodyOut sets a clock back by three days after the crew has worked by it: people sign in,
// the board says what is wrong, and the chief engineer's signature lets the work go on the same day.
func TestAClockThatRanAheadLocksNobodyOut(t *testing.T) {
	a := ship(t)
	a.wait(72 * time.Hour)
	j := beginOn(a)
	j.authorise()
	a.wait(-72 * time.Hour)
	chief, tech := a.as("chief"), a.as("tech")
	j.shows(chief, "/", "behind the log", `action="/clock"`)
	tech.refused(tech.post("/clock", "words", "compared with my watch", "pin", testPINs["tech"]), 403, "chief engineer")
	chief.must(chief.post("/clock", "words", "compared with the bridge's clock", "pin", testPINs["chief"]), "/")
	j.hides(chief, "/", "behind the log")
	j.shows(a.as("oow"), "/", "Overdue: 1 authorisation has run out")
}
