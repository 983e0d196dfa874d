package permits

import "stillwatch/isolation"

// Kinds of what is signed beside the authorisation before the work: for what the plan does not prove, and that the
// measures are in place.
const (
	KindAnswerUnproved Kind = "answer for unproved"
	KindIssue          Kind = "issue"
)

// AnswerUnproved is the chief engineer's signature for what the plan does not prove, beside the officer's, who answers
// for it in the authorisation. Nothing is isolated by such a plan before both have signed.
type AnswerUnproved struct{}

// Kind says which act this is.
func (AnswerUnproved) Kind() Kind { return KindAnswerUnproved }

func (AnswerUnproved) rule() rule {
	return signedBy("answer for what the plan does not prove", ChiefEngineer)
}

func (AnswerUnproved) tell(n Names, _ Entry) string {
	return "answers for what the plan does not prove: " + n.Permit.unprovedWords()
}

func (AnswerUnproved) touches(Permit) Touched { return Touched{} }

func (AnswerUnproved) gate(s Setting, p Permit) error {
	const gate = "unproved"
	if err := notAtTheValves(s, p, "answer for"); err != nil {
		return err
	}
	switch {
	case len(p.Plan().Unproved) == 0:
		return refuse(gate, "", "The plan leaves nothing unproved: nobody needs to answer for it.")
	case !p.answered.IsZero():
		return refuse(gate, "", "%s has answered for it already.", s.name(p.answered.By))
	case p.hasSigned(s.Actor().ID, KindAuthorise, KindAuthoriseChange):
		return refuse(gate, "Another chief engineer answers for it too.",
			"%s authorised this isolation: two people answer for what the plan does not prove.", s.Actor())
	}
	return nil
}

func (AnswerUnproved) decide(_ Setting, p Permit) (outcome, error) { return outcome{to: p.state}, nil }

func (AnswerUnproved) apply(e Entry, p *Permit) { p.answered = Mark{e.By, e.At} }

// NeedsAnswer reports whether the chief engineer's signature is waited for, for what the plan does not prove.
func (p Permit) NeedsAnswer() bool {
	return p.under == 0 && len(p.Plan().Unproved) > 0 && p.answered.IsZero()
}

// Answered returns the chief engineer who answers for what the plan does not prove; zero if nobody does.
func (p Permit) Answered() Mark { return p.answered }

// unprovedWords is all that the plan does not prove.
func (p Permit) unprovedWords() string {
	return unprovedBy(p.Plan())
}

func unprovedBy(plan *isolation.Plan) string {
	said := ""
	for i, u := range plan.Unproved {
		if i > 0 {
			said += " "
		}
		said += AsSentence(u.Words)
	}
	return said
}

// answeredFor refuses an act that must wait for who answers for what the plan does not prove.
func answeredFor(p Permit, gate string) error {
	if !p.NeedsAnswer() {
		return nil
	}
	return refuse(gate, "The chief engineer reads it and signs.", "Nobody but the officer answers yet for what the plan "+
		"does not prove: %s", p.unprovedWords())
}

// Issue is the signature that the measures are in place, before the permit can be accepted: by the officer of the watch
// or the chief engineer, and by nobody who asked for the permit, fitted its locks or signed its proof. (UK COSWP,
// second hand: the authorising officer checks that the measures are in place.)
type Issue struct{}

// Kind says which act this is.
func (Issue) Kind() Kind { return KindIssue }

func (Issue) rule() rule { return signedBy("issue the permit", Officer, ChiefEngineer) }

func (Issue) tell(Names, Entry) string { return "issued the permit: the measures are in place" }

func (Issue) touches(Permit) Touched { return Touched{} }

func (Issue) gate(s Setting, p Permit) error {
	const gate = "issue"
	if err := ready(s, p, gate); err != nil {
		return err
	}
	if err := notAtTheValves(s, p, "issue"); err != nil {
		return err
	}
	if err := inOwnHands(s, p, KindIssue, gate); err != nil {
		return err
	}
	if r, of := p.issuer(); of && !s.Actor().Has(r) {
		return refuse(gate, "That person looks and signs.", "Work of this kind is issued by the %s.", r)
	}
	switch {
	case p.proved.IsZero():
		return refuse(gate, "The technician signs the proof first.", "The isolation of permit %d is not proved.", p.id)
	case p.hasSigned(s.Actor().ID, KindProve, KindAccept):
		return refuse(gate, "Somebody else looks and signs.",
			"%s signed the proof, or took the work over, and so may not issue it.", s.Actor())
	case !p.issued.IsZero():
		return refuse(gate, "", "Permit %d is issued already.", p.id)
	}
	return stillProved(s, p, gate)
}

func (Issue) decide(_ Setting, p Permit) (outcome, error) { return outcome{to: p.state}, nil }

func (Issue) apply(e Entry, p *Permit) { p.issued = Mark{e.By, e.At} }

// issuer returns the one role that issues work of the permit's kinds; of is false where either may. Where one kind asks
// for the officer of the watch and another for the chief engineer, it is the officer: the bridge must know.
func (p Permit) issuer() (r Role, of bool) {
	for _, row := range p.plan.Plan().WorkRows() {
		switch row.Issuer {
		case isolation.OfficerIssues:
			return Officer, true
		case isolation.EngineerIssues:
			r, of = ChiefEngineer, true
		}
	}
	return r, of
}

// Issued returns who signed that the measures are in place; zero while nobody has, or it is not valid any more.
func (p Permit) Issued() Mark { return p.issued }

// issuedToAnother refuses the acceptance of a permit that is not issued, and by somebody who answers for the isolation
// or proved it: who proves is not who accepts.
func issuedToAnother(s Setting, p Permit, gate string) error {
	who := s.Actor()
	switch {
	case p.issued.IsZero():
		return refuse(gate, "The officer of the watch or the chief engineer looks and signs.",
			"Permit %d is not issued: nobody has signed that the measures are in place.", p.id)
	case p.hasSigned(who.ID, KindProve):
		return refuse(gate, "Another technician takes it over.", "%s signed the proof and so may not accept it.",
			who)
	case p.hasSigned(who.ID, authorising...):
		return refuse(gate, "Another technician takes it over.", "%s answers for the isolation and so may not accept it.",
			who)
	}
	return nil
}
