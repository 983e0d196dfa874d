package permits

import (
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/proof"
)

// A machine is tested under its permit in five steps, in this order: tools and people clear and counted; only the locks
// that the test needs come off; it runs; it is stopped, and what came off goes on again by scan; everything is looked
// at and proved anew before anybody goes on. (29 CFR 1910.147(f)(1), read. Above 1000 V the officer's signature is the
// sanction for test, without which no earth comes off: UK COSWP, from memory.)

// Kinds of a test run under a permit.
const (
	KindAskTest      Kind = "ask for test"
	KindSanctionTest Kind = "sanction test"
	KindLiftLock     Kind = "lift lock"
	KindRecordTest   Kind = "record test"
	KindEndTest      Kind = "end test"
)

// TestRun is a test that is asked for, or under way.
type TestRun struct {
	isolation.Lifting
	Asked      Mark
	Sanctioned Mark
	Recorded   Mark
	Words      string // what it showed
}

// Testing returns the test that is asked for or under way; ok is false if there is none.
func (p Permit) Testing() (t TestRun, ok bool) { return p.test, !p.test.Asked.IsZero() }

// AskTest ends the work for a while so that something of the machine can run: everybody is out, and what went out is
// counted in. What comes off was computed from the plan, and is checked here by the other algorithm.
type AskTest struct {
	isolation.Lifting
	ToolsBack int  `json:"tools_back"`
	Closed    bool `json:"closed"` // what was opened is closed up, the guards are on
}

// Kind says which act this is.
func (AskTest) Kind() Kind { return KindAskTest }

func (AskTest) rule() rule { return signedBy("ask for a test run", Technician, ChiefEngineer) }

func (a AskTest) tell(n Names, _ Entry) string {
	said := "asked to run " + string(a.Run) + " for a test: " + Plural(a.ToolsBack, "tool or part", "tools and parts") +
		" counted in, closed up; for it come off"
	for i, step := range a.Steps {
		said += either(i > 0, ", ", " ") + n.step(step)
	}
	return said
}

func (AskTest) touches(Permit) Touched { return Touched{} }

func (AskTest) gate(s Setting, p Permit) error {
	const gate = "ask for test"
	if who := s.Actor(); who.ID != p.accepted.By && !who.Has(ChiefEngineer) {
		return refuse(gate, "That person asks, or the chief engineer does.",
			"%s is in charge of the work, not %s.", s.name(p.accepted.By), who)
	}
	if err := ready(s, p, gate); err != nil {
		return err
	}
	if err := p.ownLocksOnly(gate); err != nil {
		return err
	}
	if err := p.noSubBusy(s, gate); err != nil {
		return err
	}
	return p.nobodyOn(s, gate)
}

func (a AskTest) decide(s Setting, p Permit) (outcome, error) {
	const gate = "ask for test"
	if err := countedIn(p, gate, a.ToolsBack, a.Closed); err != nil {
		return outcome{}, err
	}
	if err := samePlant(s, p.Plan(), gate); err != nil {
		return outcome{}, err
	}
	if err := proof.Lifted(s.Plant, p.Plan(), a.Lifting); err != nil {
		return outcome{}, &Refusal{Kind: Refused, Gate: gate, Field: "run", What: "What would come off for the test " +
			"cannot be proved: " + err.Error() + ".", Opens: "Choose what is to run again: it will be computed anew.",
			cause: err}
	}
	return outcome{to: Testing}, p.sharesNone(s, gate, a.Steps)
}

// TestBlocked returns why what would come off for a test run cannot come off now, before anything is counted for it;
// nil if nothing stands in its way.
func TestBlocked(s Setting, p Permit, run isolation.Lifting) *Refusal {
	return asRefusal(p.sharesNone(s, "ask for test", run.Steps))
}

// sharesNone refuses to lift a lock at a point that another permit holds too: its people rely on it.
func (p Permit) sharesNone(s Setting, gate string, steps []int) error {
	for _, n := range steps {
		l, _ := p.Lock(n)
		for _, h := range s.Held.At(l.Step.Point, p.id) {
			if !h.On {
				return refuse(gate, "That permit is cancelled first, or the test waits.",
					"Permit %d is to hold %s too: its lock may go on at any moment.", h.Permit, h.Point)
			}
			return refuse(gate, "That permit is handed back first, or the test waits.",
				"Permit %d holds %s too: whoever works under it relies on that lock.", h.Permit, h.Point)
		}
	}
	return nil
}

func (a AskTest) apply(e Entry, p *Permit) {
	p.test = TestRun{Lifting: a.Lifting, Asked: Mark{e.By, e.At}}
	p.counted, p.box = Mark{e.By, e.At}, ""
}

// SanctionTest is the officer's signature that these locks may come off for the test, and nothing else.
type SanctionTest struct{}

// Kind says which act this is.
func (SanctionTest) Kind() Kind { return KindSanctionTest }

func (SanctionTest) rule() rule { return signedBy("sanction a test run", Officer) }

// tell leaves the name of what runs to the entry that asked: the permit as it is now has the last test, or none.
func (SanctionTest) tell(Names, Entry) string {
	return "sanctioned the test run that was asked for, and that the locks for it come off"
}

func (SanctionTest) touches(Permit) Touched { return Touched{} }

func (SanctionTest) gate(s Setting, p Permit) error {
	const gate = "sanction test"
	if err := ready(s, p, gate); err != nil {
		return err
	}
	if err := notAtTheValves(s, p, "sanction the test of"); err != nil {
		return err
	}
	if err := inOwnHands(s, p, KindSanctionTest, gate); err != nil {
		return err
	}
	switch {
	case p.test.Asked.By == s.Actor().ID:
		return refuse(gate, "Another officer signs.", "%s asked for this test and so may not sanction it.", s.Actor())
	case !p.test.Sanctioned.IsZero():
		return refuse(gate, "", "The test is sanctioned already.")
	}
	return p.sharesNone(s, gate, p.test.Steps)
}

func (SanctionTest) decide(Setting, Permit) (outcome, error) { return outcome{to: Testing}, nil }

func (SanctionTest) apply(e Entry, p *Permit) { p.test.Sanctioned = Mark{e.By, e.At} }

// LiftLock takes one lock off for the test: the tag that was scanned, and the position in which the point was left.
type LiftLock struct {
	Tag      TagDigest          `json:"tag"`
	Position isolation.Position `json:"position"`
	How      string             `json:"how,omitempty"`
}

// Kind says which act this is.
func (LiftLock) Kind() Kind { return KindLiftLock }

func (LiftLock) rule() rule { return unsignedBy("lift a lock for the test", Technician) }

func (a LiftLock) tell(n Names, _ Entry) string {
	l, ok := n.Permit.LockByTag(a.Tag)
	if !ok {
		return "lifted a lock for the test"
	}
	return "lifted " + l.Thing() + " " + itoa(l.Step.N) + " off " + string(l.Step.Point) + " for the test, left " +
		l.Step.Kind.Word(a.Position)
}

func (a LiftLock) touches(after Permit) Touched { return atTag(after, a.Tag) }

func (LiftLock) aim(p Permit, at Target) PermitAct {
	l, _ := p.Lock(at.Step)
	return LiftLock{Tag: l.Tag}
}

// NextLift returns the lock that comes off next for the test; ok is false when all are off, or there is no test.
func (p Permit) NextLift() (l Lock, ok bool) {
	for _, n := range p.test.Steps {
		if l, is := p.Lock(n); is && l.IsOn() {
			return l, true
		}
	}
	return Lock{}, false
}

func (a LiftLock) gate(s Setting, p Permit) error {
	const gate = "lift lock"
	l, err := p.byTag(a.Tag, gate)
	if err != nil {
		return err
	}
	next, more := p.NextLift()
	switch {
	case !slices.Contains(p.test.Steps, l.Step.N):
		return refuse(gate, "", "Lock %d (%s) stays on: the test does not need it off.", l.Step.N, l.Step.Point)
	case !l.IsOn():
		return refuse(gate, "", "Lock %d (%s) is off for the test already.", l.Step.N, l.Step.Point)
	case p.test.Sanctioned.IsZero():
		return refuse(gate, "The officer of the watch reads what comes off, and signs.", "The test is not sanctioned.")
	case more && next.Step.N != l.Step.N:
		return refuse(gate, nextInWords("off next", next), "Lock %d (%s) is not next.", l.Step.N, l.Step.Point)
	}
	if err := ready(s, p, gate); err != nil {
		return err
	}
	if err := notAtTheDesk(s, p, gate, "lift"); err != nil {
		return err
	}
	if err := ownLock(s, l, gate); err != nil {
		return err
	}
	return p.sharesNone(s, gate, []int{l.Step.N})
}

func (a LiftLock) decide(_ Setting, p Permit) (outcome, error) {
	const gate = "lift lock"
	l, err := p.byTag(a.Tag, gate)
	if err != nil {
		return outcome{}, err
	}
	return outcome{to: Testing}, leftAt(l, a.Position, l.Step.Clearance, "", gate)
}

func (a LiftLock) apply(e Entry, p *Permit) {
	for i := range p.locks {
		if l := &p.locks[i]; l.Tag == a.Tag {
			l.Removed, l.Left, l.Lifted = Mark{e.By, e.At}, a.Position, true
		}
	}
}

// RecordTest says what the test run showed.
type RecordTest struct {
	Words string `json:"words"`
}

// Kind says which act this is.
func (RecordTest) Kind() Kind { return KindRecordTest }

func (RecordTest) rule() rule { return signedBy("record the test run", Technician, ChiefEngineer) }

func (a RecordTest) tell(Names, Entry) string {
	return "ran it for the test: " + AsSentence(a.Words)
}

func (RecordTest) touches(Permit) Touched { return Touched{} }

func (RecordTest) gate(_ Setting, p Permit) error {
	if l, more := p.NextLift(); more {
		return refuse("record test", nextInWords("off next", l), "Not every lock that the test needs is off.")
	}
	return nil
}

func (a RecordTest) decide(Setting, Permit) (outcome, error) {
	return outcome{to: Testing}, words("words", a.Words, 3, 500)
}

func (a RecordTest) apply(e Entry, p *Permit) {
	p.test.Recorded, p.test.Words = Mark{e.By, e.At}, strings.TrimSpace(a.Words)
}

// EndTest ends the test, also one that was not run: what came off goes on again, and everything is proved anew.
type EndTest struct {
	Stopped bool `json:"stopped"` // seen to be stopped, the controls at off
}

// Kind says which act this is.
func (EndTest) Kind() Kind { return KindEndTest }

func (EndTest) rule() rule { return signedBy("end the test run", Technician, ChiefEngineer, Officer) }

func (EndTest) tell(n Names, _ Entry) string {
	return "ended the test run: seen stopped; what came off goes on again, and everything is proved anew"
}

func (EndTest) touches(Permit) Touched { return Touched{} }

func (EndTest) gate(Setting, Permit) error { return nil }

func (a EndTest) decide(Setting, Permit) (outcome, error) {
	if !a.Stopped {
		return outcome{}, refuse("end test", "Stop it, see it stand still, put the controls to off; then confirm.",
			"Locks go on again only where nothing runs.")
	}
	return outcome{to: Isolating}, nil
}

func (EndTest) apply(e Entry, p *Permit) {
	p.endTest()
	p.forgetProof(e)
}

// endTest makes what came off for a test stand as not fitted: it goes on again by scan, in the plan's order. Who took
// it off is kept, so that somebody else sees the point if it does not.
func (p *Permit) endTest() {
	for i := range p.locks {
		if l := &p.locks[i]; l.Lifted {
			*l = Lock{Step: l.Step, Tag: l.Tag, Untied: l.Removed, Left: l.Left}
		}
	}
	p.test = TestRun{}
}

// runName is what people call what runs for the test.
func (p Permit) runName() string {
	for _, t := range p.Plan().DeadTests {
		if t.Node == p.test.Run {
			return t.Name
		}
	}
	return string(p.test.Run)
}

// nextTest is what a permit under test waits for.
func (p Permit) nextTest(s Setting) Next {
	at, more := p.NextLift()
	switch {
	case p.test.Sanctioned.IsZero():
		return Next{Who: string(Officer), Roles: KindSanctionTest.Roles(), Kind: KindSanctionTest, Since: p.test.Asked.At,
			What: "Read what comes off for the test run of " + p.runName() + ", and sanction it."}.
			unless(p.sharesNone(s, "", p.test.Steps))
	case more:
		return Next{Who: string(Technician), Roles: KindLiftLock.Roles(), Kind: KindLiftLock, At: Target{Step: at.Step.N},
			What: at.orderOff(s, p, "For the test, take off")}.unless(p.sharesNone(s, "", []int{at.Step.N}))
	case p.test.Recorded.IsZero():
		return Next{Who: string(Technician), Roles: KindRecordTest.Roles(), Kind: KindRecordTest,
			What: "Run " + p.runName() + ", keep everybody clear, and record what it shows."}
	}
	return Next{Who: string(Technician), Roles: KindEndTest.Roles(), Kind: KindEndTest,
		What: "See it stopped, and end the test: then the locks go on again."}
}
