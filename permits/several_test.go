package permits

import (
	"strings"
	"testing"
	"time"

	"stillwatch/isolation"
)

// TestSharedPointOpensWithItsLastLock walks two permits on the same points: whoever ends first leaves every point as it
// is held, and the last brings it back. (One point, several jobs: whoever clears the last line clears the tag; US naval
// training manuals, read.)
func TestSharedPointOpensWithItsLastLock(t *testing.T) {
	r := newRig(t)
	first, last := r.untilLive(), r.untilLive()
	r.must(first, tomas, SignOff{})
	r.must(first, ines, HandBack{ToolsBack: 12, GuardsBack: true})
	for {
		l, on := r.permits[first].NextRemove()
		if !on {
			break
		}
		r.between(first)
		left, why := r.permits[first].LeaveAt(r.setting(tomas, RemoveLock{}).Held, l)
		if left != l.Step.Position || !strings.Contains(why, "permit "+itoa(int(last))) {
			t.Errorf("%s is to be left %s%s, want it held for the other permit", l.Step.Point, left, why)
		}
		if l.Step.Position != l.Step.Clearance {
			r.refuses(first, tomas, RemoveLock{Tag: l.Tag, Position: l.Step.Clearance}, "remove lock")
		}
		r.must(first, tomas, RemoveLock{Tag: l.Tag, Position: left})
	}
	r.must(last, tomas, SignOff{})
	r.must(last, ines, HandBack{ToolsBack: 12, GuardsBack: true})
	l, _ := r.permits[last].NextRemove()
	r.between(last)
	left, why := r.permits[last].LeaveAt(r.setting(tomas, RemoveLock{}).Held, l)
	if left != l.Step.Clearance || why != "" {
		t.Errorf("the last lock leaves %s %s%s, want it back as the plant needs it", l.Step.Point, left, why)
	}
}

// TestConflictingPositionIsToldAndRefused has two permits want one point in two positions: the plan of the second says
// so, and it is not authorised. (A stricter condition on a tagged point is a conflict, not a silent merge; same
// source.)
func TestConflictingPositionIsToldAndRefused(t *testing.T) {
	r := newRig(t)
	first := r.untilAuthorised()
	r.must(first, tomas, r.fit(first))
	point := r.permits[first].Locks()[0].Step
	r.must(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"})
	p := r.permits[2].clone()
	p.locks[0].Step.Position = point.Clearance
	r.permits[2] = p
	r.refuses(2, olga, Authorise{Hours: 12, Tags: r.tags(2)}, "authorise")
	plan := *r.plan().Plan()
	plan.Steps = append([]isolation.Step(nil), plan.Steps...)
	plan.Steps[0].Position = point.Clearance
	told := isolation.Conflicts(plan, r.setting(tomas, Request{}).Circumstances(2).Held)
	if len(told) != 1 || told[0].Shared || told[0].Point != point.Point || told[0].Permit != "1" {
		t.Errorf("the second plan tells %+v, want the point that permit 1 holds otherwise", told)
	}
}

// TestNoLockGoesOnWhereATestHasThePointOpen has another permit come to a breaker that is on for a test run.
func TestNoLockGoesOnWhereATestHasThePointOpen(t *testing.T) {
	r := newRig(t)
	id := r.untilTesting()
	r.lift(id)
	second := r.begin(r.plan())
	for {
		l, more := r.permits[second].NextFit()
		if !more {
			t.Fatal("the second permit was fitted through although a test has Q1 open")
		}
		if l.Step.Point == "Q1" {
			break
		}
		r.must(second, tomas, r.fit(second))
	}
	r.refuses(second, tomas, r.fit(second), "fit lock")
	r.must(id, ines, EndTest{Stopped: true})
	r.must(second, tomas, r.fit(second))
}

// untilUnder walks a permit to the work with its keys in a group box, and requests and authorises another under it.
func (r *rig) untilUnder() (parent, under PermitID) {
	r.tb.Helper()
	parent = r.untilLive()
	r.must(parent, tomas, SignOff{})
	r.must(parent, ines, r.boxes(parent))
	r.must(0, tomas, r.permits[parent].RequestUnder("renew the motor's cable gland"))
	under = PermitID(len(r.permits))
	r.must(under, olga, Authorise{Hours: 8})
	return parent, under
}

// boxes puts the keys of a permit's locks into a group box.
func (r *rig) boxes(id PermitID) UseBox {
	a := UseBox{Box: "B" + itoa(int(id))}
	for _, l := range r.permits[id].Locks() {
		if l.Padlock != "" {
			a.Keys++
		}
	}
	return a
}

// TestSubPermitWorksUnderItsParentsLocks walks a sub-permit through its life: it goes live only while its parent is, it
// stops with it, and its parent neither ends nor tests while it is at work.
func TestSubPermitWorksUnderItsParentsLocks(t *testing.T) {
	r := newRig(t)
	parent, sub := r.untilUnder()
	r.refuses(sub, tomas, r.fit(parent), "fit lock")
	r.refuses(sub, olga, Accept{ToolsOut: 2}, "live")
	r.must(sub, tomas, Accept{ToolsOut: 2})
	r.refuses(sub, karim, SignOn{}, "form")
	r.must(sub, karim, SignOn{Lock: "K7"})
	r.refuses(parent, tomas, SignOn{Lock: "K7"}, "live")
	r.must(parent, tomas, SignOn{Lock: "T1"})
	r.must(parent, tomas, SignOff{LockOff: true})
	if next := WhatNext(r.setting(ines, HandBack{}), r.permits[parent]); !strings.Contains(next[0].What,
		"Permit 2, which is live, works under these locks.") {
		t.Errorf("the parent waits for %q, want it to say that permit 2 is at work", next[0].What)
	}
	for _, a := range []PermitAct{HandBack{ToolsBack: 12, GuardsBack: true}, r.asks(parent)} {
		r.refuses(parent, ines, a, map[Kind]string{KindHandBack: "hand back", KindAskTest: "ask for test"}[a.Kind()])
	}
	r.refuses(parent, olga, Cancel{Words: "sailing orders", ToolsBack: 12, GuardsBack: true}, "cancel")
	r.refuses(sub, tomas, r.asks(parent), "ask for test")

	r.must(parent, ines, FindWrong{N: 1, Words: "the lock is gone"})
	if got := r.permits[sub].State(); got != Suspended {
		t.Fatalf("the sub-permit stands at %s when its parent lost a lock, want suspended", got)
	}
	if a := Alarms(r.setting(vera, SignOff{}), r.permits[sub]); len(a) == 0 || !strings.Contains(a[0].Who, "Karim") {
		t.Errorf("alarms = %+v, want Karim called out", a)
	}
	r.must(sub, karim, SignOff{})
	r.refuses(sub, olga, Resume{}, "resume") // a lock of his own hangs still
	r.waitsFor(sub, KindTakeOwnLock)
	r.must(sub, karim, TakeOwnLock{Person: karim.ID})
	r.must(sub, olga, Resume{})
	r.refuses(sub, tomas, Accept{ToolsOut: 2}, "live") // the parent is not live
	r.must(parent, olga, Resume{})
	r.must(parent, tomas, r.fit(parent))
	r.check(parent)
	r.record(parent)
	r.must(parent, tomas, Prove{})
	r.issue(parent)
	r.must(parent, ines, Accept{ToolsOut: 12})
	r.refuses(sub, tomas, Accept{ToolsOut: 2}, "live") // its keys are in no box
	r.must(parent, ines, r.boxes(parent))
	r.refuses(sub, tomas, Accept{ToolsOut: 1}, "live") // two went out
	r.refuses(sub, olga, Cancel{Words: "not needed"}, "cancel")
	r.must(sub, tomas, Accept{ToolsOut: 2})
	r.must(sub, tomas, HandBack{ToolsBack: 2, GuardsBack: true})
	r.must(parent, ines, HandBack{ToolsBack: 12, GuardsBack: true})
	r.takeOff(parent)
	r.refuses(parent, chief, Close{Positions: true, Told: true}, "close")
	if next := WhatNext(r.setting(chief, Close{}), r.permits[parent]); !strings.Contains(next[0].What,
		"Permit 2 is under this one") {
		t.Errorf("the parent waits for %q, want it to say that permit 2 is not over", next[0].What)
	}
	r.must(sub, chief, Close{})
	r.must(parent, chief, Close{Positions: true, Told: true})
}

// TestSubPermitIsRefused looks at what a request under a permit must be.
func TestSubPermitIsRefused(t *testing.T) {
	r := newRig(t)
	parent, sub := r.untilUnder()
	r.refuses(0, tomas, r.permits[sub].RequestUnder("another trade"), "request")
	r.refuses(0, tomas, Request{Plan: r.plan(), Work: "another trade", Under: 9}, "request")
	other := r.permits[parent].RequestUnder("another trade")
	other.Plan = r.rich()
	r.plant, _ = tinyPlant()
	r.ship.PlantSHA256 = r.plant.SHA256
	r.refuses(0, tomas, other, "request")
	r.must(parent, ines, HandBack{ToolsBack: 12, GuardsBack: true})
	r.refuses(0, tomas, r.permits[parent].RequestUnder("another trade"), "request")
	r.refuses(sub, tomas, Accept{ToolsOut: 2}, "live")
	r.must(sub, olga, Cancel{Words: "the parent is done"})
}

// TestSubPermitKeepsToItsParentsPeriodAndWatch has the parent run out, and be between two watches.
func TestSubPermitKeepsToItsParentsPeriodAndWatch(t *testing.T) {
	r := newRig(t)
	parent, sub := r.untilUnder()
	r.ship.People[otto.ID] = otto
	r.must(parent, olga, OfferWatch{To: otto.ID})
	r.refuses(sub, tomas, Accept{ToolsOut: 2}, "live")
	r.must(parent, olga, OfferWatch{To: olga.ID})
	r.must(sub, olga, Extend{Hours: 24})
	r.at = r.at.Add(12 * time.Hour)
	r.refuses(sub, tomas, Accept{ToolsOut: 2}, "live")
}

// TestGroupBoxHoldsEverybodysLock walks the group box of one permit: who works hangs a lock of their own, hand-back
// waits for the last, and an absent owner's comes off by the three conditions. (29 CFR 1910.147(f)(3) and (e)(3).)
func TestGroupBoxHoldsEverybodysLock(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	r.refuses(id, ines, r.boxes(id), "group box") // Tomas is at work
	r.must(id, tomas, SignOff{})
	r.refuses(id, tomas, r.boxes(id), "group box")
	short := r.boxes(id)
	short.Keys--
	r.refuses(id, ines, short, "group box")
	r.refuses(id, tomas, SignOn{Lock: "T1"}, "form")
	r.must(id, ines, r.boxes(id))
	r.refuses(id, tomas, SignOn{}, "form")
	fitted, _ := r.permits[id].Lock(1)
	r.refuses(id, tomas, SignOn{Lock: fitted.Padlock}, "live")
	r.must(id, tomas, SignOn{Lock: "T1"})
	r.must(id, karim, SignOn{Lock: "K1"})
	r.refuses(id, tomas, SignOff{}, "sign off")
	r.refuses(id, tomas, TakeOwnLock{Person: tomas.ID}, "group box")
	r.must(id, tomas, SignOff{LockOff: true})
	r.refuses(id, ines, HandBack{ToolsBack: 12, GuardsBack: true}, "hand back")

	r.must(id, karim, Suspend{Words: "general alarm"})
	r.must(id, karim, SignOff{}) // he ran
	r.refuses(id, olga, Resume{}, "resume")
	r.refuses(id, tomas, TakeOwnLock{Person: karim.ID}, "group box")
	away := r.released(karim)
	away.Absence.By, away.Call.By = tomas.ID, tomas.ID
	r.must(id, chief, away)
	r.must(id, tomas, TakeOwnLock{Person: karim.ID})
	r.refuses(id, karim, TakeOwnLock{Person: karim.ID}, "group box")
	r.must(id, olga, Resume{})
}
