package permits

import "strings"

// KindCheckLock is a second person's look at a fitted lock.
const KindCheckLock Kind = "check lock"

// CheckLock says what a second person saw, without touching: right, or wrong and in which way.
type CheckLock struct {
	N     int    `json:"n"`               // step, from 1
	Wrong string `json:"wrong,omitempty"` // "": position, lock and tag are as the plan says
}

// Kind says which act this is.
func (CheckLock) Kind() Kind { return KindCheckLock }

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
	}
	return nil
}

func (a CheckLock) decide(s Setting, p Permit) (outcome, error) {
	if l, _ := p.Lock(a.N); l.IsChecked() && a.Wrong == "" {
		return outcome{}, refuse("check lock", "", "Lock %d (%s) has been checked already.", a.N, l.Step.Point)
	}
	if a.Wrong != "" {
		return outcome{to: Isolating}, words("wrong", a.Wrong, 3, 300)
	}
	p = p.clone()
	p.locks[a.N-1].Checked = Mark{s.Actor().ID, s.At}
	if p.allChecked() {
		return outcome{to: Proving}, nil
	}
	return outcome{to: Isolating}, nil
}

func (a CheckLock) apply(e Entry, p *Permit) {
	l := &p.locks[a.N-1]
	if a.Wrong != "" {
		l.Wrong, l.Checked = strings.TrimSpace(a.Wrong), Mark{}
		return
	}
	l.Checked = Mark{e.By, e.At}
}
