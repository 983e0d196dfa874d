package permits

import "slices"

// Kinds of the release of an absent owner's locks, and of the owner's being told of it.
const (
	KindReleaseOwner Kind = "release owner"
	KindHearRelease  Kind = "hear release"
)

// ReleaseOwner lets others take off the locks of an absent owner: verified not aboard, tried to tell, will be told
// before resuming work: all three (29 CFR 1910.147(e)(3)). Nobody has to say of a person at rest that they are ashore.
// The owner signs nothing but coming off the work before they have been told (HearRelease).
type ReleaseOwner struct {
	Owner    PersonID `json:"owner"`
	Verified bool     `json:"verified"`
	Tried    bool     `json:"tried"`
	WillTell bool     `json:"will_tell"`
	Aboard   bool     `json:"aboard,omitempty"` // aboard, and cannot come: at rest or ill
	Words    string   `json:"words"`            // how it was verified, how it was tried
}

// Kind says which act this is.
func (ReleaseOwner) Kind() Kind { return KindReleaseOwner }

func (ReleaseOwner) rule() rule { return signedBy("release an absent owner's locks", ChiefEngineer) }

func (a ReleaseOwner) tell(n Names, _ Entry) string {
	where := "is not aboard: "
	if a.Aboard {
		where = "is aboard and cannot come: "
	}
	return "released the locks of " + n.Name(a.Owner) + ", who " + where + a.Words
}

func (a ReleaseOwner) touches(Permit) Touched { return Touched{Person: a.Owner} }

func (ReleaseOwner) aim(_ Permit, at Target) PermitAct { return ReleaseOwner{Owner: at.Person} }

func (a ReleaseOwner) gate(s Setting, p Permit) error {
	const gate = "absent owner"
	if a.Owner == s.Actor().ID {
		return refuse(gate, "", "%s is here.", s.Actor())
	}
	if p.OwnedBy(a.Owner) == 0 {
		return &Refusal{Kind: NotFound, Gate: gate, What: s.name(a.Owner) + " has no lock on for this permit."}
	}
	return nil
}

func (a ReleaseOwner) decide(_ Setting, p Permit) (outcome, error) {
	const gate = "absent owner"
	if !(a.Verified && a.Tried && a.WillTell) {
		return outcome{}, refuse(gate, "Do and confirm all three.",
			"Another may take the locks off only if the owner is verified not to be aboard or not to be able to come, "+
				"it was tried to tell them, and they will be told before they resume work.")
	}
	return outcome{to: p.state}, words("words", a.Words, 10, 1000)
}

func (a ReleaseOwner) apply(_ Entry, p *Permit) {
	for i := range p.locks {
		if l := &p.locks[i]; l.IsOn() && l.Owner == a.Owner {
			l.Released = true
		}
	}
}

func (a ReleaseOwner) applyShip(e Entry, ship *Ship) {
	ship.Untold = with(ship.Untold, a.Owner, append(slices.Clone(ship.Untold[a.Owner]),
		Release{Permit: e.Permit, Mark: Mark{e.By, e.At}, Words: a.Words}))
}

// Release is what an owner whose locks were released has to be told.
type Release struct {
	Mark   // who released them, and when
	Permit PermitID
	Words  string
}

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
