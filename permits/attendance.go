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

// SignOn puts the signer to the work: whoever works signs on.
type SignOn struct{}

// Kind says which act this is.
func (SignOn) Kind() Kind { return KindSignOn }

func (SignOn) rule() rule { return signedBy("sign on", anybody...) }

func (SignOn) tell(Names, Entry) string { return "signed on to the work" }

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

func (SignOn) decide(Setting, Permit) (outcome, error) { return outcome{to: Live}, nil }

func (SignOn) apply(e Entry, p *Permit) {
	p.crew = append(p.crew, Attendance{Person: e.By, On: e.At})
}

// SignOff takes the signer off the work.
type SignOff struct{}

// Kind says which act this is.
func (SignOff) Kind() Kind { return KindSignOff }

func (SignOff) rule() rule { return signedBy("sign off", anybody...) }

func (SignOff) tell(Names, Entry) string { return "signed off" }

func (SignOff) touches(Permit) Touched { return Touched{} }

func (SignOff) gate(s Setting, p Permit) error {
	if !slices.Contains(p.SignedOn(), s.Actor().ID) {
		return refuse("sign off", "", "%s is not signed on.", s.Actor())
	}
	return outOfSpace(s, p, "sign off")
}

func (SignOff) decide(_ Setting, p Permit) (outcome, error) { return outcome{to: p.state}, nil }

func (SignOff) apply(e Entry, p *Permit) {
	for i := range p.crew {
		if p.crew[i].Person == e.By && p.crew[i].Off.IsZero() {
			p.crew[i].Off = e.At
		}
	}
}
