package permits

import (
	"testing"

	"stillwatch/isolation"
)

// DrainedTwice returns a permit whose first section was recorded twice, with its entries.
func DrainedTwice(t *testing.T) (Permit, []Entry) {
	r := newRig(t)
	id := r.untilProving()
	s := r.permits[id].Drains()[0].Section
	r.must(id, tomas, RecordDrain{Section: s.ID, Reading: isolation.DrainReading{OutL: 1.5, HoldInL: 0.25, HoldS: 600,
		TempC: s.TempC}, Into: "Sludge tank"})
	r.hold(id)
	r.must(id, tomas, drained(s))
	return r.permits[id], r.entries
}
