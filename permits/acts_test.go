package permits

import (
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"stillwatch/isolation"
)

func TestWholeJobWalksTheWay(t *testing.T) {
	r := newRig(t)
	id := r.untilHandedBack()
	r.takeOff(id)
	r.must(id, chief, Close{Positions: true, Told: true})
	p := r.permits[id]
	if p.State() != Closed {
		t.Errorf("state = %s, want closed", p.State())
	}
	if p.LocksOn() != 0 || len(p.Holdings()) != 0 {
		t.Errorf("a closed permit has %d locks on and holds %v", p.LocksOn(), p.Holdings())
	}
}

func TestRemovalIsFittingReversed(t *testing.T) {
	r := newRig(t)
	id := r.untilHandedBack()
	r.takeOff(id)
	var on, off []TagDigest
	for _, e := range r.entries {
		switch a := e.Act.(type) {
		case FitLock:
			on = append(on, a.Tag)
		case RemoveLock:
			off = append(off, a.Tag)
		}
	}
	slices.Reverse(off)
	if d := cmp.Diff(on, off); d != "" || len(on) == 0 {
		t.Errorf("removal is not fitting reversed:\n%s", d)
	}
}

func TestLocksGoOnInOrderOnly(t *testing.T) {
	r := newRig(t)
	r.untilAuthorised()
	second, _ := r.permits[1].Lock(2)
	r.refuses(1, tomas, FitLock{Tag: second.Tag, Position: second.Step.Position, Padlock: "P9"}, "fit lock")
	wrong := r.fit(1)
	wrong.Position = isolation.Position("half open")
	r.refuses(1, tomas, wrong, "fit lock")
	r.refuses(1, tomas, FitLock{Tag: "of another permit", Position: isolation.Open, Padlock: "P9"}, "fit lock")
	bare := r.fit(1)
	bare.Padlock = ""
	r.refuses(1, tomas, bare, "form")
}

func TestOfficerWhoAuthorisedMayNotFit(t *testing.T) {
	r := newRig(t)
	both := Person{ID: "olga", Name: "Olga", Roles: []Role{Officer, Technician}}
	r.must(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"})
	r.must(1, both, Authorise{Hours: 12, Tags: r.tags(1)})
	r.refuses(1, both, r.fit(1), "fit lock")
}

func TestRequesterMayNotAuthorise(t *testing.T) {
	r := newRig(t)
	both := Person{ID: "tomas", Name: "Tomas", Roles: []Role{Officer, Technician}}
	r.must(0, both, Request{Plan: r.plan(), Work: "Shaft seal"})
	r.refuses(1, both, Authorise{Hours: 12, Tags: r.tags(1)}, "authorise")
}

func TestFitterMayNotCheckOwnLock(t *testing.T) {
	r := newRig(t)
	r.untilAuthorised()
	r.must(1, tomas, r.fit(1))
	r.refuses(1, tomas, CheckLock{N: 1}, "check lock")
	r.refuses(1, karim, CheckLock{N: 2}, "check lock")
	r.refuses(1, vera, CheckLock{N: 1}, "check lock")
	r.must(1, karim, CheckLock{N: 1})
}

func TestLockFoundWrongIsFittedAnew(t *testing.T) {
	r := newRig(t)
	r.untilAuthorised()
	r.must(1, tomas, r.fit(1))
	r.must(1, tomas, r.fit(1))
	r.must(1, karim, FindWrong{N: 1, Words: "lock hangs on the chain, not on the handle"})
	if next, _ := r.permits[1].NextFit(); next.Step.N != 1 {
		t.Errorf("next to fit = %d, want 1", next.Step.N)
	}
	r.refuses(1, karim, CheckLock{N: 1}, "check lock")
	r.must(1, tomas, r.fit(1))
	r.must(1, karim, CheckLock{N: 1})
}

func TestTagWithoutLockNeedsItsMeasure(t *testing.T) {
	r := newRig(t)
	r.untilAuthorised()
	p := r.permits[1].clone()
	p.locks[0].Step.Lock, p.locks[0].Step.Measure = false, "handwheel taken off"
	r.permits[1] = p
	a := r.fit(1)
	a.MeasureDone = false
	r.refuses(1, tomas, a, "fit lock")
	a.MeasureDone = true
	r.must(1, tomas, a)
}

func TestNoJointIsBrokenUnderPressure(t *testing.T) {
	r := newRig(t)
	r.untilAuthorised()
	p := r.permits[1].clone()
	p.locks[0].Step.Phase = isolation.PhaseBlank
	r.permits[1] = p
	a := r.fit(1)
	a.NoPressure = false
	r.refuses(1, tomas, a, "fit lock")
	a.NoPressure = true
	r.must(1, tomas, a)
}

func TestPadlockHangsOnOnePointOnly(t *testing.T) {
	r := newRig(t)
	r.untilAuthorised()
	first := r.fit(1)
	r.must(1, tomas, first)
	second := r.fit(1)
	second.Padlock = first.Padlock
	r.refuses(1, tomas, second, "fit lock")
}

func TestLabelOfTheNeighbouringValveIsRefused(t *testing.T) {
	r := newRig(t)
	r.untilAuthorised()
	point := r.permits[1].Locks()[0].Step.Point
	r.ship.Labels = map[isolation.NodeID]TagDigest{point: "label", "V2": "neighbour"}
	a := r.fit(1)
	a.Label = "neighbour"
	r.refuses(1, tomas, a, "fit lock")
	a.Label = ""
	r.refuses(1, tomas, a, "fit lock")
	a.Label = "label"
	r.must(1, tomas, a)
}

func TestProofNeedsEverything(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	r.refuses(id, tomas, Prove{}, "prove")
	r.record(id)
	r.must(id, tomas, RecordStart{Still: true, ControlsOff: false})
	r.refuses(id, tomas, Prove{}, "prove")
	r.must(id, tomas, RecordStart{Still: true, ControlsOff: true})
	d := r.permits[id].Dead()[0].Test.ID
	r.must(id, tomas, RecordDead{Test: d, Dead: true, ProvedBefore: true})
	r.refuses(id, tomas, Prove{}, "prove")
	r.must(id, tomas, RecordDead{Test: d, Dead: true, ProvedBefore: true, ProvedAfter: true})
	r.must(id, tomas, Prove{})
}

func TestNotDrainedShutsTheGateUntilTheChiefAccepts(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	r.record(id)
	section := r.permits[id].Drains()[0].Section
	r.must(id, tomas, RecordDrain{Section: section.ID, Reading: isolation.DrainReading{OutL: 0.05, HoldS: 900,
		TempC: section.TempC}, Words: "the drain runs drop by drop"})
	r.refuses(id, tomas, Prove{}, "prove")
	r.refuses(id, tomas, AcceptDeviation{Section: section.ID, Words: "casing is seen to be dry"}, "deviation")
	r.must(id, chief, AcceptDeviation{Section: section.ID, Words: "casing cover slackened, seen to be dry"})
	r.must(id, tomas, Prove{})
}

func TestNewReadingTakesTheProofBack(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	r.record(id)
	r.must(id, tomas, Prove{})
	r.must(id, tomas, RecordStart{Still: true, ControlsOff: true})
	r.refuses(id, ines, Accept{}, "live")
}

func TestRefillWhileLiveGoesBackToProving(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	section := r.permits[id].Drains()[0].Section
	r.must(id, tomas, RecordDrain{Section: section.ID, Reading: isolation.DrainReading{OutL: section.OutL, HoldS: 600,
		HoldInL: 4, TempC: section.TempC}})
	if got := r.permits[id].State(); got != Proving {
		t.Fatalf("state after a refill = %s, want proving", got)
	}
	r.refuses(id, ines, Accept{}, "live")
	r.refuses(id, tomas, SignOn{}, "live")
	r.must(id, tomas, SignOff{})
}

func TestImpossibleReadingsAreRefused(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	section := r.permits[id].Drains()[0].Section.ID
	for _, bad := range []isolation.DrainReading{
		{OutL: -1}, {HoldS: -1}, {HoldInL: -0.1}, {GaugeBar: -2}, {TempC: 9999}, {OutL: 1e9},
	} {
		r.refuses(id, tomas, RecordDrain{Section: section, Reading: bad}, "form")
	}
	r.refuses(id, tomas, RecordDrain{Section: "elsewhere"}, "record")
}

func TestHoldLongerThanTheDrainWasOpenIsRefused(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	a := drained(r.permits[id].Drains()[0].Section)
	a.Reading.HoldS = 7200
	r.refuses(id, tomas, a, "form")
	r.at = r.at.Add(2 * time.Hour)
	r.must(id, tomas, a)
}

func TestBadRecordIsNotWipedOutWithoutAWord(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	good := drained(r.permits[id].Drains()[0].Section)
	good.Words = ""
	bad := good
	bad.Reading.HoldInL = 4
	r.must(id, tomas, bad)
	r.refuses(id, tomas, good, "form")
	good.Words = "V1 was one turn open; shut and checked again"
	r.hold(id)
	r.must(id, tomas, good)
	dead := r.permits[id].Dead()[0].Test.ID
	r.must(id, tomas, RecordDead{Test: dead, ProvedBefore: true, ProvedAfter: true})
	r.refuses(id, tomas, RecordDead{Test: dead, ProvedBefore: true, Dead: true, ProvedAfter: true}, "form")
}

func TestAnybodyStopsTheWorkAndAllIsProvedAnew(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	r.refuses(id, vera, Suspend{Words: "smoke"}, "suspend")
	r.must(id, karim, Suspend{Words: "smoke in the purifier room"})
	r.refuses(id, ines, SignOn{}, "live")
	r.refuses(id, olga, Resume{}, "resume")
	r.must(id, tomas, SignOff{})
	r.refuses(id, tomas, Resume{}, "resume")
	r.must(id, olga, Resume{})
	r.refuses(id, tomas, Prove{}, "prove")
	r.check(id)
	r.refuses(id, tomas, Prove{}, "prove")
	r.record(id)
	r.must(id, tomas, Prove{})
	r.issue(id)
	r.must(id, ines, Accept{ToolsOut: 12})
}

func TestNothingGoesOnWhileAPointPasses(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	var point isolation.NodeID
	for _, l := range r.permits[id].Locks() {
		if l.Step.Isolates() {
			point = l.Step.Point
		}
	}
	r.ship.Passing = map[isolation.NodeID]string{point: "let oil through"}
	r.refuses(id, ines, SignOn{}, "live")
	r.must(id, tomas, SignOff{})
}

func TestOnlyThePersonInChargeHandsBack(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	r.must(id, tomas, SignOff{})
	r.refuses(id, tomas, HandBack{ToolsBack: 12, GuardsBack: true}, "hand back")
	r.must(id, chief, HandBack{ToolsBack: 12, GuardsBack: true})
}

func TestHandBackNeedsPeopleToolsAndGuards(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	r.refuses(id, ines, HandBack{ToolsBack: 12, GuardsBack: true}, "hand back")
	r.must(id, tomas, SignOff{})
	r.refuses(id, ines, HandBack{ToolsBack: 11, GuardsBack: true}, "hand back")
	r.refuses(id, ines, HandBack{ToolsBack: 12}, "hand back")
	r.must(id, ines, HandBack{ToolsBack: 12, GuardsBack: true})
}

func TestOnlyTheOwnerRemovesUnlessReleased(t *testing.T) {
	r := newRig(t)
	id := r.untilHandedBack()
	r.refuses(id, ines, r.remove(id), "remove lock")
	all := r.released(tomas)
	for _, c := range []struct {
		gate string
		lack func(*ReleaseOwner)
	}{
		{"absent owner", func(a *ReleaseOwner) { a.Verified = false }},
		{"absent owner", func(a *ReleaseOwner) { a.Tried = false }},
		{"absent owner", func(a *ReleaseOwner) { a.WillTell = false }},
		{"form", func(a *ReleaseOwner) { a.Absence.By = "" }},
		{"form", func(a *ReleaseOwner) { a.Absence.How = "" }},
		{"form", func(a *ReleaseOwner) { a.Absence.At = time.Time{} }},
		{"form", func(a *ReleaseOwner) { a.Call.By = tomas.ID }},
		{"form", func(a *ReleaseOwner) { a.Call.At = r.at.Add(time.Hour) }},
		{"absent owner", func(a *ReleaseOwner) { a.Call.At = r.at.Add(-13 * time.Hour) }},
		{"form", func(a *ReleaseOwner) { a.Telling.By = "nobody" }},
		{"form", func(a *ReleaseOwner) { a.Telling.How = "soon" }},
	} {
		lacking := all
		c.lack(&lacking)
		r.refuses(id, chief, lacking, c.gate)
	}
	r.refuses(id, tomas, all, "absent owner")
	r.must(id, chief, all)
	r.must(id, ines, r.remove(id))
}

func TestCloseNeedsEveryLockOff(t *testing.T) {
	r := newRig(t)
	id := r.untilHandedBack()
	r.refuses(id, chief, Close{Positions: true, Told: true}, "close")
	for range r.permits[id].Locks() {
		r.between(id)
		r.must(id, tomas, r.remove(id))
	}
	r.refuses(id, chief, Close{Positions: true, Told: true}, "close")
	r.see(id)
	r.refuses(id, chief, Close{Positions: true, Told: true}, "close")
	r.between(id)
	r.refuses(id, tomas, Close{Positions: true, Told: true}, "close")
	r.refuses(id, chief, Close{Positions: true}, "close")
	r.refuses(id, chief, Close{Told: true}, "close")
	r.must(id, chief, Close{Positions: true, Told: true})
}

func TestCancellingDropsNoLock(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	r.must(id, olga, Cancel{Words: "sailing orders"})
	if got := r.permits[id].State(); got != Restoring {
		t.Fatalf("state = %s, want restoring", got)
	}
	r.refuses(id, chief, Close{Positions: true, Told: true}, "close")
	r.takeOff(id)
	r.must(id, chief, Close{Positions: true, Told: true})
	if got := r.permits[id].State(); got != Cancelled {
		t.Errorf("state = %s, want cancelled", got)
	}
}

func TestExpiredAuthorisationStopsWorkButNotMakingSafe(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	r.at = r.at.Add(13 * time.Hour)
	r.refuses(id, ines, SignOn{}, "live")
	r.must(id, olga, Extend{Hours: 24}) // late: it stops the work
	r.refuses(id, ines, SignOn{}, "live")
	r.must(id, tomas, SignOff{})
	r.must(id, olga, Resume{Short: false})
	r.check(id)
	r.record(id)
	r.must(id, tomas, Prove{})
	r.issue(id)
	r.must(id, ines, Accept{ToolsOut: 12})
	r.must(id, tomas, SignOn{})
	r.at = r.at.Add(25 * time.Hour)
	r.refuses(id, ines, SignOn{}, "live")
	r.must(id, tomas, SignOff{})
	r.must(id, ines, HandBack{ToolsBack: 12, GuardsBack: true})
}

func TestPeriodKeepsToTheRules(t *testing.T) {
	r := newRig(t)
	r.must(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"})
	for _, h := range []float64{0, -1, 24.5, 1e300} {
		r.refuses(1, olga, Authorise{Hours: h, Tags: r.tags(1)}, "form")
	}
}

func TestPlanOfAnotherPlantFileIsRefused(t *testing.T) {
	r := newRig(t)
	r.must(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"})
	r.ship.PlantSHA256 = strings.Repeat("0", 64)
	r.refuses(1, olga, Authorise{Hours: 12, Tags: r.tags(1)}, "authorise")
	r.refuses(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"}, "request")
}

func TestPointFoundPassingIsNotLocked(t *testing.T) {
	r := newRig(t)
	r.untilAuthorised()
	r.ship.Passing = map[isolation.NodeID]string{r.permits[1].Locks()[0].Step.Point: "let oil through"}
	r.refuses(1, tomas, r.fit(1), "fit lock")
}

func TestSharedPointStaysShutUntilTheLastLock(t *testing.T) {
	r := newRig(t)
	first, second := r.untilHandedBack(), r.untilHandedBack()
	l, _ := r.permits[first].NextRemove()
	a := r.remove(first)
	if a.Position != l.Step.Position {
		t.Fatalf("left at %s while another permit holds it, want %s", a.Position, l.Step.Position)
	}
	r.refuses(first, tomas, RemoveLock{Tag: a.Tag, Position: l.Step.Clearance}, "remove lock")
	r.must(first, tomas, a)
	last, _ := r.permits[second].NextRemove()
	if got := r.remove(second).Position; got != last.Step.Clearance {
		t.Errorf("the last lock leaves it at %s, want %s", got, last.Step.Clearance)
	}
}

func TestEntriesReadBackAsWritten(t *testing.T) {
	r := newRig(t)
	id := r.untilHandedBack()
	var again []Entry
	for _, e := range r.entries {
		text, err := e.Encode()
		if err != nil {
			t.Fatal(err)
		}
		back, err := DecodeEntry(e.N, text)
		if err != nil {
			t.Fatal(err)
		}
		second, err := back.Encode()
		if err != nil {
			t.Fatal(err)
		}
		if string(second) != string(text) {
			t.Fatalf("entry %d does not read back:\n%s\n%s", e.N, text, second)
		}
		again = append(again, back)
	}
	if d := cmp.Diff(r.permits[id], Fold(again), cmp.Exporter(func(reflect.Type) bool { return true })); d != "" {
		t.Errorf("the permit folded from the log differs:\n%s", d)
	}
}

// TestReleaseOfEarlierEditionsStandsAsItWasJudged judges a release that says all in one sentence by every edition.
func TestReleaseOfEarlierEditionsStandsAsItWasJudged(t *testing.T) {
	r := newRig(t)
	id := r.untilHandedBack()
	old := ReleaseOwner{Owner: tomas.ID, Verified: true, Tried: true, WillTell: true,
		Words: "went ashore at 14:00, telephone not answered"}
	r.refuses(id, chief, old, "form")
	for _, judge := range Judges() {
		s := r.setting(chief, old)
		s.Judge = judge
		if _, err := Decide(s, r.permits[id], old); (err == nil) != (judge.Edition < 4) {
			t.Errorf("by edition %d: %v", judge.Edition, err)
		}
	}
}
