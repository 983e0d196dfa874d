package permits

import "time"

// Kinds of putting right a clock that ran ahead.
const (
	KindPutClockRight Kind = "put clock right"
	KindReckonAnew    Kind = "reckon anew"
)

// PutClockRight says that the server's clock ran ahead of the true time and is right now. Its entry bears the time of
// the clock, and so do those after it, though entries of the false time come before it. Every permit that has an entry
// of the false time is reckoned anew in the same commit (ReckonAnew), so that no wait is shortened by it.
type PutClockRight struct {
	Words string `json:"words"` // by what it was compared
}

// Kind says which act this is.
func (PutClockRight) Kind() Kind { return KindPutClockRight }

func (PutClockRight) rule() rule { return signedBy("put the clock right", ChiefEngineer, Master) }

func (a PutClockRight) tell(Names, Entry) string {
	return "put the clock right: it had run ahead. Compared: " + a.Words
}

func (PutClockRight) touches(Permit) Touched { return Touched{} }

func (a PutClockRight) decideShip(s Setting) error {
	if s.At.Sub(s.Clock) <= clockBehind {
		return refuse("clock", "", "The clock does not stand behind the log: there is nothing to put right.")
	}
	return words("words", a.Words, 5, 300)
}

func (PutClockRight) applyShip(Entry, *Ship) {}

// at returns the time that the entry of an act bears.
func (s Setting) at(a Act) time.Time {
	if a.Kind() == KindPutClockRight {
		return s.Clock.UTC()
	}
	return s.At.UTC()
}

// ReckonAnew takes back what rests on times of a clock that ran ahead. The register does it, with PutClockRight.
//
// What was recorded in the false time happened before now, nobody knows when: it counts from now, so every wait begins
// anew. Each lock is looked at and all is read and proved anew; work that was on is stopped. An authorisation of the
// false time has run out: the officer extends it.
type ReckonAnew struct{}

// Kind says which act this is.
func (ReckonAnew) Kind() Kind { return KindReckonAnew }

func (ReckonAnew) rule() rule { return unsignedBy("reckon times anew") }

func (ReckonAnew) tell(Names, Entry) string {
	return "times of the clock that ran ahead count from now; everything is proved anew"
}

func (ReckonAnew) touches(Permit) Touched { return Touched{} }

func (ReckonAnew) gate(s Setting, p Permit) error {
	if !p.changed.After(s.At) {
		return refuse("clock", "", "Permit %d has no entry later than now.", p.id)
	}
	return nil
}

func (ReckonAnew) decide(_ Setting, p Permit) (outcome, error) {
	switch p.state {
	case Proving:
		return outcome{to: Isolating}, nil
	case Live, Testing:
		return outcome{to: Suspended}, nil
	}
	return outcome{to: p.state}, nil
}

func (ReckonAnew) apply(e Entry, p *Permit) {
	now := e.At
	p.pause = nil
	if p.authorised.At.After(now) {
		p.until = now
	}
	for _, m := range []*Mark{&p.requested, &p.authorised, &p.countersigned, &p.answered, &p.counted, &p.handed,
		&p.suspended, &p.emergency, &p.opening.Mark, &p.offer.Mark, &p.test.Asked, &p.test.Sanctioned, &p.test.Recorded,
		&p.change.Mark, &p.over.Offer.Mark, &p.over.Taken} {
		m.notAfter(now)
	}
	for i := range p.former {
		p.former[i].Authorised.notAfter(now)
		p.former[i].Replaced.notAfter(now)
	}
	for i := range p.locks {
		l := &p.locks[i]
		for _, m := range []*Mark{&l.Fitted, &l.Checked, &l.Looked, &l.WrongBy, &l.Removed, &l.Untied, &l.Seen, &l.Sighted,
			&l.Unreadable} {
			m.notAfter(now)
		}
	}
	for i := range p.drains {
		p.drains[i].Recorded.notAfter(now)
	}
	for i := range p.stored {
		p.stored[i].Recorded.notAfter(now)
	}
	for i := range p.dead {
		p.dead[i].Recorded.notAfter(now)
	}
	for i := range p.added {
		p.added[i].Done.notAfter(now)
	}
	for i := range p.shifts {
		p.shifts[i].Since = earlier(p.shifts[i].Since, now)
	}
	p.start.Recorded.notAfter(now)
	for i := range p.crew {
		p.crew[i].On, p.crew[i].Off = earlier(p.crew[i].On, now), earlier(p.crew[i].Off, now)
		p.crew[i].LockOff.notAfter(now)
	}
	p.siteNotAfter(now)
	switch p.state {
	case Live, Testing:
		p.stop(e, "The ship's clock had run ahead and was put right.")
	case Isolating, Proving, Suspended:
		p.forgetProof(e)
	}
}

// siteNotAfter brings the times of air, posts, people inside and detectors to this one where they are later.
func (p *Permit) siteNotAfter(now time.Time) {
	for i := range p.air {
		p.air[i].Recorded.notAfter(now)
	}
	for i := range p.posts {
		p.posts[i].Since, p.posts[i].Until = earlier(p.posts[i].Since, now), earlier(p.posts[i].Until, now)
	}
	for i := range p.entrants {
		p.entrants[i].In, p.entrants[i].Out = earlier(p.entrants[i].In, now), earlier(p.entrants[i].Out, now)
	}
	for i := range p.inhibited {
		p.inhibited[i].Out.notAfter(now)
		p.inhibited[i].Back.notAfter(now)
	}
	for i := range p.drains {
		p.drains[i].Consented.notAfter(now)
	}
}

// notAfter brings a mark of a later time to this one.
func (m *Mark) notAfter(t time.Time) { m.At = earlier(m.At, t) }

func earlier(a, b time.Time) time.Time {
	if a.After(b) {
		return b
	}
	return a
}
