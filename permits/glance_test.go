package permits

import (
	"slices"
	"testing"
)

// A picture shades what is isolated. It says so only while a signed proof stands and nothing speaks against it.
func TestOnlyAStandingProofCountsAsIsolated(t *testing.T) {
	r := newRig(t)
	is := func(want Isolation) {
		t.Helper()
		if got := IsolationOf(r.setting(tomas, SignOff{}), r.permits[1]); got != want {
			t.Errorf("IsolationOf = %q in state %s, want %q", got, r.permits[1].State(), want)
		}
	}
	r.untilAuthorised()
	is(NotIsolated)
	r.must(1, tomas, r.fit(1))
	is(PartlyLocked)
	r = newRig(t)
	r.untilProving()
	is(LockedOnly)
	r = newRig(t)
	id := r.untilLive()
	is(Isolated)
	lost := r.setting(tomas, SignOff{})
	if lost.Distrust = "An older copy was put back."; IsolationOf(lost, r.permits[id]) != LockedOnly {
		t.Error("a register that is not to be trusted still says that the part is isolated")
	}
	passing := r.setting(tomas, SignOff{})
	l, _ := r.permits[id].Lock(1)
	for _, l = range r.permits[id].Locks() {
		if l.Step.Isolates() {
			break
		}
	}
	passing.Ship.Passing = with(passing.Ship.Passing, l.Step.Point, "drips")
	if got := IsolationOf(passing, r.permits[id]); got != IsolationLost {
		t.Errorf("IsolationOf with %s passing = %q, want %q", l.Step.Point, got, IsolationLost)
	}
	r.must(id, olga, Suspend{Words: "General alarm"})
	is(LockedOnly)
}

func TestDeadlinesAreThoseOfThePermit(t *testing.T) {
	r := newRig(t)
	r.untilAuthorised()
	p := r.permits[1]
	set := func() Setting {
		s := r.setting(tomas, SignOff{})
		now := r.permits[1]
		s.Open = map[PermitID]*Permit{1: &now}
		return s
	}
	if got := Deadlines(set()); len(got) != 1 || !got[0].At.Equal(p.Until()) || got[0].IsWait {
		t.Errorf("Deadlines = %+v, want the end of the authorisation at %s alone", got, p.Until())
	}
	for range p.Locks() {
		r.must(1, tomas, r.fit(1))
	}
	waiting := r.permits[1].EarliestOpen(r.at).Waiting
	if len(waiting) == 0 {
		t.Fatal("nothing is waited for after the last tag")
	}
	got := Deadlines(set())
	if n := len(got); n != 1+len(waiting) || got[n-1].IsWait || !got[0].IsWait {
		t.Errorf("Deadlines = %+v, want %d waits and then the authorisation", got, len(waiting))
	}
	if !slices.IsSortedFunc(got, func(a, b Deadline) int { return a.At.Compare(b.At) }) {
		t.Errorf("Deadlines = %+v, want the first one first", got)
	}
}
