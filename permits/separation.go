package permits

import "slices"

// authorising are the acts by which officers answer for an isolation.
var authorising = []Kind{KindAuthorise, KindCountersign, KindExtend, KindResume, KindAnswerUnproved,
	KindIssue}

// hasSigned reports whether a person has ever signed one of these acts on the permit.
func (p Permit) hasSigned(id PersonID, kinds ...Kind) bool {
	return slices.ContainsFunc(p.signatures, func(s Signing) bool {
		return s.Signature.By().ID == id && slices.Contains(kinds, s.Kind)
	})
}

// hasFitted reports whether a person has ever fitted one of the permit's locks, also one that was fitted anew since.
func (p Permit) hasFitted(id PersonID) bool { return slices.Contains(p.fitters, id) }

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
