package screens

import (
	"slices"
	"strconv"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// nextView is one thing that a permit waits for, with what a reader could do marked.
type nextView struct {
	permits.Next
	Yours bool
}

// nextViews returns what a permit waits for.
func nextViews(set permits.Setting, p permits.Permit) []nextView {
	var out []nextView
	for _, n := range permits.WhatNext(set, p) {
		n.What = ShipTime(n.What, set.At)
		out = append(out, nextView{n, n.IsFor(set.By) && permits.CanNow(set, p, n)})
	}
	return out
}

// AtWork reports whether it is done on the page of what is looked after at the work.
func (n nextView) AtWork() bool {
	return slices.Contains([]permits.Kind{permits.KindRecordAir, permits.KindAnswerMeasures, permits.KindTakePost,
		permits.KindLeavePost, permits.KindGoIn, permits.KindComeOut, permits.KindInhibit, permits.KindPutBack}, n.Kind)
}

// Form returns the name of the form on the permit's page that does it; "" where a tag is scanned.
func (n nextView) Form() string {
	switch n.Kind {
	case permits.KindRecordDrain:
		return "drain:" + n.At.Section
	case permits.KindRecordStored:
		return "reading:" + n.At.Check
	case permits.KindRecordDead:
		return "dead:" + n.At.Test
	case permits.KindTakeWork:
		return "take-work:" + string(n.At.Person)
	case permits.KindRecordStart:
		return "start"
	case permits.KindAcceptDeviation:
		return "deviation:" + n.At.Section
	case permits.KindConsentDeviation:
		return "consent:" + n.At.Section
	case permits.KindLeaveOut:
		return "leave-out"
	case permits.KindFitLock, permits.KindCheckLock, permits.KindCheckRestored, permits.KindRemoveLock,
		permits.KindLiftLock,
		permits.KindCountOut, permits.KindOpenAtOnce:
		return ""
	}
	return Slug(string(n.Kind))
}

// FormOf returns the name of the form that does what is next, "" where this page has none: nobody on this device could
// do it now, or a tag is scanned.
func (v PermitView) FormOf(n nextView) string {
	has := false
	switch n.Kind {
	case permits.KindRecordDrain, permits.KindRecordStored, permits.KindRecordDead, permits.KindRecordStart:
		has = true // the proof lists each
	case permits.KindCountersign:
		has = v.Master
	case permits.KindRestoreStep:
		has = v.Due != nil
	case permits.KindSuspend:
		has = v.Stops()
	default:
		has = permits.Offers(v.set, v.P, n.Kind, n.At)
	}
	return Choose(has, n.Form(), "")
}

// Scans reports whether what is next is done at a tag.
func (n nextView) Scans() bool { return n.Form() == "" }

// testView is a test run: what is to run, what comes off for it, and what comes where then.
type testView struct {
	Run   isolation.NodeID
	Name  string
	Off   []string
	Comes []string
	Dry   []string         // what it would turn in with nothing to pump
	No    *permits.Refusal // why it cannot be asked for now
	permits.TestRun
}

// TestViews returns what could be run under a permit, each with what would come off for it.
func TestViews(set permits.Setting, p permits.Permit, lifts []isolation.Lifting) []testView {
	var out []testView
	for _, l := range lifts {
		v := testViewOf(set, p, permits.TestRun{Lifting: l})
		v.No = InShipTime(permits.TestBlocked(set, p, l), set.At)
		out = append(out, v)
	}
	return out
}

func testViewOf(set permits.Setting, p permits.Permit, t permits.TestRun) testView {
	v := testView{Run: t.Run, Name: nodeName(set.Plant, t.Run), TestRun: t}
	for _, n := range t.Steps {
		l, _ := p.Lock(n)
		v.Off = append(v.Off, l.Thing()+" "+strconv.Itoa(n)+" off "+l.Step.Name+" ("+string(l.Step.Point)+"), left "+
			l.Step.Kind.Word(l.Step.Clearance))
	}
	for _, c := range t.Comes {
		v.Comes = append(v.Comes, nodeName(set.Plant, c.Source)+" comes to "+nodeName(set.Plant, c.Node))
	}
	if set.Plant != nil {
		for _, id := range p.Plan().RunsDry(set.Plant, t.Run) {
			v.Dry = append(v.Dry, nodeName(set.Plant, id))
		}
	}
	return v
}

// nodeName returns what people call a node of the plant in force; its id where there is none.
func nodeName(plant *isolation.Plant, id isolation.NodeID) string {
	if plant == nil || plant.Node(id) == nil {
		return string(id)
	}
	return plant.Node(id).Label()
}

// dueStep is what is to be done now between two locks.
type dueStep struct {
	permits.AddedStep
	Words string           // what, and why
	No    *permits.Refusal // another permit holds back what it needs; nil: it can be done
}

// dueOf returns what is to be done now between two locks; nil where a lock, or a second person, comes first.
func dueOf(set permits.Setting, p permits.Permit) *dueStep {
	a, _, ok := p.NextAdded()
	at := permits.Target{Step: a.N}
	if !ok || !permits.Offers(set, p, permits.KindRestoreStep, at) && !permits.Offers(set, p, permits.KindLeaveOut, at) {
		return nil
	}
	return &dueStep{a, p.AddedWords(set, a), p.HeldBack(set, a)}
}

// wayMark is one state on the line of the way.
type wayMark struct {
	State permits.State
	Now   bool
	Past  bool
}

type lockView struct {
	permits.Lock
	Shared []permits.Holding // of other permits
	Status string            // "to come", "next", "hangs", "checked", "wrong", "off"
}

// lockViews returns every step with where it stands.
func lockViews(set permits.Setting, p permits.Permit) []lockView {
	var out []lockView
	first, fitting := p.NextFit()
	fitting = fitting && p.Has(permits.KindFitLock)
	for _, l := range p.Locks() {
		view := lockView{Lock: l, Status: lockStatus(l, p.Has(permits.KindFitLock), fitting && l.Step.N == first.Step.N)}
		if !p.State().IsOver() {
			view.Shared = set.Held.At(l.Step.Point, p.ID())
		}
		out = append(out, view)
	}
	return out
}

func lockStatus(l permits.Lock, fits, isNext bool) string {
	switch {
	case !l.Off().IsZero() && !((l.Opened || l.Removed.IsZero()) && fits): // opened in an emergency or for a test: goes on
		return "off"
	case l.IsWrong():
		return "wrong"
	case isNext:
		return "next"
	case l.IsChecked():
		return "checked"
	case l.IsOn():
		return "hangs"
	}
	return "to come"
}

// wayOf returns the line of states that a permit walks, with where it stands. The states beside the line (suspended,
// under test, cancelled) show only while the permit stands in them.
func wayOf(p permits.Permit) []wayMark {
	line := []permits.State{permits.Draft, permits.Authorised, permits.Isolating, permits.Proving, permits.Live,
		permits.HandedBack, permits.Restoring, permits.Closed}
	now := p.State()
	at := -1
	for i, st := range line {
		if st == now {
			at = i
		}
	}
	switch now {
	case permits.Suspended, permits.Testing:
		line = append(line[:5:5], append([]permits.State{now}, line[5:]...)...)
		at = 5
	case permits.Cancelled:
		line = []permits.State{permits.Draft, permits.Cancelled}
		at = 1
	}
	if p.Cancelling() != "" && now == permits.Restoring {
		line = []permits.State{permits.Draft, permits.Authorised, permits.Isolating, permits.Restoring, permits.Cancelled}
		at = 3
	}
	out := make([]wayMark, len(line))
	for i, st := range line {
		out[i] = wayMark{State: st, Now: i == at, Past: i < at}
	}
	return out
}
