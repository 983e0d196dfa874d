package permits

import (
	"slices"
	"strings"
	"time"
)

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

// Kinds of a second person's walk: a look at each tag, and one signature for all of them.
const (
	KindLook      Kind = "look at lock"
	KindSignLooks Kind = "sign looks"
)

// lookAge is how old a look may be when it is signed (our choice: a walk through one engine room).
const lookAge = 2 * time.Hour

// Look says that a second person stood before a tag and saw it right: at a lock that hangs, or at a point whose lock
// has come off. It counts when the same person signs it, with the others of the walk: SignLooks. What is seen wrong is
// recorded at the tag itself.
type Look struct {
	N   int    `json:"n"`             // step, from 1
	How string `json:"how,omitempty"` // how the tag was read, as in FitLock

	KeptS int `json:"kept_s,omitempty"` // for how long the phone kept it, as in FitLock
}

// Kind says which act this is.
func (Look) Kind() Kind { return KindLook }

func (Look) rule() rule { return unsignedBy("look at a lock", anybody...) }

func (a Look) tell(n Names, _ Entry) string {
	return "looked at " + n.step(a.N) + ", and signs at the end of the walk" + keptWords(a.KeptS)
}

func (a Look) touches(after Permit) Touched { return atStep(after, a.N) }

func (Look) aim(_ Permit, at Target) PermitAct { return Look{N: at.Step} }

func (a Look) gate(s Setting, p Permit) error {
	s.Signed = Signature{}
	if p.Has(KindCheckLock) {
		return CheckLock{N: a.N}.gate(s, p)
	}
	return CheckRestored{N: a.N}.gate(s, p)
}

func (a Look) decide(s Setting, p Permit) (outcome, error) {
	return outcome{to: p.state}, stillSo(s, p, a.KeptS, "check lock")
}

func (a Look) apply(e Entry, p *Permit) { p.locks[a.N-1].Looked = Mark{e.By, before(e.At, a.KeptS)} }

// SignLooks is the one signature under the looks of a walk. Each is then a check of the moment at which it was made.
type SignLooks struct {
	Steps []int `json:"steps"` // whose looks are signed, as they stood on the list
}

// Kind says which act this is.
func (SignLooks) Kind() Kind { return KindSignLooks }

func (SignLooks) rule() rule { return signedBy("sign what was seen on the walk", anybody...) }

func (a SignLooks) tell(n Names, _ Entry) string {
	words := "signed the looks at "
	for i, step := range a.Steps {
		if i > 0 {
			words += ", "
		}
		words += n.step(step)
	}
	return words + " and found them right"
}

func (a SignLooks) touches(after Permit) Touched {
	var t Touched
	for _, n := range a.Steps {
		t.Points = append(t.Points, atStep(after, n).Points...)
	}
	return t
}

func (a SignLooks) gate(s Setting, p Permit) error {
	list := p.LooksOf(s.Actor().ID)
	if len(list) == 0 {
		return refuse("sign looks", "Scan each tag on the second person's walk first.",
			"%s has looked at nothing that is still to be signed.", s.Actor())
	}
	for _, l := range list {
		if s.At.Sub(l.Looked.At) > lookAge {
			return refuse("sign looks", "Look at it again, then sign.", "The look at %s %d (%s) is %s old: %s at most.",
				l.Thing(), l.Step.N, l.Step.Point, inMinutes(s.At.Sub(l.Looked.At)), inMinutes(lookAge))
		}
	}
	return nil
}

func (a SignLooks) decide(s Setting, p Permit) (outcome, error) {
	var have []int
	for _, l := range p.LooksOf(s.Actor().ID) {
		have = append(have, l.Step.N)
	}
	if !slices.Equal(have, a.Steps) {
		return outcome{}, &Refusal{Kind: Conflict, Gate: "sign looks",
			What:  "The list has changed since the page was made.",
			Opens: "Load the page anew, read the list and sign it."}
	}
	q := p.clone()
	a.apply(Entry{By: s.Actor().ID}, &q)
	switch {
	case p.state != Isolating:
		return outcome{to: p.state}, nil
	case q.allChecked():
		return outcome{to: Proving}, nil
	}
	return outcome{to: Isolating}, nil
}

func (a SignLooks) apply(_ Entry, p *Permit) {
	for _, n := range a.Steps {
		l := &p.locks[n-1]
		if l.IsOn() {
			l.Checked = l.Looked
		} else {
			l.Seen, l.SeenWrong = l.Looked, ""
		}
		l.Looked = Mark{}
	}
}

// LooksOf returns the locks at which somebody has looked without having signed yet, in the order of the steps.
func (p Permit) LooksOf(who PersonID) []Lock {
	return slices.DeleteFunc(p.Locks(), func(l Lock) bool { return l.Looked.IsZero() || l.Looked.By != who })
}

// Looks returns what is still to be looked at by whoever asks, in the order of the walk: locks that hang unchecked, or
// points whose locks have come off, the last first. What this person has looked at already is left out, and what they
// may not look at.
func Looks(s Setting, p Permit) []TagUse {
	var out []TagUse
	list := p.Unseen()
	if p.Has(KindCheckLock) {
		list = p.locks
	}
	for _, l := range list {
		u := UseOfTag(s, p, l.Step.N)
		if (u.Use == UseCheck || u.Use == UseSee) && Foresee(s, p, KindLook, Target{Step: l.Step.N}) == nil {
			out = append(out, u)
		}
	}
	return out
}

// looked says to whoever has looked at a tag that their signature is still to come; nil for others.
func (p Permit) looked(s Setting, l Lock) *Refusal {
	if l.Looked.IsZero() || l.Looked.By != s.By.ID {
		return nil
	}
	return refuse("sign looks", "Look at the others, then sign once for all of them.",
		"You have looked at it, at %s. It does not count before you sign.", l.Looked.At.Format("15:04 MST"))
}

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
	case Live, Testing:
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
	case Live, Suspended, Testing:
		p.stop(e, "step "+itoa(a.N)+" ("+string(l.Step.Point)+") was found wrong: "+l.Wrong)
	case Proving:
		p.forgetProof(e)
	case Isolating: // what was read before a step rested on what hung before it
		p.forgetReadings(e)
		p.proved, p.issued, p.goesOn = Mark{}, Mark{}, false
	}
}
