package permits

import (
	"slices"
	"strings"
	"time"
)

// Kinds of the release of an absent owner's locks, and of the owner's being told of it.
const (
	KindReleaseOwner Kind = "release owner"
	KindHearRelease  Kind = "hear release"
)

// ReleaseOwner lets others take off the locks of an absent owner: verified not aboard, tried to tell, will be told
// before resuming work: all three (29 CFR 1910.147(e)(3)), each with who saw to it, when, and how (since edition 4).
// Nobody has to say of a person at rest that they are ashore. The owner signs nothing but coming off the work before
// they have been told (HearRelease): that entry is the time of the third.
type ReleaseOwner struct {
	Owner    PersonID `json:"owner"`
	Verified bool     `json:"verified"`
	Tried    bool     `json:"tried"`
	WillTell bool     `json:"will_tell"`
	Aboard   bool     `json:"aboard,omitempty"` // aboard, and cannot come: at rest or ill
	Absence  Effort   `json:"absence,omitzero"` // how it was verified
	Call     Effort   `json:"call,omitzero"`    // how it was tried to tell them
	Telling  Effort   `json:"telling,omitzero"` // who will tell them, and how; its time is not asked
	Words    string   `json:"words"`            // remarks; before edition 4 how it was verified and tried
}

// Effort is what one of the crew did about an absent owner: who, when, how.
type Effort struct {
	By  PersonID  `json:"by"`
	At  time.Time `json:"at,omitzero"`
	How string    `json:"how"`
}

// tell says what was done: "called by A Mate at 14:05: cabin telephone not answered".
func (e Effort) tell(n Names, done string) string {
	if e.By == "" {
		return ""
	}
	at := ""
	if !e.At.IsZero() {
		at = " at " + n.Stamp(e.At)
	}
	return done + " by " + n.Name(e.By) + at + ": " + strings.TrimSpace(e.How)
}

// Kind says which act this is.
func (ReleaseOwner) Kind() Kind { return KindReleaseOwner }

func (ReleaseOwner) rule() rule { return signedBy("release an absent owner's locks", ChiefEngineer) }

func (a ReleaseOwner) tell(n Names, _ Entry) string {
	where := "is not aboard: "
	if a.Aboard {
		where = "is aboard and cannot come: "
	}
	return "released the locks of " + n.Name(a.Owner) + ", who " + where + a.account(n)
}

// account says how the three conditions are met.
func (a ReleaseOwner) account(n Names) string {
	said := []string{a.Absence.tell(n, "verified"), a.Call.tell(n, "called"), a.Telling.tell(n, "to be told"),
		strings.TrimSpace(a.Words)}
	return strings.Join(slices.DeleteFunc(said, func(s string) bool { return s == "" }), "; ")
}

func (a ReleaseOwner) touches(Permit) Touched { return Touched{Person: a.Owner} }

func (ReleaseOwner) aim(_ Permit, at Target) PermitAct { return ReleaseOwner{Owner: at.Person} }

func (a ReleaseOwner) gate(s Setting, p Permit) error {
	const gate = "absent owner"
	if a.Owner == s.Actor().ID {
		return refuse(gate, "", "%s is here.", s.Actor())
	}
	if _, own := p.ownLockOf(a.Owner); p.OwnedBy(a.Owner) == 0 && !own {
		return &Refusal{Kind: NotFound, Gate: gate, What: s.name(a.Owner) + " has no lock on for this permit."}
	}
	return nil
}

func (a ReleaseOwner) decide(s Setting, p Permit) (outcome, error) {
	const gate = "absent owner"
	if !(a.Verified && a.Tried && a.WillTell) {
		return outcome{}, refuse(gate, "Do and confirm all three.",
			"Another takes the locks off on three conditions: it was verified that the owner cannot come; it was tried to "+
				"tell them; they will be told before they resume work.")
	}
	if s.Judge.Edition < releaseEdition {
		return outcome{to: p.state}, words("words", a.Words, 10, 1000)
	}
	for _, c := range []struct {
		field  string
		effort Effort
		past   bool
	}{{"absence", a.Absence, true}, {"call", a.Call, true}, {"telling", a.Telling, false}} {
		if err := a.effort(s, c.field, c.effort, c.past); err != nil {
			return outcome{}, err
		}
	}
	return outcome{to: p.state}, words("words", a.Words, 0, 1000)
}

// releaseEdition is the first by which a release says of each condition who saw to it, when and how.
const releaseEdition Edition = 4

// absenceOld is how long a look for somebody says where they are. (Own reasoning: a watch's work, and a night's rest.)
const absenceOld = 12 * time.Hour

// effort refuses a condition of which it is not said who saw to it, when, if it is past, and how.
func (a ReleaseOwner) effort(s Setting, field string, e Effort, past bool) error {
	switch _, known := s.Ship.People[e.By]; {
	case !known:
		return invalid(field+"_by", "Who saw to it must be one of the crew.")
	case e.By == a.Owner:
		return invalid(field+"_by", "%s is the one who is absent.", s.name(e.By))
	case past && e.At.IsZero():
		return invalid(field+"_at", "When it was done must be filled in.")
	case past && e.At.After(s.At):
		return invalid(field+"_at", "It cannot have been done later than now.")
	case past && s.At.Sub(e.At) > absenceOld:
		return refuse("absent owner", "Look for them and call them again.",
			"That was more than %d h ago and says nothing about now.", int(absenceOld.Hours()))
	}
	return words(field+"_how", e.How, 5, 500)
}

func (a ReleaseOwner) apply(_ Entry, p *Permit) {
	for i := range p.locks {
		if l := &p.locks[i]; l.IsOn() && l.Owner == a.Owner {
			l.Released = true
		}
	}
	for i := range p.crew {
		if c := &p.crew[i]; c.Person == a.Owner && c.HasLock() {
			c.Released = true
		}
	}
}

func (a ReleaseOwner) applyShip(e Entry, ship *Ship) {
	ship.Untold = with(ship.Untold, a.Owner, append(slices.Clone(ship.Untold[a.Owner]),
		Release{Permit: e.Permit, Mark: Mark{e.By, e.At}, Act: a}))
}

// Release is what an owner whose locks were released has to be told.
type Release struct {
	Mark   // who released them, and when
	Permit PermitID
	Act    ReleaseOwner
}

// Account says how it was done, for the owner to read.
func (r Release) Account(n Names) string { return r.Act.account(n) }

// HearRelease is the owner's signature that they know that their locks were released while they were away.
type HearRelease struct{}

// Kind says which act this is.
func (HearRelease) Kind() Kind { return KindHearRelease }

func (HearRelease) rule() rule {
	return signedBy("confirm knowing of released locks", anybody...)
}

func (HearRelease) tell(Names, Entry) string { return "knows that their locks were released" }

func (HearRelease) touches(Permit) Touched { return Touched{} }

func (HearRelease) decideShip(s Setting) error {
	if len(s.Ship.Untold[s.Actor().ID]) == 0 {
		return refuse("hear release", "", "No lock of %s was released.", s.Actor())
	}
	return nil
}

func (HearRelease) applyShip(e Entry, ship *Ship) { ship.Untold = with(ship.Untold, e.By, nil) }

// heard refuses a signature of somebody who has not been told yet that their locks were released. Coming off the work
// is never refused.
func heard(s Setting, kind Kind, gate string) error {
	untold := s.Ship.Untold[s.Actor().ID]
	if len(untold) == 0 || !kind.IsSigned() || kind == KindHearRelease || kind == KindSignOff {
		return nil
	}
	return &Refusal{Kind: Forbidden, Gate: gate, What: s.Actor().String() + " has not been told yet that their locks on " +
		"permit " + itoa(int(untold[0].Permit)) + " were released.", Opens: "Read it on the board and sign there."}
}
