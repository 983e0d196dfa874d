package permits

import "slices"

// Kinds of signing on to the work and off it.
const (
	KindSignOn  Kind = "sign on"
	KindSignOff Kind = "sign off"
)

// SignOn puts the signer to the work: whoever works signs on.
type SignOn struct{}

// Kind says which act this is.
func (SignOn) Kind() Kind { return KindSignOn }

func (SignOn) decide(s Setting, p Permit) (outcome, error) {
	if err := ready(s, p, "live"); err != nil {
		return outcome{}, err
	}
	if slices.Contains(p.SignedOn(), s.Actor().ID) {
		return outcome{}, refuse("live", "", "%s is signed on already.", s.Actor())
	}
	return outcome{to: Live}, nil
}

func (SignOn) apply(e Entry, p *Permit) {
	p.crew = append(p.crew, Attendance{Person: e.By, On: e.At})
}

// SignOff takes the signer off the work.
type SignOff struct{}

// Kind says which act this is.
func (SignOff) Kind() Kind { return KindSignOff }

func (SignOff) decide(s Setting, p Permit) (outcome, error) {
	if !slices.Contains(p.SignedOn(), s.Actor().ID) {
		return outcome{}, refuse("sign off", "", "%s is not signed on.", s.Actor())
	}
	return outcome{to: p.state}, nil
}

func (SignOff) apply(e Entry, p *Permit) {
	for i := range p.crew {
		if p.crew[i].Person == e.By && p.crew[i].Off.IsZero() {
			p.crew[i].Off = e.At
		}
	}
}
