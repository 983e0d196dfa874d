package permits

import (
	"encoding/json"
	"slices"
	"time"
)

// Verifier checks a PIN of a person. The register implements it over its own table of hashes, with slow-down and
// lock-out; the error says in a sentence why the PIN was not taken.
type Verifier interface {
	VerifyPIN(id PersonID, pin string) error
}

// Signature says that a person put their own PIN to one act at one moment. Only Sign makes one; the zero value is none.
type Signature struct {
	by   Person
	role Role
	at   time.Time
}

// Sign makes a person's signature, if v takes the PIN. A visitor, or somebody who has left, signs nothing.
func Sign(person Person, pin string, v Verifier, at time.Time) (Signature, error) {
	if !person.IsCompetent() {
		return Signature{}, &Refusal{Kind: Forbidden, Gate: "signature", What: person.String() + " may not sign.",
			Opens: "Somebody of the crew must sign."}
	}
	if err := v.VerifyPIN(person.ID, pin); err != nil {
		return Signature{}, err
	}
	return Signature{by: person, at: at}, nil
}

// IsZero reports whether there is no signature.
func (s Signature) IsZero() bool { return s.by.ID == "" }

// By returns who signed, as they were at that moment.
func (s Signature) By() Person { return s.by }

// Role returns the role in which the person signed.
func (s Signature) Role() Role { return s.role }

// At returns when.
func (s Signature) At() time.Time { return s.at }

// as returns the same signature in a role.
func (s Signature) as(r Role) Signature { s.role = r; return s }

type signatureRecord struct {
	By   Person    `json:"by"`
	Role Role      `json:"role"`
	At   time.Time `json:"at"`
}

// MarshalJSON writes the signature for the log.
func (s Signature) MarshalJSON() ([]byte, error) {
	return json.Marshal(signatureRecord{s.by, s.role, s.at})
}

// UnmarshalJSON reads a signature back from the log. It exists for the register, which reads only entries whose hash
// stands in the tree; a form or a request never passes through here.
func (s *Signature) UnmarshalJSON(text []byte) error {
	var r signatureRecord
	if err := json.Unmarshal(text, &r); err != nil {
		return err
	}
	*s = Signature{r.By, r.Role, r.At}
	return nil
}

// authorising are the acts by which officers answer for an isolation.
var authorising = []Kind{KindAuthorise, KindCountersign, KindExtend, KindResume, KindAnswerUnproved, KindSanctionTest,
	KindIssue, KindTakeWatch, KindAuthoriseChange}

// hasSigned reports whether a person has ever signed one of these acts on the permit.
func (p Permit) hasSigned(id PersonID, kinds ...Kind) bool {
	return slices.ContainsFunc(p.signatures, func(s Signing) bool {
		return s.Signature.By().ID == id && slices.Contains(kinds, s.Kind)
	})
}

// hasFitted reports whether a person has ever fitted one of the permit's locks, also one that was fitted anew since.
func (p Permit) hasFitted(id PersonID) bool { return slices.Contains(p.fitters, id) }

// noteFitter keeps that a person has fitted one of the permit's locks, or took one over.
func (p *Permit) noteFitter(id PersonID) {
	if !p.hasFitted(id) {
		p.fitters = append(p.fitters, id)
	}
}

// notAtTheValves refuses an authorising signature by somebody who asked for the permit or fitted one of its locks. does
// completes "must … it".
func notAtTheValves(s Setting, p Permit, does string) error {
	if who := s.Actor(); who.ID == p.requested.By || p.hasFitted(who.ID) {
		return refuse("authorise", "Somebody else must "+does+" it.",
			"%s requested this permit or fitted one of its locks and so may not %s it.", who, does)
	}
	return nil
}

// notAtTheDesk refuses an act at the valves by somebody who has ever answered for the isolation.
func notAtTheDesk(s Setting, p Permit, gate, does string) error {
	if who := s.Actor(); p.hasSigned(who.ID, authorising...) {
		return refuse(gate, "Somebody else must "+does+" the locks.",
			"%s authorised this isolation and so may not %s its locks.", who, does)
	}
	return nil
}
