package permits

import (
	"strings"
	"testing"
	"time"

	"stillwatch/isolation"
)

// TestWhoEverAuthorisedMayNotFit has another officer extend: the first one's signature still counts.
func TestWhoEverAuthorisedMayNotFit(t *testing.T) {
	r := newRig(t)
	r.must(0, tomas, Request{Plan: r.plan(), Work: "Shaft seal"})
	r.must(1, both, Authorise{Hours: 12, Tags: r.tags(1)})
	r.handOver(1, both, olga)
	r.must(1, olga, Extend{Hours: 12})
	r.refuses(1, both, r.fit(1), "fit lock")
}

// TestWhoEverFittedMayNotAuthorise has another person fit the lock anew: who fitted it first still counts.
func TestWhoEverFittedMayNotAuthorise(t *testing.T) {
	r := newRig(t)
	r.untilAuthorised()
	r.must(1, both, r.fit(1))
	r.must(1, karim, FindWrong{N: 1, Words: "hangs on the chain"})
	r.must(1, tomas, r.fit(1))
	r.refuses(1, both, Extend{Hours: 12}, "authorise")
	r.must(1, olga, Extend{Hours: 12})
}

// TestWhoAuthorisedTakesNoLockOff is the same on the way back.
func TestWhoAuthorisedTakesNoLockOff(t *testing.T) {
	r := newRig(t)
	r.must(0, ines, Request{Plan: r.plan(), Work: "Shaft seal"})
	r.must(1, both, Authorise{Hours: 12, Tags: r.tags(1)})
	r.must(1, tomas, r.fit(1))
	r.must(1, olga, Cancel{Words: "not needed any more"})
	r.must(1, chief, r.released(tomas))
	r.hear(tomas)
	r.between(1)
	r.refuses(1, both, r.remove(1), "remove lock")
	r.must(1, ines, r.remove(1))
}

// TestLockFoundWrongStopsLiveWork records a lock that is gone while people work: the work stops, and the way leads back
// through a new lock, a look at every lock, the readings and the proof.
func TestLockFoundWrongStopsLiveWork(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	r.must(id, karim, FindWrong{N: 2, Words: "the lock is gone"})
	p := r.permits[id]
	if p.State() != Suspended {
		t.Fatalf("state = %s, want suspended", p.State())
	}
	if a := Alarms(r.setting(vera, SignOff{}), p); len(a) == 0 || !strings.Contains(a[0].Do, "Get them out") {
		t.Errorf("alarms = %+v, want people called out", a)
	}
	r.refuses(id, ines, SignOn{}, "live")
	r.must(id, tomas, SignOff{})
	r.must(id, olga, Resume{})
	r.refuses(id, tomas, Prove{}, "prove")
	r.must(id, tomas, r.fit(id))
	r.check(id)
	r.refuses(id, tomas, Prove{}, "prove")
	r.record(id)
	r.must(id, tomas, Prove{})
	r.issue(id)
	r.must(id, ines, Accept{ToolsOut: 12})
}

// TestLockFoundWrongInEveryState records it wherever locks hang.
func TestLockFoundWrongInEveryState(t *testing.T) {
	for _, tc := range []struct {
		name string
		walk func(*rig) PermitID
		to   State
	}{
		{"proving", (*rig).untilProving, Isolating},
		{"live", (*rig).untilLive, Suspended},
		{"handed back", (*rig).untilHandedBack, HandedBack},
	} {
		t.Run(tc.name, func(t *testing.T) {
			r := newRig(t)
			id := tc.walk(r)
			r.refuses(id, vera, FindWrong{N: 1, Words: "in the wrong position"}, "find lock wrong")
			r.must(id, karim, FindWrong{N: 1, Words: "in the wrong position"})
			if got := r.permits[id].State(); got != tc.to {
				t.Errorf("state = %s, want %s", got, tc.to)
			}
		})
	}
}

// TestToolsAreOwedThroughAStop stops the work and accepts it again with fewer tools, and cancels without a count.
func TestToolsAreOwedThroughAStop(t *testing.T) {
	r := newRig(t)
	id := r.untilLive() // with 12 tools
	r.must(id, tomas, SignOff{})
	r.must(id, karim, Suspend{Words: "fire drill"})
	r.must(id, olga, Resume{})
	r.check(id)
	r.refuses(id, olga, Cancel{Words: "sailing orders"}, "cancel")
	r.record(id)
	r.must(id, tomas, Prove{})
	r.refuses(id, ines, Accept{ToolsOut: 3}, "live")
	r.issue(id)
	r.must(id, ines, Accept{ToolsOut: 15})
	r.refuses(id, olga, Cancel{Words: "sailing orders", ToolsBack: 15}, "cancel")
	r.refuses(id, olga, Cancel{Words: "sailing orders", ToolsBack: 12, GuardsBack: true}, "cancel")
	r.must(id, olga, Cancel{Words: "sailing orders", ToolsBack: 15, GuardsBack: true})
}

// TestAClockThatRanAheadIsPutRight lets the clock run three days ahead while a permit is isolated and proved, and puts
// it right: the work goes on the same day, no wait is shorter than it would be from now, no reading of the false time
// counts, and the authorisation of the false time has run out.
func TestAClockThatRanAheadIsPutRight(t *testing.T) {
	r := newRig(t)
	r.at = r.at.Add(72 * time.Hour) // it runs ahead
	id := r.untilProving()
	r.record(id)
	r.must(id, tomas, Prove{})
	r.behind = 72 * time.Hour // somebody sets it right
	now := r.at.Add(-r.behind)
	r.refuses(id, otto, Extend{Hours: 12}, "authorise")
	if err := r.putClockRight(tomas); err == nil {
		t.Error("a technician put the clock right, want only the chief engineer or the master")
	}
	if err := r.putClockRight(chief); err != nil {
		t.Fatalf("put the clock right = %v", err)
	}
	p := r.permits[id]
	if p.State() != Isolating || len(p.Unchecked()) != len(p.Locks()) {
		t.Errorf("the permit stands at %s with %d of %d locks to be looked at, want all", p.State(), len(p.Unchecked()),
			len(p.Locks()))
	}
	for _, w := range p.Waits() {
		if w.HasBegun() && (w.Since.After(now) || w.Known && w.Left(now) < w.Length) {
			t.Errorf("%s counts from %s with %s left at %s, want the whole %s from now", w.What, w.Since, w.Left(now), now,
				w.Length)
		}
	}
	r.refuses(id, karim, Extend{Hours: 1}, "authorise")
	for _, l := range p.Locks() {
		r.must(id, karim, CheckLock{N: l.Step.N})
	}
	r.refuses(id, tomas, Prove{}, "prove")
	r.handOver(id, olga, otto)
	r.must(id, otto, Extend{Hours: 12})
	r.at = r.at.Add(5 * time.Hour)
	r.record(id)
	r.must(id, tomas, Prove{})
	if got := r.permits[id].Until(); got.After(now.Add(13 * time.Hour)) {
		t.Errorf("the authorisation runs until %s, want by the right clock", got)
	}
	if err := r.putClockRight(chief); err == nil {
		t.Error("a clock that stands with the log was put right")
	}
}

// TestClockBehindTheLogLeadsNothingOn sets the clock back: people may come out and locks may come off, and nothing
// leads on to work.
func TestClockBehindTheLogLeadsNothingOn(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	r.behind = time.Hour
	r.refuses(id, ines, SignOn{}, "live")
	r.must(id, tomas, SignOff{})
	r.must(id, karim, Suspend{Words: "fire drill"})
	r.refuses(id, olga, Resume{}, "resume")
	r.behind = time.Minute
	r.must(id, olga, Resume{})
}

func TestPeriodHasALeastLength(t *testing.T) {
	r := newRig(t)
	id := r.untilAuthorised()
	r.refuses(id, olga, Extend{Hours: 0.000001}, "form")
	r.must(id, olga, Extend{Hours: leastPeriodH})
}

// TestReadingFarAheadNeedsWordsAndASecondPerson reads a rotor at rest after a minute of the 25 that were foretold.
func TestReadingFarAheadNeedsWordsAndASecondPerson(t *testing.T) {
	r, plan := storedRig(t)
	r.pace = 10 * time.Second
	id := r.begin(plan)
	untilFirst(r, id)
	r.refuses(id, tomas, RecordStored{Check: "rotation", Value: 0}, "form")
	r.must(id, tomas, RecordStored{Check: "rotation", Value: 0, Words: "stood still when we came"})
	open := strings.Join(r.permits[id].Unproved(r.at), "; ")
	if !strings.Contains(open, "a second person reads it too") {
		t.Fatalf("open = %q, want that a second person reads it too", open)
	}
	r.must(id, tomas, RecordStored{Check: "rotation", Value: 0, Words: "looked once more"})
	if open = strings.Join(r.permits[id].Unproved(r.at), "; "); !strings.Contains(open, "second person") {
		t.Fatal("the same person's second look counted as another's")
	}
	r.must(id, ines, RecordStored{Check: "rotation", Value: 0, Words: "seen at rest by me too"})
	if open = strings.Join(r.permits[id].Unproved(r.at), "; "); strings.Contains(open, "second person") {
		t.Fatalf("open = %q after a second person's reading", open)
	}
}

func TestReadingFarAboveTheStartIsRefused(t *testing.T) {
	r, plan := storedRig(t)
	id := r.begin(plan)
	untilFirst(r, id)
	r.refuses(id, tomas, RecordStored{Check: "rotation", Value: 1e5}, "form")
}

// TestFarTooMuchIsAskedForAgain types ten times what the section holds, as by a slip of the finger.
func TestFarTooMuchIsAskedForAgain(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	a := drained(r.permits[id].Drains()[0].Section)
	a.Reading.OutL, a.Words = 10*a.Reading.OutL+5, ""
	r.refuses(id, tomas, a, "form")
	a.Words = "measured in the tank twice"
	r.must(id, tomas, a)
}

// TestOldReadingsProveNothing waits a watch between the readings and the signature.
func TestOldReadingsProveNothing(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	r.record(id)
	r.at = r.at.Add(readingAge + time.Minute)
	r.refuses(id, tomas, Prove{}, "prove")
	r.record(id)
	r.must(id, tomas, Prove{})
	r.at = r.at.Add(readingAge + time.Minute)
	r.refuses(id, ines, Accept{ToolsOut: 1}, "live")
}

// TestLeakStopsTheLivePermitsThatRelyOnThePoint looks for the act that the register adds.
func TestLeakStopsTheLivePermitsThatRelyOnThePoint(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	var point isolation.NodeID
	for _, l := range r.permits[id].Locks() {
		if l.Step.Isolates() {
			point = l.Step.Point
		}
	}
	stop, ok := FollowsFrom(Entry{Act: RecordPassing{Point: point, Words: "drips at the drain"}}, r.permits[id])
	if !ok {
		t.Fatal("a live permit goes on although a point that it relies on leaks")
	}
	r.must(id, karim, stop)
	if got := r.permits[id].State(); got != Suspended {
		t.Errorf("state = %s, want suspended", got)
	}
	if _, ok := FollowsFrom(Entry{Act: RecordPassing{Point: "elsewhere"}}, r.permits[id]); ok {
		t.Error("a leak elsewhere stops the permit")
	}
}

// TestWhoRecordedDoesNotAcceptTheDeviation has the chief engineer record a section and accept it as it is.
func TestWhoRecordedDoesNotAcceptTheDeviation(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	bad := drained(r.permits[id].Drains()[0].Section)
	bad.Reading.OutL = 0
	r.must(id, chief, bad)
	accept := AcceptDeviation{Section: bad.Section, Words: "seen to be dry by two of us"}
	r.refuses(id, chief, accept, "deviation")
	r.must(id, second, accept)
}

// TestRestoringHasASecondPerson closes only what was seen right by another than who took it off.
func TestRestoringHasASecondPerson(t *testing.T) {
	r := newRig(t)
	id := r.untilHandedBack()
	last, _ := r.permits[id].NextRemove()
	r.must(id, tomas, r.remove(id))
	r.refuses(id, tomas, CheckRestored{N: last.Step.N}, "check restored")
	r.refuses(id, karim, CheckRestored{N: 1}, "check restored")
	r.must(id, karim, CheckRestored{N: last.Step.N, Wrong: "still open"})
	for r.permits[id].LocksOn() > 0 {
		r.between(id)
		r.must(id, tomas, r.remove(id))
	}
	r.refuses(id, chief, Close{Positions: true, Told: true}, "close")
	r.see(id)
	r.between(id)
	r.must(id, chief, Close{Positions: true, Told: true})
}
