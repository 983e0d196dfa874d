package permits

import (
	"slices"
	"strings"
	"testing"
	"time"

	"stillwatch/isolation"
)

// untilFirst fits what can be fitted before the first step that waits for a reading, and returns that step.
func untilFirst(r *rig, id PermitID) Lock {
	r.tb.Helper()
	for {
		l, ok := r.permits[id].NextFit()
		if !ok {
			r.tb.Fatal("no step waits for a reading")
		}
		if len(l.Step.First) > 0 {
			return l
		}
		r.must(id, tomas, r.fit(id))
	}
}

// atRest returns a reading of a stored energy within its limit.
func atRest(p Permit, check string) RecordStored {
	return RecordStored{Check: check, Value: p.stored[p.storedIndex(check)].Check.Limit}
}

// TestStepThatOpensWaitsForTheRotor asks to open a drain at a machine whose rotor still turns. (29 CFR
// 1910.147(d)(5), read: stored energy is made safe; that it is so before the step that lets it out is own reasoning.)
func TestStepThatOpensWaitsForTheRotor(t *testing.T) {
	r, plan := storedRig(t)
	id := r.begin(plan)
	l := untilFirst(r, id)
	if !slices.Contains(l.Step.First, "rotation") {
		t.Fatalf("step %d waits for %v, want the rotor's reading among them", l.Step.N, l.Step.First)
	}
	r.refuses(id, tomas, r.fit(id), "fit lock")
	no := Foresee(r.setting(tomas, FitLock{}), r.permits[id], KindFitLock, Target{Step: l.Step.N})
	due := waitFor(t, r.permits[id], "rotation").Until.Round(time.Minute).Format("15:04")
	if no == nil || !strings.Contains(no.What, "rotor") || !strings.Contains(no.What, "earliest "+due) {
		t.Errorf("refused with %v, want the rotor and earliest %s", no, due)
	}
	if next := WhatNext(r.setting(tomas, FitLock{}), r.permits[id]); next[0].Kind != KindRecordStored ||
		next[0].At.Check != "rotation" {
		t.Errorf("the permit waits for %+v, want the reading", next[0])
	}
	r.must(id, tomas, RecordStored{Check: "rotation", Value: 300})
	r.refuses(id, tomas, r.fit(id), "fit lock")
	r.at = r.at.Add(25 * time.Minute)
	r.must(id, tomas, RecordStored{Check: "rotation", Value: 0})
	for _, check := range l.Step.First {
		if check != "rotation" {
			r.must(id, tomas, atRest(r.permits[id], check))
		}
	}
	r.must(id, tomas, r.fit(id))
}

// TestReadingBeforeItsStepIsRefused reads the rotor while its breaker is still in: it could be started again.
func TestReadingBeforeItsStepIsRefused(t *testing.T) {
	r, plan := storedRig(t)
	id := r.begin(plan)
	r.refuses(id, tomas, RecordStored{Check: "rotation", Value: 0}, "record")
	untilFirst(r, id)
	r.refuses(id, tomas, RecordStored{Check: "heat", Value: 40}, "record")
}

// TestLockFoundWrongTakesTheReadingBack finds the breaker in again after the rotor was read at rest.
func TestLockFoundWrongTakesTheReadingBack(t *testing.T) {
	r, plan := storedRig(t)
	id := r.begin(plan)
	l := untilFirst(r, id)
	r.at = r.at.Add(time.Hour)
	for _, check := range l.Step.First {
		r.must(id, tomas, atRest(r.permits[id], check))
	}
	r.must(id, karim, FindWrong{N: 1, Words: "the breaker is in"})
	r.must(id, tomas, r.fit(id))
	r.refuses(id, tomas, r.fit(id), "fit lock")
}

// TestGasIsReadBeforeItsJointIsBroken has a step of a plan wait for a reading whose wait counts from every step that
// hangs: the waiting step itself must not be among them, or the wait would never begin.
func TestGasIsReadBeforeItsJointIsBroken(t *testing.T) {
	r, plan := storedRig(t)
	id := r.begin(plan)
	p := r.permits[id].clone()
	last := len(p.locks)
	p.locks[last-1].Step.First = []string{"gas"}
	p.stored = append(p.stored, StoredState{Check: isolation.StoredCheck{ID: "gas", Name: "Line", Unit: "bar", WaitS: 60,
		Stored: isolation.Stored{Kind: "gas"}}})
	for i := range last - 1 {
		p.locks[i].Fitted = Mark{"tomas", r.at}
	}
	if w := waitFor(t, p, "gas"); !w.HasBegun() {
		t.Errorf("the wait for the gas counts from nothing: %+v", w)
	}
}
