package permits

import (
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
)

// TestTestRunGoesInFiveSteps walks a test run, and tries at each step what may not be done yet. (29 CFR 1910.147(f)(1),
// read: clear tools and people, remove the devices, energise and test, de-energise and put them on again, go on.)
func TestTestRunGoesInFiveSteps(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	asks := r.asks(id)
	r.refuses(id, ines, asks, "ask for test") // tomas is signed on
	r.must(id, tomas, SignOff{})
	short := asks
	short.ToolsBack--
	r.refuses(id, ines, short, "ask for test")
	open := asks
	open.Closed = false
	r.refuses(id, ines, open, "ask for test")
	r.refuses(id, tomas, asks, "ask for test") // not in charge
	more := asks
	more.Steps = []int{2, 1}
	r.refuses(id, ines, more, "ask for test")
	r.must(id, ines, asks)

	l, _ := r.permits[id].NextLift()
	lift := LiftLock{Tag: l.Tag, Position: l.Step.Clearance}
	r.refuses(id, tomas, lift, "lift lock") // not sanctioned
	r.refuses(id, tomas, SignOn{}, "live")
	r.must(id, olga, SanctionTest{})
	r.refuses(id, tomas, RecordTest{Words: "it turns the right way"}, "record test")
	r.refuses(id, ines, lift, "lift lock") // not the owner
	other, _ := r.permits[id].Lock(2)
	r.refuses(id, tomas, LiftLock{Tag: other.Tag, Position: other.Step.Clearance}, "lift lock")
	r.refuses(id, tomas, LiftLock{Tag: l.Tag, Position: l.Step.Position}, "lift lock")
	r.must(id, tomas, lift)
	if p := r.permits[id]; p.LocksOn() != len(p.Locks())-1 {
		t.Errorf("%d of %d hang, want all but one", p.LocksOn(), len(p.Locks()))
	}
	r.must(id, tomas, RecordTest{Words: "it turns the right way"})
	r.refuses(id, tomas, EndTest{}, "end test")
	r.must(id, tomas, EndTest{Stopped: true})

	p := r.permits[id]
	if next, ok := p.NextFit(); p.State() != Isolating || !ok || next.Step.N != l.Step.N {
		t.Fatalf("after the test the permit is %s and lock %d is next, want lock %d to go on again", p.State(), next.Step.N,
			l.Step.N)
	}
	if _, under := p.Testing(); under || !p.Proved().IsZero() || !p.Accepted().IsZero() {
		t.Error("after the test the proof still stands")
	}
	r.refuses(id, tomas, SignOn{}, "live")
	r.must(id, tomas, r.fit(id))
	for _, l := range r.permits[id].Locks() {
		r.must(id, karim, CheckLock{N: l.Step.N})
	}
	r.record(id)
	r.must(id, tomas, Prove{})
	r.issue(id)
	r.must(id, ines, Accept{ToolsOut: 4})
	if !r.permits[id].Owes() {
		t.Error("tools went out again, and nothing is owed")
	}
}

// TestTestRunIsRefusedWhereOthersRelyOnTheLock has a second permit on the same breaker.
func TestTestRunIsRefusedWhereOthersRelyOnTheLock(t *testing.T) {
	r := newRig(t)
	id := r.untilLive()
	r.must(id, tomas, SignOff{})
	second := r.begin(r.plan())
	_, err := Decide(r.setting(ines, r.asks(id)), r.permits[id], r.asks(id))
	if err == nil || !strings.Contains(err.Error(), "Permit "+itoa(int(second))+" is to hold Q1 too") {
		t.Errorf("asked for a test while permit %d holds the breaker = %v, want it refused by name", second, err)
	}
}

// TestStoppedTestPutsItsLocksOnAgain stops the work in the middle of a test: what came off is fitted anew.
func TestStoppedTestPutsItsLocksOnAgain(t *testing.T) {
	r := newRig(t)
	id := r.untilTesting()
	r.lift(id)
	r.must(id, karim, Suspend{Words: "smoke from the motor"})
	r.must(id, olga, Resume{})
	if next, ok := r.permits[id].NextFit(); !ok || r.permits[id].State() != Isolating || next.Step.Point != "Q1" {
		t.Errorf("after the stop %s is next, want the breaker to be locked again", next.Step.Point)
	}
}

// TestEarthComesOffOnlyUnderTheSanction tests what is earthed: its earth is among what comes off, before the breaker,
// and nothing comes off without the officer's signature. (Sanction for test: UK COSWP, from memory.)
func TestEarthComesOffOnlyUnderTheSanction(t *testing.T) {
	r := newRig(t)
	plan := r.rich()
	r.must(0, tomas, Request{Plan: plan, Work: "Shaft seal"})
	r.must(1, olga, Authorise{Hours: 24, Tags: r.tags(1), Unproved: true})
	asks := r.asks(1)
	var points []isolation.NodeID
	for _, n := range asks.Steps {
		points = append(points, plan.Plan().Steps[n-1].Point)
	}
	if !slices.Equal(points, []isolation.NodeID{"E1", "Q1"}) {
		t.Errorf("for a run of the motor come off %v, want the earth and then the breaker", points)
	}
}
