package permits

import (
	"strings"
	"testing"
	"time"
)

// quick records a hold of a quarter of an hour, so long after now.
func (r *rig) quick(id PermitID, after time.Duration) error {
	r.tb.Helper()
	pace := r.pace
	r.pace = after
	defer func() { r.pace = pace }()
	return r.try(id, tomas, drained(r.permits[id].Drains()[0].Section))
}

// hold waits until every section can have been held anew for a quarter of an hour.
func (r *rig) hold(id PermitID) {
	for _, d := range r.permits[id].Drains() {
		if from, _ := r.permits[id].HoldFrom(r.setting(tomas, RecordDrain{}), d); !from.IsZero() {
			r.at = latest(r.at, from.Add(15*time.Minute))
		}
	}
}

// A hold is watched: one that must prove anew begins when every lock hangs seen again, and not in what was lost.
func TestAHoldThatProvesAnewBeganAfterTheProofWasLost(t *testing.T) {
	lose := map[string]func(r *rig, id PermitID){
		"test run": func(r *rig, id PermitID) {
			r.must(id, tomas, SignOff{})
			r.must(id, ines, r.asks(id))
			r.lift(id)
			r.must(id, tomas, RecordTest{Words: "it turns the right way"})
			r.must(id, tomas, EndTest{Stopped: true})
			r.must(id, tomas, r.fit(id))
		},
		"stop": func(r *rig, id PermitID) {
			r.must(id, tomas, SignOff{})
			r.must(id, karim, Suspend{Words: "oil smells"})
			r.must(id, olga, Resume{})
		},
		"audit": func(r *rig, id PermitID) {
			r.must(id, tomas, SignOff{})
			r.must(id, karim, r.sight(id, 1, WrongPosition))
			r.must(id, olga, Resume{})
			r.must(id, tomas, r.fit(id))
		},
	}
	for name, lost := range lose {
		t.Run(name, func(t *testing.T) {
			r := newRig(t)
			id := r.untilLive()
			r.at = r.at.Add(3 * time.Hour)
			lost(r, id)
			r.check(id)
			if got := r.permits[id].State(); got != Proving {
				t.Fatalf("the permit is %s, want proving", got)
			}
			err := r.quick(id, time.Minute)
			if err == nil || !strings.Contains(err.Error(), "since the proof was lost") {
				t.Fatalf("a hold of 15 min a minute after the last look = %v, want it refused", err)
			}
			if err := r.quick(id, 14*time.Minute); err != nil {
				t.Errorf("the same hold when it can have been = %v", err)
			}
		})
	}
}

// What came in the hold came from somewhere: the next hold begins after that was seen to.
func TestAHoldAfterALeakBeganAfterTheLeakWasSeen(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	r.at = r.at.Add(3 * time.Hour)
	bad := drained(r.permits[id].Drains()[0].Section)
	bad.Reading.HoldInL = 40
	r.must(id, tomas, bad)
	if got := r.permits[id].Drains()[0].Finding.Result; got != "passing" {
		t.Fatalf("40 L in the hold is %q, want passing", got)
	}
	if err := r.quick(id, time.Minute); err == nil || !strings.Contains(err.Error(), "recorded as leaking") {
		t.Errorf("a hold of 15 min a minute after the leak = %v, want it refused", err)
	}
	if err := r.quick(id, 14*time.Minute); err != nil {
		t.Errorf("the same hold when it can have been = %v", err)
	}
}

// A point that leaked was opened for its repair: what was read before proves nothing of what is behind it.
func TestNothingReadBeforeARepairProvesAnything(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	r.record(id)
	point := r.permits[id].Locks()[1].Step.Point
	r.aboard(tomas, RecordPassing{Point: point, Words: "drips through"})
	r.aboard(chief, RecordRepair{Point: point, Words: "new seat, tried tight"})
	r.refuses(id, tomas, Prove{}, "prove")
	if n := WhatNext(r.setting(tomas, Prove{}), r.permits[id])[0]; n.Kind != KindRecordDrain {
		t.Errorf("after the repair the permit waits for %q (%s), want a new reading", n.What, n.Kind)
	}
	if err := r.quick(id, time.Minute); err == nil || !strings.Contains(err.Error(), string(point)) {
		t.Errorf("a hold of 15 min a minute after the repair = %v, want it refused", err)
	}
	r.at = r.at.Add(20 * time.Minute)
	r.record(id)
	r.must(id, tomas, Prove{})
	r.aboard(tomas, RecordPassing{Point: point, Words: "drips again"})
	r.aboard(chief, RecordRepair{Point: point, Words: "new valve"})
	r.issue(id)
	r.refuses(id, ines, Accept{ToolsOut: 4}, "live")
}

// Nothing that must be read anew can be read before every lock hangs seen again, nor told later of a moment before.
func TestWhatProvesAnewIsReadAfterTheLastLook(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	r.at = r.at.Add(3 * time.Hour)
	r.must(id, tomas, SignOff{})
	r.must(id, karim, r.sight(id, 1, WrongPosition))
	r.must(id, olga, Resume{})
	r.must(id, tomas, r.fit(id))
	p := r.permits[id]
	all := []PermitAct{RecordStart{Still: true, ControlsOff: true}}
	for _, d := range p.Dead() {
		all = append(all, RecordDead{Test: d.Test.ID, ProvedBefore: true, Dead: true, ProvedAfter: true})
	}
	for _, c := range p.Stored() {
		all = append(all, RecordStored{Check: c.Check.ID, Value: c.Check.Limit})
	}
	for _, a := range all {
		if err := r.try(id, tomas, a); err == nil {
			t.Errorf("%s was taken before the locks were seen again", a.Kind())
		}
	}
	r.check(id)
	r.refuses(id, tomas, RecordStart{Still: true, ControlsOff: true, KeptS: 3600}, "record")
	for _, d := range p.Dead() {
		r.refuses(id, tomas, RecordDead{Test: d.Test.ID, ProvedBefore: true, Dead: true, ProvedAfter: true, KeptS: 3600},
			"record")
	}
}

// A lock found wrong while others are still fitted: what a phone kept from before counts no more.
func TestAKeptReadingFromBeforeTheProofWasLostIsRefused(t *testing.T) {
	r := newRig(t)
	id := r.untilAuthorised()
	r.must(id, tomas, r.fit(id))
	r.must(id, karim, FindWrong{N: 1, Words: "it hangs open"})
	s := r.setting(tomas, RecordStart{})
	if err := stillSo(s, r.permits[id], 600, "record"); err == nil {
		t.Error("what was seen ten minutes ago still counts after a lock was found wrong")
	}
}
