package permits

import (
	"slices"
	"strings"
)

// KindCheckRestored is a second person's look at a point whose lock has come off.
const KindCheckRestored Kind = "check restored"

// CheckRestored says what a second person saw at a point after its lock came off: left as it should be, or wrong and in
// which way. The permit cannot be closed before every point was seen right.
type CheckRestored struct {
	N     int    `json:"n"`               // step, from 1
	Wrong string `json:"wrong,omitempty"` // "": the point stands as recorded, and nothing hangs
}

// Kind says which act this is.
func (CheckRestored) Kind() Kind { return KindCheckRestored }

func (CheckRestored) rule() rule { return signedBy("check a point that was restored", anybody...) }

func (a CheckRestored) tell(n Names, _ Entry) string {
	if a.Wrong != "" {
		return "saw " + n.step(a.N) + " wrong after its lock came off: " + a.Wrong
	}
	return "saw " + n.step(a.N) + " right after its lock came off"
}

func (a CheckRestored) touches(after Permit) Touched { return atStep(after, a.N) }

func (CheckRestored) aim(_ Permit, at Target) PermitAct { return CheckRestored{N: at.Step} }

func (a CheckRestored) gate(s Setting, p Permit) error {
	const gate = "check restored"
	l, ok := p.Lock(a.N)
	switch {
	case !ok:
		return &Refusal{Kind: NotFound, Gate: gate, What: "This permit has no such step."}
	case l.Off().IsZero():
		return refuse(gate, "It comes off first.", "Step %d (%s) is not off: there is nothing to check.", a.N, l.Step.Point)
	case l.Off().By == s.Actor().ID:
		return refuse(gate, "Any other competent person may look and sign.",
			"%s took lock %d (%s) off and so may not check it.", s.Actor(), a.N, l.Step.Point)
	case !l.Seen.IsZero():
		return refuse(gate, "", "Step %d (%s) has been seen right already.", a.N, l.Step.Point)
	}
	return nil
}

func (a CheckRestored) decide(_ Setting, p Permit) (outcome, error) {
	if a.Wrong != "" {
		return outcome{to: p.state}, words("wrong", a.Wrong, 3, 300)
	}
	return outcome{to: p.state}, nil
}

func (a CheckRestored) apply(e Entry, p *Permit) {
	l := &p.locks[a.N-1]
	l.SeenWrong, l.Seen, l.Looked = strings.TrimSpace(a.Wrong), Mark{}, Mark{}
	if a.Wrong == "" {
		l.Seen = Mark{e.By, e.At}
	}
}

// Unseen returns the locks that came off, on the way back or for a test, and whose points no second person has seen
// right since, last first: in the order in which they came off.
func (p Permit) Unseen() []Lock {
	var out []Lock
	for i := len(p.locks) - 1; i >= 0; i-- {
		if l := p.locks[i]; !l.Off().IsZero() && l.Seen.IsZero() {
			out = append(out, l)
		}
	}
	return out
}

// unseen is Unseen for a gate. Before edition 6 nobody was asked to see a point whose lock came off for a test and
// never went on again.
func (p Permit) unseen(s Setting) []Lock {
	if s.Judge.Edition >= changeEdition {
		return p.Unseen()
	}
	return slices.DeleteFunc(p.Unseen(), func(l Lock) bool { return l.Removed.IsZero() })
}
