package register

import (
	"context"
	"testing"
	"time"

	"stillwatch/permits"
)

// TestWrongPositionStopsEveryPermitAtThePoint finds a point in a wrong position that two permits hold: both stop in the
// same commit, and the log replays.
func TestWrongPositionStopsEveryPermitAtThePoint(t *testing.T) {
	a := manned(t)
	one, other := a.request(), a.request()
	a.fitted(one)
	a.fitted(other)
	l := standing(a, one).Locks()[0]
	a.must(one, permits.SightTag{N: 1, Point: l.Step.Point, Seen: permits.AsFound, Tag: l.Tag}, mate.ID)
	size := a.Head().Size
	a.must(one, permits.SightTag{N: 1, Point: l.Step.Point, Seen: permits.WrongPosition}, mate.ID)
	for _, id := range []permits.PermitID{one, other} {
		if got, _ := standing(a, id).Lock(1); got.Wrong == "" || got.WrongBy.By != mate.ID {
			t.Errorf("permit %d: lock 1 is wrong %q by %q", id, got.Wrong, got.WrongBy.By)
		}
	}
	if got := a.Head().Size - size; got != 2 {
		t.Errorf("%d entries were written, want the sight and what follows from it", got)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	if r := verified(t, a.dir); !r.OK() {
		t.Errorf("Verify() = %v", r.Faults)
	}
	a.open()
	if got, _ := standing(a, other).Lock(1); got.Wrong == "" {
		t.Error("after opening anew the other permit knows of nothing")
	}
}

// TestRegisterOfTheFormatBeforeIsBroughtOn opens a file without what later formats have.
func TestRegisterOfTheFormatBeforeIsBroughtOn(t *testing.T) {
	a := manned(t)
	a.fitted(a.request())
	want := a.Setting(a.clock(), fitter).Uses
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	change(t, a.dir, "DROP TABLE uses; DROP INDEX entry_who; DROP INDEX entry_kind_at; "+
		"ALTER TABLE permits DROP COLUMN kinds; PRAGMA user_version = 2")
	if r := verified(t, a.dir); !r.OK() {
		t.Errorf("Verify() of the format before = %v", r.Faults)
	}
	a.open()
	got := a.Setting(a.clock(), fitter).Uses
	for _, who := range []permits.PersonID{fitter.ID, officer.ID, mate.ID} {
		now, used := got.Of("P1-seal", who)
		was, did := want.Of("P1-seal", who)
		if now != was || used != did {
			t.Errorf("%s used the plan %v, %t; want %v, %t", who, now, used, was, did)
		}
	}
	if _, used := got.Of("P1-seal", fitter.ID); !used {
		t.Error("the fitter has not used the plan: the test looks at too little")
	}
	if r := verified(t, a.dir); !r.OK() {
		t.Errorf("Verify() of what was brought on = %v", r.Faults)
	}
}

// TestWhoUsedAPlanIsKnownAfterOpeningAnew asks the gate of the yearly inspection before and after.
func TestWhoUsedAPlanIsKnownAfterOpeningAnew(t *testing.T) {
	a := manned(t)
	a.fitted(a.request())
	act := permits.InspectPlan{Job: "P1-seal", With: []permits.PersonID{fitter.ID},
		Words: "walked past every point with him"}
	for range 2 {
		if no, ok := asRefusal(second2(a.try(0, act, officer.ID))); !ok || no.Gate != "inspect plan" {
			t.Errorf("by the officer who authorised = %v, want refused", no)
		}
		a.reopen()
	}
	a.must(0, act, mate.ID)
	a.wait(400 * 24 * time.Hour)
	a.must(0, permits.InspectPlan{Job: "P1-seal", With: []permits.PersonID{mate.ID}, Words: "walked it a year later"},
		fitter.ID)
	a.reopen()
	if in := a.Ship().Inspected["P1-seal"]; in.By != fitter.ID || in.Plant != a.Ship().PlantSHA256 {
		t.Errorf("inspected = %+v", in)
	}
	if r := verified(t, a.dir); !r.OK() {
		t.Errorf("Verify() = %v", r.Faults)
	}
}

// standing returns a permit as it stands.
func standing(a *aboard, id permits.PermitID) permits.Permit {
	a.t.Helper()
	p, err := a.Permit(context.Background(), id)
	if err != nil {
		a.t.Fatal(err)
	}
	return p
}
