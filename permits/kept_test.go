package permits

import (
	"testing"
	"time"
)

// TestKeptLookCountsOnlyForWhatStayedAsItWas records a look that the phone kept. It counts as of the moment at which it
// was made, and not at all once the lock was hung anew, a point was found leaking, or the work was stopped, since.
func TestKeptLookCountsOnlyForWhatStayedAsItWas(t *testing.T) {
	r := newRig(t)
	r.untilAuthorised()
	r.must(1, tomas, r.fit(1))
	r.at = r.at.Add(30 * time.Minute)
	r.refuses(1, ines, Look{N: 1, KeptS: 86401}, "form")
	r.refuses(1, ines, Look{N: 1, KeptS: -1}, "form")
	r.refuses(1, ines, Look{N: 1, KeptS: 3600}, "check lock") // before it hung
	r.must(1, ines, Look{N: 1, KeptS: 600})
	if l, _ := r.permits[1].Lock(1); r.entries[len(r.entries)-1].At.Sub(l.Looked.At) != 10*time.Minute {
		t.Errorf("the look is of %s, recorded at %s; want 10 min before that", l.Looked.At, r.entries[len(r.entries)-1].At)
	}
	r.must(1, karim, FindWrong{N: 1, Words: "stands open"})
	r.must(1, tomas, r.fit(1))
	r.refuses(1, ines, Look{N: 1, KeptS: 300}, "check lock") // it saw what was there before
	r.must(1, ines, Look{N: 1})
}

// TestKeptReadingIsOfTheMomentAtWhichItWasRead takes readings that a phone kept: each is judged and dated by when it
// was read; none goes over a later one, or over a stop of the work.
func TestKeptReadingIsOfTheMomentAtWhichItWasRead(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	r.at = r.at.Add(2 * time.Hour)
	d := r.permits[id].Drains()[0]
	reading := RecordDrain{Section: d.Section.ID}
	reading.Reading.OutL, reading.Reading.HoldS, reading.Reading.TempC = d.Section.OutL, 1800, 30
	reading.KeptS = 2*3600 + 60
	r.refuses(id, tomas, reading, "form") // nobody can have watched a hold of half an hour by then
	reading.KeptS = 1200
	r.must(id, tomas, reading)
	e := r.entries[len(r.entries)-1]
	if got := r.permits[id].Drains()[0].Recorded.At; !got.Equal(e.At.Add(-20 * time.Minute)) {
		t.Errorf("the reading is of %s, recorded at %s; want 20 min before that", got, e.At)
	}
	older := reading
	older.KeptS = 3600
	r.refuses(id, tomas, older, "record")
	r.must(id, olga, Suspend{Words: "General alarm"})
	r.must(id, olga, Resume{})
	for _, l := range r.permits[id].Locks() {
		r.must(id, ines, CheckLock{N: l.Step.N})
	}
	if r.permits[id].State() != Proving {
		t.Fatalf("state = %s, want proving", r.permits[id].State())
	}
	older.KeptS = 900
	r.refuses(id, tomas, older, "record")
	older.KeptS = 0
	r.at = r.at.Add(30 * time.Minute) // held anew
	r.must(id, tomas, older)
}
