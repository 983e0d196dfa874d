package permits

import (
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/drain"
	"stillwatch/isolation/envelope"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
)

// storedRig is a ship whose pump stores energy of every kind that waits; it returns a proved plan of the job too.
func storedRig(t *testing.T) (*rig, proof.Proved) {
	t.Helper()
	r := newRig(t)
	text, err := os.ReadFile("../testdata/plants/tiny.yaml")
	if err != nil {
		t.Fatal(err)
	}
	if r.plant, err = plantfile.Read("tiny.yaml", text); err != nil {
		t.Fatal(err)
	}
	r.plant.Machine("P1").Stored = []isolation.Stored{
		{Kind: "rotation", Name: "rotor", SpeedRPM: 1500, CoastDownS: 1500},
		{Kind: "heat", Name: "casing", TempC: 70, MassKg: 60, AreaM2: 0.5},
		{Kind: "weight", Name: "hook", MassKg: 200, Restraint: "chain"},
	}
	plan, err := planner.Make(r.plant, r.rules, "P1-seal", isolation.Circumstances{})
	if err != nil {
		t.Fatal(err)
	}
	proved, err := proof.Prove(r.plant, r.rules, plan, isolation.Circumstances{})
	if err != nil {
		t.Fatal(err)
	}
	return r, proved
}

func waitFor(t *testing.T, p Permit, id string) Wait {
	t.Helper()
	for _, w := range p.Waits() {
		if w.ID == id {
			return w
		}
	}
	t.Fatalf("Waits has none for %q", id)
	return Wait{}
}

func TestWaitBeginsWithTheStepThatMatters(t *testing.T) {
	r, plan := storedRig(t)
	id := r.beginUngated(plan)
	section := r.permits[id].Drains()[0].Section.ID
	hung := map[isolation.Phase]time.Time{}
	var electrical time.Time
	for range r.permits[id].Locks() {
		l, _ := r.permits[id].NextFit()
		if w := waitFor(t, r.permits[id], section); w.HasBegun() {
			t.Fatalf("the drain's wait has begun before step %d hangs, want after the last drain", l.Step.N)
		}
		r.must(id, tomas, r.fit(id))
		hung[l.Step.Phase] = r.at
		if l.Step.Kind.IsElectrical() && l.Step.Phase == isolation.PhaseIsolate {
			electrical = r.at
		}
		if got, want := waitFor(t, r.permits[id], "rotation").HasBegun(), !electrical.IsZero(); got != want {
			t.Fatalf("after step %d the rotor's wait has begun: %v, want %v", l.Step.N, got, want)
		}
	}
	p := r.permits[id]
	for _, tc := range []struct {
		id   string
		want time.Time
	}{{"rotation", electrical}, {"heat", hung[isolation.PhaseIsolate]}, {section, hung[isolation.PhaseDrain]}} {
		w := waitFor(t, p, tc.id)
		if !w.Since.Equal(tc.want) {
			t.Errorf("wait %s counts since %v, want %v", tc.id, w.Since, tc.want)
		}
		if !w.Until.Equal(tc.want.Add(w.Length)) || w.Length <= 0 {
			t.Errorf("wait %s ends at %v after %v, want the sum", tc.id, w.Until, w.Length)
		}
	}
	if electrical.Equal(hung[isolation.PhaseIsolate]) {
		t.Error("the plan's last isolating step is electrical: this test cannot tell the moments apart")
	}
	if got := waitFor(t, p, "rotation").Length; got != 1500*time.Second {
		t.Errorf("the rotor's wait = %v, want the run-down of 25 min", got)
	}
}

func TestStepFoundWrongStopsTheWait(t *testing.T) {
	r, plan := storedRig(t)
	id := r.beginUngated(plan)
	for range r.permits[id].Locks() {
		r.must(id, tomas, r.fit(id))
	}
	for _, l := range r.permits[id].Locks() {
		if l.Step.Kind.IsElectrical() {
			r.must(id, karim, FindWrong{N: l.Step.N, Words: "the breaker is in"})
		}
	}
	if w := waitFor(t, r.permits[id], "rotation"); w.HasBegun() {
		t.Errorf("the rotor's wait counts since %v although its breaker was found in", w.Since)
	}
	r.at = r.at.Add(time.Hour)
	r.must(id, tomas, r.fit(id))
	if w := waitFor(t, r.permits[id], "rotation"); !w.Since.Equal(r.at) {
		t.Errorf("the rotor's wait counts since %v, want from the new fitting at %v", w.Since, r.at)
	}
}

// A second witness: the physics' own wait, and the shortest hold that Judge takes.
func TestSectionWaitIsThatOfTheDrainModelAndTheShortestHold(t *testing.T) {
	r := newRig(t)
	id := r.untilProving()
	s := r.permits[id].Drains()[0].Section
	in := s.Basis.Section
	var err error
	if in.Fluid, err = drain.NewFluid(s.Basis.Fluid); err != nil {
		t.Fatal(err)
	}
	o, err := drain.Predict(in)
	if err != nil {
		t.Fatal(err)
	}
	want := o.WaitS + leastHoldS
	if got := waitFor(t, r.permits[id], s.ID).Length.Seconds(); got < want-1e-6 || got > want+2 {
		t.Errorf("wait of %s = %g s, want %g and not less", s.ID, got, want)
	}
	for hold, ok := range map[float64]bool{leastHoldS - 1: false, leastHoldS: true} {
		f, err := envelope.JudgeSection(&s, isolation.DrainReading{OutL: s.OutL, HoldS: hold, TempC: s.TempC})
		if err != nil || f.OK != ok {
			t.Errorf("a hold of %g s: OK %v, %v; want %v", hold, f.OK, err, ok)
		}
	}
}

func TestEarliestOpenIsTheLastOfTheWaits(t *testing.T) {
	r, plan := storedRig(t)
	id := r.beginUngated(plan)
	if o := r.permits[id].EarliestOpen(r.at); !o.Floor || len(o.NotBegun) != 3 || len(o.Unknown) != 1 ||
		o.Left(r.at) < 25*time.Minute {
		t.Errorf("EarliestOpen before the first step = %+v, want a lower bound of 25 min or more", o)
	}
	for range r.permits[id].Locks() {
		r.must(id, tomas, r.fit(id))
	}
	for _, l := range r.permits[id].Locks() {
		r.must(id, karim, CheckLock{N: l.Step.N})
	}
	p := r.permits[id]
	o := p.EarliestOpen(r.at)
	var last time.Time
	for _, w := range p.Waits() {
		if w.Until.After(last) {
			last = w.Until
		}
	}
	if !o.At.Equal(last) || len(o.NotBegun) != 0 {
		t.Errorf("EarliestOpen = %v, want %v, the last of the waits", o.At, last)
	}
	later := r.at.Add(20 * time.Minute)
	if got := p.EarliestOpen(later); !got.At.Equal(o.At) || got.Left(later) != o.At.Sub(later) {
		t.Errorf("20 min later = %v, want the same moment and 20 min less", got.At)
	}
	over := o.At.Add(time.Second)
	if got := p.EarliestOpen(over); got.Left(over) != 0 || len(got.Waiting) != 0 || len(got.Over) != 3 {
		t.Errorf("when all is over %d are waited for and %d are over, want 0 and 3", len(got.Waiting), len(got.Over))
	}
	for _, at := range []time.Time{r.at, later, over} {
		if !strings.HasSuffix(p.EarliestOpen(at).Words, NeverAProof) {
			t.Errorf("words = %q, want that it proves nothing", p.EarliestOpen(at).Words)
		}
	}
}

func TestReadingEndsAWaitAndTheClockNever(t *testing.T) {
	r, plan := storedRig(t)
	r.pace = time.Minute // the rotor still turns when it is read first
	id := r.beginUngated(plan)
	for range r.permits[id].Locks() {
		r.must(id, tomas, r.fit(id))
	}
	for _, l := range r.permits[id].Locks() {
		r.must(id, karim, CheckLock{N: l.Step.N})
	}
	r.must(id, tomas, RecordStored{Check: "rotation", Value: 300})
	if w := waitFor(t, r.permits[id], "rotation"); w.Proved || w.Left(r.at) == 0 {
		t.Errorf("a rotor that still turns = %+v, want the wait to go on", w)
	}
	r.at = r.at.Add(15 * time.Minute)
	r.must(id, tomas, RecordStored{Check: "rotation", Value: 0})
	if w := waitFor(t, r.permits[id], "rotation"); !w.Proved || w.Left(r.at) != 0 {
		t.Errorf("a rotor seen at rest = %+v, want nothing to wait for", w)
	}
	year := r.at.AddDate(1, 0, 0)
	if w := waitFor(t, r.permits[id], "heat"); w.Proved || !strings.Contains(w.Words(year),
		"Only a reading opens the gate") {
		t.Errorf("after a year: %q, want that only a reading opens the gate", w.Words(year))
	}
	if w := waitFor(t, r.permits[id], "weight"); w.Known || !strings.Contains(w.Words(year), "Only a reading") {
		t.Errorf("a hanging weight = %+v, want no waiting time", w)
	}
	if len(r.permits[id].Unproved(r.at)) == 0 {
		t.Error("waiting for a year opened the gate")
	}
}

// A reading of before the lock was hung anew says nothing about after.
func TestOldReadingDoesNotCountAfterANewIsolation(t *testing.T) {
	at := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	p := Permit{id: 1, state: Proving,
		locks: []Lock{{Step: isolation.Step{N: 1, Phase: isolation.PhaseIsolate, Kind: isolation.Breaker},
			Fitted: Mark{"tomas", at}}},
		stored: []StoredState{{Check: isolation.StoredCheck{ID: "rotation", Unit: "rpm", Now: 900, WaitS: 60,
			Stored: isolation.Stored{Kind: "rotation"}}, Finding: isolation.Finding{OK: true},
			Recorded: Mark{"tomas", at.Add(-time.Minute)}}}}
	if w := p.Waits()[0]; w.Proved {
		t.Error("a reading of before the isolation ends the wait, want one after it")
	}
	p.stored[0].Recorded.At = at
	if w := p.Waits()[0]; !w.Proved {
		t.Error("a reading at the moment of the isolation does not end the wait")
	}
}

func TestNothingIsWaitedForOnceTheWorkIsHandedBack(t *testing.T) {
	r := newRig(t)
	id := r.untilHandedBack()
	if got := r.permits[id].Waits(); len(got) != 0 {
		t.Errorf("Waits after handing back = %v, want none", got)
	}
	if got := r.permits[id].EarliestOpen(r.at); got.Words != "" || !got.At.IsZero() {
		t.Errorf("EarliestOpen after handing back = %+v, want nothing", got)
	}
}

func TestSectionThatTheWorkItselfOpensHasNoWait(t *testing.T) {
	p := Permit{id: 1, state: Proving, drains: []DrainState{
		{Section: isolation.Section{ID: "a", DrainS: 60, Drains: []isolation.NodeID{"plug"}}},
		{Section: isolation.Section{ID: "b", DrainS: math.NaN()}}}}
	for _, w := range p.Waits() {
		if w.Known || !w.Until.IsZero() {
			t.Errorf("wait of %s = %+v, want none that is known", w.ID, w)
		}
	}
	if o := p.EarliestOpen(time.Time{}); !o.Floor || !o.At.IsZero() {
		t.Errorf("EarliestOpen = %+v, want that nobody can foretell", o)
	}
}

func TestWaitsAreRoundedUp(t *testing.T) {
	for d, want := range map[time.Duration]string{time.Millisecond: "1 s", 119500 * time.Millisecond: "120 s",
		121 * time.Second: "3 min",
		25 * time.Minute:  "25 min", 3*time.Hour + time.Second: "3.1 h", 26*time.Hour - time.Minute: "26.0 h"} {
		if got := inMinutes(d); got != want {
			t.Errorf("inMinutes(%v) = %s, want %s", d, got, want)
		}
	}
	if got := inSeconds(1e300); got != 365*24*time.Hour {
		t.Errorf("inSeconds(1e300) = %v, want a year at most", got)
	}
}
