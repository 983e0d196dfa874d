package permits

import (
	"slices"

	"stillwatch/isolation"
)

// Kinds of signing on to the work and off it.
const (
	KindSignOn  Kind = "sign on"
	KindSignOff Kind = "sign off"
)

// SignOn puts the signer to the work: whoever works signs on, and hangs a lock of their own where there is a group box.
type SignOn struct {
	Lock Padlock `json:"lock,omitempty"`
}

// Kind says which act this is.
func (SignOn) Kind() Kind { return KindSignOn }

func (SignOn) rule() rule { return signedBy("sign on", anybody...) }

func (a SignOn) tell(Names, Entry) string {
	if a.Lock != "" {
		return "signed on to the work, and hung their own lock " + string(a.Lock) + " on the group box"
	}
	return "signed on to the work"
}

func (SignOn) touches(Permit) Touched { return Touched{} }

func (SignOn) gate(s Setting, p Permit) error {
	if err := ready(s, p, "live"); err != nil {
		return err
	}
	if err := handedOver(s, p, "live"); err != nil {
		return err
	}
	if slices.Contains(p.SignedOn(), s.Actor().ID) {
		return refuse("live", "", "%s is signed on already.", s.Actor())
	}
	if own, hangs := p.ownLockOf(s.Actor().ID); hangs {
		return refuse("live", "Take that one off first.", "Lock %s of %s hangs on the group box from before.", own.Padlock,
			s.Actor())
	}
	if err := p.mayWorkUnder(s, "live"); err != nil {
		return err
	}
	if err := standsNot(s, p, "live"); err != nil {
		return err
	}
	if err := postHeld(p, isolation.FireWatch, "live"); err != nil {
		return err
	}
	if p.isOf(isolation.WorkHot) && !p.isOf(isolation.WorkEntry) { // who enters is asked at the entrance
		return freshAir(s, p, "live")
	}
	return nil
}

func (a SignOn) decide(s Setting, p Permit) (outcome, error) { return outcome{to: Live}, a.hangs(s, p) }

func (a SignOn) apply(e Entry, p *Permit) {
	p.crew = append(p.crew, Attendance{Person: e.By, On: e.At, Padlock: a.Lock})
}

// SignOff takes the signer off the work. Who has a lock of their own on the group box takes it off; only out of work
// that is stopped one comes without it, and takes it off later.
type SignOff struct {
	LockOff bool `json:"lock_off,omitempty"`
}

// Kind says which act this is.
func (SignOff) Kind() Kind { return KindSignOff }

func (SignOff) rule() rule { return signedBy("sign off", anybody...) }

func (a SignOff) tell(Names, Entry) string {
	return "signed off" + either(a.LockOff, ", and took their own lock off the group box", "")
}

func (SignOff) touches(Permit) Touched { return Touched{} }

func (SignOff) gate(s Setting, p Permit) error {
	if !slices.Contains(p.SignedOn(), s.Actor().ID) {
		return refuse("sign off", "", "%s is not signed on.", s.Actor())
	}
	return outOfSpace(s, p, "sign off")
}

func (a SignOff) decide(s Setting, p Permit) (outcome, error) {
	own, hangs := p.ownLockOf(s.Actor().ID)
	switch {
	case a.LockOff && !hangs:
		return outcome{}, invalid("lock_off", "%s has no lock on the group box.", s.Actor())
	case hangs && !a.LockOff && p.state == Live:
		return outcome{}, refuse("sign off", "Take it off, and say so.", "Lock %s of %s hangs on group box %s.", own.Padlock,
			s.Actor(), p.Box(s))
	}
	return outcome{to: p.state}, nil
}

func (a SignOff) apply(e Entry, p *Permit) {
	for i := range p.crew {
		if c := &p.crew[i]; c.Person == e.By && c.Off.IsZero() {
			c.Off = e.At
			if a.LockOff && c.HasLock() {
				c.LockOff = Mark{e.By, e.At}
			}
		}
	}
}
