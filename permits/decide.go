package permits

import (
	"fmt"
	"slices"
)

// Decide says whether an act on a permit may happen. It returns the entry that the act makes, without its number; or a
// *Refusal. It looks, in this order, at the state, at the role, at the signature, and then at the act's own gate.
func Decide(s Setting, p Permit, a PermitAct) (Entry, error) {
	kind := a.Kind()
	place, err := mayFollow(s, p, kind)
	if err != nil {
		return Entry{}, err
	}
	if err := isSigned(s, kind, place.Gate); err != nil {
		return Entry{}, err
	}
	if err := s.Judge.open(s, p, a); err != nil {
		return Entry{}, err
	}
	out, err := a.decide(s, p)
	if err != nil {
		return Entry{}, err
	}
	if !slices.Contains(place.To, out.to) {
		// a rapid test walks the way
		panic(fmt.Sprintf("%s on a permit that is %s may not lead to %s", kind, p.state, out.to))
	}
	id := p.id
	if id == 0 {
		id = s.Next
	}
	e := entryOf(s, a)
	e.Permit, e.To, e.Found = id, out.to, out.found
	return e, nil
}

// entryOf makes the entry of an act, for the permit or the ship to complete.
func entryOf(s Setting, a Act) Entry {
	e := Entry{At: s.at(a), ActID: s.ActID, Kind: a.Kind(), By: s.Actor().ID, Act: a}
	if a.Kind().IsSigned() {
		e.Signed = s.Signed.as(roleFor(s.Actor(), a.Kind()))
	}
	return e
}

// mayFollow looks at the state and at the role, and returns the act's place on the way.
func mayFollow(s Setting, p Permit, kind Kind) (step, error) {
	place, ok := find(p.state, kind)
	if !ok {
		return step{}, refuseState(p, kind)
	}
	if err := mayAct(s, kind, place.Gate); err != nil {
		return step{}, err
	}
	if err := noEmergency(s, p, kind, place.Gate); err != nil {
		return step{}, err
	}
	if err := notRunOut(s, p, kind, place.Gate); err != nil {
		return step{}, err
	}
	if slices.Contains(onward, kind) {
		return place, mayLeadOn(s, place.Gate)
	}
	return place, nil
}

// onward are the acts that lead on to work, or that judge by how much time has passed. None happens by a clock that
// stands behind the log. Locks are fitted and seen all the same: that makes safe.
var onward = []Kind{KindAuthorise, KindExtend, KindRecordDrain, KindRecordStored, KindRecordDead, KindRecordStart,
	KindAcceptDeviation, KindAnswerUnproved, KindProve, KindIssue, KindAccept, KindSignOn, KindResume, KindTakeWatch,
	KindAskTest, KindSanctionTest, KindLiftLock, KindRecordAir, KindAnswerMeasures,
	KindConsentDeviation, KindGoIn, KindLeavePost, KindInhibit, KindAuthoriseChange}

// mayAct looks at the role.
func mayAct(s Setting, kind Kind, gate string) error {
	r, _ := actOf(kind)
	who := s.Actor()
	if who.ID == "" && len(r.roles) > 0 {
		return &Refusal{Kind: Forbidden, Gate: gate, What: "Nobody is signed in.", Opens: "Sign in first."}
	}
	if len(r.roles) > 0 && !who.Has(r.roles...) {
		return &Refusal{Kind: Forbidden, Gate: gate, What: who.String() + " may not " + r.does + ".",
			Opens: "That is for the " + rolesInWords(r.roles) + "."}
	}
	return nil
}

// isSigned refuses an act that wants a signature and has none.
func isSigned(s Setting, kind Kind, gate string) error {
	if kind.IsSigned() && s.Signed.IsZero() {
		return &Refusal{Kind: Refused, Gate: gate, What: "To " + kind.Does() + " is an act that is signed.",
			Opens: "Sign with your own PIN."}
	}
	return maySign(s, kind, gate)
}

// maySign refuses what keeps a person from signing anything of a kind.
func maySign(s Setting, kind Kind, gate string) error {
	if err := ownPIN(s, kind, gate); err != nil {
		return err
	}
	return heard(s, kind, gate)
}

// ownPIN refuses a signature by a PIN that somebody else chose: that person could sign with it too.
func ownPIN(s Setting, kind Kind, gate string) error {
	set, known := s.Ship.PINs[s.Actor().ID]
	if !kind.IsSigned() || !known || set.ByOwner {
		return nil
	}
	return &Refusal{Kind: Forbidden, Gate: gate, Field: "pin", What: "Somebody else set the PIN of " + s.Actor().String() +
		", so it signs nothing.", Opens: "Sign in as " + s.Actor().String() + " and change it under Your PIN."}
}

// roleFor returns the role in which a person does an act: the first that the act asks for and the person has.
func roleFor(who Person, kind Kind) Role {
	for _, r := range kind.Roles() {
		if who.Has(r) {
			return r
		}
	}
	return ""
}

// inPeriod guards the acts that need the authorisation to be still running.
func inPeriod(s Setting, p Permit, gate string) error {
	if s.At.After(p.until) {
		return refuse(gate, "The officer of the watch extends it with a new signature.",
			"The authorisation ran out at %s.", p.until.Format("2006-01-02 15:04 MST"))
	}
	return nil
}

// Apply returns the permit after an entry of the log; it changes nothing in p. Entries of other permits are passed
// over.
func Apply(p Permit, e Entry) Permit {
	q := p.clone()
	Advance(&q, e)
	return q
}

// Advance brings *p to where Apply(*p, e) is. It is for folding a long log by somebody who has let nobody else have the
// permit: it changes what earlier copies of *p look at too.
func Advance(p *Permit, e Entry) {
	a, ok := e.Act.(PermitAct)
	if !ok || (p.id != 0 && e.Permit != p.id) {
		return
	}
	if p.id == 0 {
		p.id = e.Permit
	}
	a.apply(e, p)
	if p.state != e.To {
		if e.To == Proving && (p.state == Live || !p.anew.IsZero()) {
			p.anew = e.At // every lock hangs seen from here on, or what was read does not hold any more
		}
		p.stood = e.At
		if fit, is := a.(FitLock); is {
			p.stood = before(e.At, fit.KeptS)
		}
	}
	p.state = e.To
	p.changed = e.At
	p.entries++
	if !e.Signed.IsZero() {
		p.signatures = append(p.signatures, Signing{Kind: e.Kind, Entry: e.N, Signature: e.Signed})
	}
}
