package permits

import "strings"

// KindFindWrong is a lock that somebody saw missing, or a point seen in another position than it is held in.
const KindFindWrong Kind = "find lock wrong"

// FindWrong says what somebody saw wrong at a lock that is recorded as hanging. Anybody of the crew may record it, at
// once and without a PIN. On a live permit the work stops; from the proof on everything is looked at and proved anew.
type FindWrong struct {
	N     int    `json:"n"` // step, from 1
	Words string `json:"words"`
}

// Kind says which act this is.
func (FindWrong) Kind() Kind { return KindFindWrong }

func (FindWrong) rule() rule { return unsignedBy("record a lock found wrong", anybody...) }

func (a FindWrong) tell(n Names, _ Entry) string {
	return "found " + n.step(a.N) + " wrong: " + a.Words
}

func (a FindWrong) touches(after Permit) Touched { return atStep(after, a.N) }

func (FindWrong) aim(_ Permit, at Target) PermitAct { return FindWrong{N: at.Step} }

func (a FindWrong) gate(_ Setting, p Permit) error {
	const gate = "find lock wrong"
	l, ok := p.Lock(a.N)
	switch {
	case !ok:
		return &Refusal{Kind: NotFound, Gate: gate, What: "This permit has no such step."}
	case !l.IsOn():
		return refuse(gate, "", "Step %d (%s) does not hang: nothing can be wrong with it.", a.N, l.Step.Point)
	case l.Wrong != "":
		return refuse(gate, "It is fitted anew.", "Step %d (%s) was found wrong already: %s", a.N, l.Step.Point,
			AsSentence(l.Wrong))
	}
	return nil
}

func (a FindWrong) decide(_ Setting, p Permit) (outcome, error) {
	to := p.state
	switch p.state {
	case Live:
		to = Suspended
	case Proving:
		to = Isolating
	}
	return outcome{to: to}, words("words", a.Words, 3, 300)
}

func (a FindWrong) apply(e Entry, p *Permit) {
	l := &p.locks[a.N-1]
	l.Wrong, l.WrongBy, l.Checked, l.Looked = strings.TrimSpace(a.Words), Mark{e.By, e.At}, Mark{}, Mark{}
	switch p.state { // as it was before the entry
	case Live, Suspended:
		p.stop(e, "step "+itoa(a.N)+" ("+string(l.Step.Point)+") was found wrong: "+l.Wrong)
	case Proving:
		p.forgetProof()
	case Isolating: // what was read before a step rested on what hung before it
		p.forgetReadings()
	}
}
