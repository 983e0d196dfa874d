package permits

import (
	"slices"
	"strconv"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/proof"
)

// Permit is one permit to work, folded from its entries. Only Apply changes one; everybody else reads it through its
// methods. The zero value is a permit that nobody has requested.
type Permit struct {
	id      PermitID
	state   State
	plan    proof.Proved
	work    string
	changed time.Time
	stood   time.Time // since when it has stood in its state
	anew    time.Time // what is read to prove it anew began after this; zero: its proof was never lost
	entries int

	requested     Mark
	authorised    Mark
	until         time.Time
	countersigned Mark
	answered      Mark // for what the plan does not prove
	issued        Mark
	locks         []Lock
	drains        []DrainState
	stored        []StoredState
	dead          []DeadState
	tryStart      bool
	start         StartState
	deviations    []Deviation
	proved        Mark
	accepted      Mark
	toolsOut      int
	counted       Mark       // tools, parts and guards were counted in
	fitters       []PersonID // everybody who ever fitted one of the locks or took one over
	crew          []Attendance
	handed        Mark
	suspended     Mark
	stopped       string
	pause         *pause   // what the proof rested on when the work was stopped, as long as the stop may be a short one
	goesOn        bool     // after a short stop: the proof holds, and no reading of it is too old
	under         PermitID // works under the locks of this permit; 0: under its own
	cancelling    string
	added         []AddedStep
	closed        Mark
	offer         Offer // to the next watch, and not taken over yet
	over          Handover
	shifts        []Shift
	signatures    []Signing
	test          TestRun
	air           []AirState
	posts         []Standing
	entrants      []Entrant
	inhibited     []Inhibited
	box           string // in which the keys of the locks lie
	emergency     Mark   // because of which the locks are to be counted
	opening       Opening
	change        AskedChange  // work that is to be added, and waits for the officer
	former        []Former     // plans in whose place others stand
	drained       []DrainState // of their sections
}

// Mark says who did something and when; the zero value says that nobody has.
type Mark struct {
	By PersonID  `json:"by"`
	At time.Time `json:"at"`
}

// IsZero reports whether nobody has.
func (m Mark) IsZero() bool { return m.By == "" }

// Lock is the record of one tagged step of a permit: usually a lock with its tag, for an opened drain a tag alone.
type Lock struct {
	Step     isolation.Step
	Tag      TagDigest
	Padlock  Padlock
	Fitted   Mark
	KeptS    int      // for how long the phone of who fitted it had kept that, seconds; 0: it came at once
	Owner    PersonID // who takes it off: who fitted it, or took it over since
	How      string   // how the tag was read: "camera", "photo", "phone", "typed"
	Checked  Mark
	Looked   Mark   // a second person saw it right on a walk, and has not signed yet
	Wrong    string // what somebody found wrong; it must be fitted anew
	WrongBy  Mark   // who found it
	Sighted  Mark   // an auditor saw it as it was left
	Released bool   // the absent owner's lock may be taken off by another
	Removed  Mark
	Left     isolation.Position // where the point was left when the lock came off
	Lifted   bool               // it came off for a test run, and goes on again
	Untied   Mark               // it came off for a test run that is over, and has not gone on again
	Opened   bool               // it came off at once, in an emergency

	Unreadable Mark // an auditor could not read the tag; zero since one that can be read hangs

	Seen      Mark   // a second person saw the point right after the lock came off
	SeenWrong string // what that person found wrong
}

// IsOn reports whether the lock, or the tag, hangs.
func (l Lock) IsOn() bool { return !l.Fitted.IsZero() && l.Removed.IsZero() }

// IsWrong reports whether it is recorded as hanging and was found wrong since: nobody relies on it.
func (l Lock) IsWrong() bool { return l.IsOn() && l.Wrong != "" }

// Off returns who took the lock off last, and when, on the way back or for a test run; zero while it hangs, and where
// none ever hung.
func (l Lock) Off() Mark {
	if l.Removed.IsZero() {
		return l.Untied
	}
	return l.Removed
}

// IsChecked reports whether a second person has seen it right.
func (l Lock) IsChecked() bool { return l.IsOn() && !l.Checked.IsZero() && l.Wrong == "" }

// DrainState is how far one section is drained: its last record and what was found.
type DrainState struct {
	Section  isolation.Section
	Reading  isolation.DrainReading
	Finding  isolation.Finding
	Into     string // the tank that took what came out
	Recorded Mark
	Stale    bool   // the work was stopped since: it must be recorded anew
	Doubt    string // it is not as foretold: a second person must record it too
	Accepted bool   // the chief engineer accepted the deviation in writing
	// who did, and the officer who consents to it, where the work asks for both
	AcceptedBy PersonID
	Consented  Mark
	TotalL     float64 // all that came out, what came in the hold included
}

// StoredState is the last reading of one stored energy.
type StoredState struct {
	Check    isolation.StoredCheck
	Value    float64
	Finding  isolation.Finding
	Recorded Mark
	Stale    bool   // the work was stopped since: it must be read anew
	Doubt    string // it is right far sooner than foretold: a second person must read it too
	Accepted bool   // the chief engineer accepted in writing that it is over its touch limit
}

// DeadState is the last dead test of one electrical part.
type DeadState struct {
	Test     isolation.DeadTest
	OK       bool
	Live     bool // the last test found it not dead
	Recorded Mark
}

// StartState is the start attempt: the machine did not move, and the controls went back to off.
type StartState struct {
	OK       bool
	Recorded Mark
}

// Deviation is what the chief engineer accepted in writing.
type Deviation struct {
	On    string // the section or the stored energy, by its name
	Words string
	By    PersonID
	At    time.Time
}

// Attendance is one person's time on the permit: signed on, and off when Off is set.
type Attendance struct {
	Person PersonID
	On     time.Time
	Off    time.Time

	CountedBy PersonID // who counted them out in an emergency; "" if they signed off themselves
	Where     string   // they were seen then

	Padlock  Padlock // of their own on the group box; "" if none is in use
	LockOff  Mark    // it came off
	Released bool    // another may take it off
}

// Signing is one signature on the permit, with the entry that carries it.
type Signing struct {
	Kind      Kind
	Entry     int64
	Signature Signature
}

func (p Permit) clone() Permit {
	p.locks = slices.Clone(p.locks)
	p.drains = slices.Clone(p.drains)
	p.stored = slices.Clone(p.stored)
	p.dead = slices.Clone(p.dead)
	p.deviations = slices.Clone(p.deviations)
	p.crew = slices.Clone(p.crew)
	p.added = slices.Clone(p.added)
	p.fitters = slices.Clone(p.fitters)
	p.signatures = slices.Clone(p.signatures)
	p.shifts = slices.Clone(p.shifts)
	p.air, p.posts = slices.Clone(p.air), slices.Clone(p.posts)
	p.entrants, p.inhibited = slices.Clone(p.entrants), slices.Clone(p.inhibited)
	p.former, p.drained = slices.Clone(p.former), slices.Clone(p.drained)
	return p
}

// ID returns the permit's number.
func (p Permit) ID() PermitID { return p.id }

// State returns where the permit stands.
func (p Permit) State() State { return p.state }

// Plan returns the isolation plan, which is to be read only.
func (p Permit) Plan() *isolation.Plan { return p.plan.Plan() }

// Work returns what is to be done, in the requester's words.
func (p Permit) Work() string { return p.work }

// Changed returns the time of the last entry.
func (p Permit) Changed() time.Time { return p.changed }

// Entries returns how many entries the permit has had.
func (p Permit) Entries() int { return p.entries }

// Requested returns who requested the permit and when.
func (p Permit) Requested() Mark { return p.requested }

// Authorised returns who authorised, or last extended, the isolation.
func (p Permit) Authorised() Mark { return p.authorised }

// Countersigned returns the master who countersigned; zero if none did, or none was asked.
func (p Permit) Countersigned() Mark { return p.countersigned }

// Until returns when the authorisation runs out; zero while there is none.
func (p Permit) Until() time.Time { return p.until }

// IsOverdue reports whether the authorisation has run out while the permit is not over.
func (p Permit) IsOverdue(now time.Time) bool {
	return !p.until.IsZero() && !p.state.IsOver() && now.After(p.until)
}

// Locks returns the lock records in the order of fitting.
func (p Permit) Locks() []Lock { return slices.Clone(p.locks) }

// Drains returns the sections with their last records.
func (p Permit) Drains() []DrainState { return slices.Clone(p.drains) }

// EverDrained returns the sections of every plan that the permit has had with their last records, those of the plan in
// force last; a section that the plan in force has too stands once.
func (p Permit) EverDrained() []DrainState {
	out := slices.DeleteFunc(slices.Clone(p.drained), func(d DrainState) bool { return p.drainIndex(d.Section.ID) >= 0 })
	return append(out, p.drains...)
}

// Stored returns the stored energies with their last readings.
func (p Permit) Stored() []StoredState { return slices.Clone(p.stored) }

// Dead returns the dead tests.
func (p Permit) Dead() []DeadState { return slices.Clone(p.dead) }

// Start returns the start attempt.
func (p Permit) Start() StartState { return p.start }

// NeedsStart reports whether a start attempt belongs to the proof, as the plan says: see isolation.Plan.TryStart.
func (p Permit) NeedsStart() bool { return p.tryStart }

// Deviations returns what the chief engineer accepted.
func (p Permit) Deviations() []Deviation { return slices.Clone(p.deviations) }

// Proved returns who signed the proof; zero while it is not signed, or not valid any more.
func (p Permit) Proved() Mark { return p.proved }

// Accepted returns the person in charge of the work.
func (p Permit) Accepted() Mark { return p.accepted }

// ToolsOut returns how many tools and loose parts were taken to the work.
func (p Permit) ToolsOut() int { return p.toolsOut }

// Crew returns everybody who signed on, in order.
func (p Permit) Crew() []Attendance { return slices.Clone(p.crew) }

// SignedOn returns those who are signed on now.
func (p Permit) SignedOn() []PersonID {
	var out []PersonID
	for _, a := range p.crew {
		if a.Off.IsZero() {
			out = append(out, a.Person)
		}
	}
	return out
}

// Handed returns who handed the work back.
func (p Permit) Handed() Mark { return p.handed }

// Cancelling returns why the permit is being cancelled, or "".
func (p Permit) Cancelling() string { return p.cancelling }

// Closed returns who closed (or ended the cancelled) permit.
func (p Permit) Closed() Mark { return p.closed }

// Signatures returns every signature in order.
func (p Permit) Signatures() []Signing { return slices.Clone(p.signatures) }

// LocksOn returns how many locks and tags hang.
func (p Permit) LocksOn() int {
	n := 0
	for i := range p.locks {
		if p.locks[i].IsOn() {
			n++
		}
	}
	return n
}

// NextFit returns the step that is to be fitted next: the lowest that does not hang or was found wrong; ok is false
// when all hang.
func (p Permit) NextFit() (l Lock, ok bool) {
	for i := range p.locks {
		if l := &p.locks[i]; !l.IsOn() || l.Wrong != "" {
			return *l, true
		}
	}
	return Lock{}, false
}

// NextRemove returns the step that comes off next: the highest that hangs; ok is false when none hangs.
func (p Permit) NextRemove() (l Lock, ok bool) {
	for i := len(p.locks) - 1; i >= 0; i-- {
		if l := &p.locks[i]; l.IsOn() {
			return *l, true
		}
	}
	return Lock{}, false
}

// Lock returns the lock record of step n (from 1); ok is false if there is none.
func (p Permit) Lock(n int) (l Lock, ok bool) {
	if n < 1 || n > len(p.locks) {
		return Lock{}, false
	}
	return p.locks[n-1], true
}

// LockByTag returns the lock record whose tag has this digest; ok is false if there is none.
func (p Permit) LockByTag(tag TagDigest) (l Lock, ok bool) {
	for i := range p.locks {
		if l := &p.locks[i]; l.Tag == tag && tag != "" {
			return *l, true
		}
	}
	return Lock{}, false
}

// allChecked reports whether every lock hangs and a second person has seen each.
func (p Permit) allChecked() bool {
	return !slices.ContainsFunc(p.locks, func(l Lock) bool { return !l.IsChecked() })
}

// Holdings returns what the permit holds, or will hold, while it is not over: from authorisation until each lock is
// off.
func (p Permit) Holdings() []Holding { return p.AppendHoldings(nil) }

// AppendHoldings puts the permit's holdings behind those in out, for a reader who asks after every entry of a long log.
func (p *Permit) AppendHoldings(out []Holding) []Holding {
	if p.state == unset || p.state == Draft || p.state.IsOver() {
		return out
	}
	for i := range p.locks {
		l := &p.locks[i]
		if !l.Removed.IsZero() && !l.Lifted && !l.Opened || (p.state == Restoring && !l.IsOn()) {
			continue
		}
		out = append(out, Holding{Permit: p.id, Step: l.Step.N, Point: l.Step.Point, Position: l.Step.Position,
			Padlock: l.Padlock, On: l.IsOn(), Lifted: l.Lifted && !l.IsOn(), Wrong: l.Wrong, WrongBy: l.WrongBy,
			Hung: l.Fitted, Owner: l.Owner, Sighted: l.Sighted, Unreadable: l.Unreadable})
	}
	return out
}

func itoa(n int) string { return strconv.Itoa(n) }
