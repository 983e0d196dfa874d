package paper

import (
	"fmt"
	"io"
	"time"
)

// PermitSheet is a permit as filed, in the order of HSG250 (second hand): title,
// number, place, plant, work, hazards, precautions, protective equipment,
// authorisation, acceptance, extension, hand-back, cancellation; the records follow.
type PermitSheet struct {
	Stamp
	Title, Number string // the number must not be empty
	State         string // "live", "suspended", … in the register's words; must not be empty
	Place         Place
	Plant         string // machine, and plant file if wanted
	PlantSHA256   string // hash of the plant file in force at authorisation
	Work          string
	Under         string // the permit under whose locks it works, in words; "" if it has its own
	Hazards       []string
	Precautions   []string
	Protective    []string
	Unproved      []string     // what the plan does not prove
	Changes       []PlanChange // the plans in whose place another stands, the last first
	ValidFrom     time.Time
	ValidUntil    time.Time

	Authorisation []Signature
	Issue         []Signature // the measures are in place
	Acceptance    []Signature
	Extension     []Signature // Act says until when
	HandBack      []Signature
	Cancellation  []Signature // cancelling or closing

	Locks      []LockRecord
	WayBack    []BackRecord // what is done between the locks when they come off
	Drains     []DrainRecord
	Readings   []ReadingRecord
	Signatures []Signature // every signed act in the order of the log
	Subs       []SubPermit // what works, or worked, under its locks
	Boxes      []BoxRecord // keys that were put into a group box; may be empty
	OwnLocks   []OwnLock   // who had a lock of their own on it
	People     []Attendance
	Posts      []Attendance // who stood by; Role is the post
	Inside     []Attendance // who was in the space
	Detectors  []Detector   // put out of action
	Deviations []Deviation
	Oil        []OilTotal
	OilDrafts  []OilDraft // may be empty
	Refused    []Refusal  // acts that a gate refused; may be empty

	// URL is the address of the log entry's page, shown as QR; no code if empty.
	URL string
}

// LockRecord is one line of the lock log: number, location, tagged position, posted
// by, checked by, clearance position, cleared by, when.
type LockRecord struct {
	Step        int
	LockNumber  string // number on the padlock, empty for a tag without lock
	TagOnly     bool
	Measure     string
	Point, Name string
	Place       Place
	Held        Position
	PostedBy    string
	PostedAt    time.Time
	CheckedBy   string
	CheckedAt   time.Time
	Clearance   Position
	ClearedBy   string
	ClearedAt   time.Time
	Note        string // "released for the absent owner by …"
}

// BackRecord is one thing done between two locks on the way back.
type BackRecord struct {
	Do, Why string
	LeftOut string // why it was left out
	By      string // empty while it is still to be done
	At      time.Time
}

// DrainRecord is what came out of one section and what was judged from it.
type DrainRecord struct {
	Section, Drain        string
	ExpectedL, SpreadL    float64 // litres
	OutL, HoldInL         float64 // came out; came in during the hold, litres
	Hold                  time.Duration
	GaugeBar, TempC       float64
	GaugeKnown, TempKnown bool   // false: not read
	Verdict               string // "drained", "not drained", "passing"
	Words                 string // the judgement in a sentence
	By                    string
	At                    time.Time
}

// ReadingRecord is one measured value against its limit.
type ReadingRecord struct {
	What         string
	Value, Limit string // with units
	Within       bool
	Rule         string // rule set or source that judged it
	By           string
	At           time.Time
}

// Attendance is one person signed on; Off is zero while they are.
type Attendance struct {
	Name, Role string
	On, Off    time.Time
	Counted    string // "counted out by …, seen: …" where they did not sign off themselves
}

// SubPermit is a permit that works under the locks of this one.
type SubPermit struct {
	Number, State, Work, InCharge string
	Until                         time.Time
}

// BoxRecord is one time at which the keys of all locks were counted into a group box.
type BoxRecord struct {
	Box  string
	Keys int
	By   string
	At   time.Time
}

// OwnLock is somebody's own lock on the group box; Off is zero while it hangs.
type OwnLock struct {
	Lock, Name, Box string // Box is "" where it is not known any more
	On, Off         time.Time
	OffBy           string // if another took it off, who
	Note            string // "released for an absent owner"
}

// Detector is a detector that was put out of action; BackBy is empty while it is.
type Detector struct {
	What, Means   string
	OutBy, BackBy string
	OutAt, BackAt time.Time
}

// Deviation is a departure accepted in writing.
type Deviation struct {
	Text     string
	Accepted Signature
}

// OilTotal is drained oil accounted for: how much of what went where.
type OilTotal struct {
	Fluid  string
	Litres float64
	To     string
}

// Refusal is an act that a gate refused; it changed nothing and is kept.
type Refusal struct {
	At       time.Time
	By       string
	Act, Why string
}

// WritePermit writes the permit as PDF. Refuses (ErrIncomplete) a permit without
// number or state, and a lock record without point or position. Nothing is written on error.
func WritePermit(w io.Writer, s PermitSheet) error {
	if s.Number == "" || s.State == "" {
		return fmt.Errorf("%w: permit %q has no number or no state", ErrIncomplete, s.Title)
	}
	for _, l := range s.Locks {
		if l.Point == "" || !l.Held.IsSet() || !l.Clearance.IsSet() {
			return fmt.Errorf("%w: lock %d of permit %s lacks point, position or clearance position", ErrIncomplete, l.Step,
				s.Number)
		}
	}
	return produce(w, s.Stamp, func(p *sheet) error {
		p.begin("PERMIT TO WORK", "no. "+s.Number)
		if err := p.permitHead(s); err != nil {
			return err
		}
		p.planChanges(s.Changes)
		p.permitMeasures(s)
		p.permitSignatures(s)
		p.permitLocks(s)
		p.permitBack(s.WayBack)
		p.permitDrains(s)
		p.permitOilDrafts(s.OilDrafts)
		p.permitReadings(s.Readings)
		p.permitSubs(s.Subs)
		p.permitPeople(s)
		p.permitBox(s)
		p.permitSpace(s)
		p.permitDeviations(s.Deviations)
		p.permitLog(s)
		return nil
	})
}
