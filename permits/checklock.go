package permits

import "strings"

// KindCheckLock is a second person's look at a fitted lock.
const KindCheckLock Kind = "check lock"

// CheckLock says that a second person saw a lock right, without touching: position, lock and tag as the plan says. What
// is seen wrong is a FindWrong.
type CheckLock struct {
	N int `json:"n"` // step, from 1
}

// Kind says which act this is.
func (CheckLock) Kind() Kind { return KindCheckLock }

func (CheckLock) rule() rule { return signedBy("check a lock", anybody...) }

func (a CheckLock) tell(n Names, _ Entry) string {
	return "looked at " + n.step(a.N) + " and found it right"
}

func (a CheckLock) touches(after Permit) Touched { return atStep(after, a.N) }

func (CheckLock) aim(_ Permit, at Target) PermitAct { return CheckLock{N: at.Step} }

func (a CheckLock) gate(s Setting, p Permit) error {
	const gate = "check lock"
	l, ok := p.Lock(a.N)
	switch {
	case !ok:
		return &Refusal{Kind: NotFound, Gate: gate, What: "This permit has no such step."}
	case !l.IsOn():
		return refuse(gate, "It is fitted first.", "Lock %d (%s) does not hang yet: there is nothing to check.",
			a.N, l.Step.Point)
	case l.Fitted.By == s.Actor().ID:
		return refuse(gate, "Any other competent person may look and sign.",
			"%s fitted lock %d (%s) and so may not check it.", s.Actor(), a.N, l.Step.Point)
	case l.Wrong != "":
		return refuse(gate, "It is fitted anew first.", "Lock %d (%s) was found wrong: %s.", a.N, l.Step.Point,
			strings.TrimRight(l.Wrong, ". "))
	case l.IsChecked():
		return refuse(gate, "", "Lock %d (%s) has been checked already.", a.N, l.Step.Point)
	}
	return nil
}

func (a CheckLock) decide(s Setting, p Permit) (outcome, error) {
	p = p.clone()
	p.locks[a.N-1].Checked = Mark{s.Actor().ID, s.At}
	if p.allChecked() {
		return outcome{to: Proving}, nil
	}
	return outcome{to: Isolating}, nil
}

func (a CheckLock) apply(e Entry, p *Permit) {
	p.locks[a.N-1].Checked, p.locks[a.N-1].Looked = Mark{e.By, e.At}, Mark{}
}
