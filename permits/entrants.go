package permits

import (
	"slices"
	"strings"
	"time"

	"stillwatch/isolation"
)

// Kinds of going into a space and of coming out.
const (
	KindGoIn    Kind = "go in"
	KindComeOut Kind = "come out"
)

// Entrant is one person's time inside a space; Out is zero while inside.
type Entrant struct {
	Person  PersonID
	In, Out time.Time
	InBy    PersonID // the attendant who recorded it
	OutBy   PersonID
}

// GoIn records people who go into the space now. The attendant at the entrance records it.
type GoIn struct {
	People []PersonID `json:"people"`
	Meters bool       `json:"meters"` // each wears a gas meter that is switched on
}

// Kind says which act this is.
func (GoIn) Kind() Kind { return KindGoIn }

func (GoIn) rule() rule { return unsignedBy("let people in", anybody...) }

func (a GoIn) tell(n Names, _ Entry) string { return "recorded as gone in: " + n.people(a.People) }

// people writes names in a list.
func (n Names) people(ids []PersonID) string {
	list := make([]string, len(ids))
	for i, id := range ids {
		list[i] = n.Name(id)
	}
	return strings.Join(list, ", ")
}

func (a GoIn) touches(Permit) Touched { return Touched{} }

func (GoIn) gate(s Setting, p Permit) error {
	const gate = "go in"
	if !p.isOf(isolation.WorkEntry) {
		return refuse(gate, "", "The work of permit %d is no entry.", p.id)
	}
	if err := ready(s, p, gate); err != nil {
		return err
	}
	if err := postHeld(p, isolation.Attendant, gate); err != nil {
		return err
	}
	if x, _ := p.AtPost(isolation.Attendant); x.By != s.Actor().ID {
		return refuse(gate, "That person records who goes in and who comes out.", "%s stands at the entrance, not %s.",
			s.name(x.By), s.Actor())
	}
	return freshAir(s, p, gate)
}

func (a GoIn) decide(s Setting, p Permit) (outcome, error) {
	const gate = "go in"
	if len(a.People) == 0 {
		return outcome{}, invalid("people", "Say who goes in.")
	}
	for i, id := range a.People {
		switch {
		case slices.Contains(a.People[:i], id):
			return outcome{}, invalid("people", "%s is named twice.", s.name(id))
		case !slices.Contains(p.SignedOn(), id):
			return outcome{}, refuse(gate, "That person signs on first.", "%s is not signed on to the work.", s.name(id))
		case slices.Contains(p.Inside(), id):
			return outcome{}, refuse(gate, "", "%s is inside already.", s.name(id))
		}
		if err := entersOnlyHere(s, p, id); err != nil {
			return outcome{}, err
		}
	}
	switch {
	case len(a.People)+len(p.Inside()) < 2:
		return outcome{}, refuse(gate, "Two go in together.", "Nobody goes in alone.") // MSC.581(110), second hand
	case !a.Meters:
		return outcome{}, refuse(gate, "Give each a gas meter and see it switched on.",
			"It is not confirmed that each wears a gas meter.")
	}
	return outcome{to: p.state}, nil
}

func (a GoIn) apply(e Entry, p *Permit) {
	for _, id := range a.People {
		p.entrants = append(p.entrants, Entrant{Person: id, In: e.At, InBy: e.By})
	}
}

// ComeOut records people who have come out of the space: by the attendant, by the person, or by who answers for the
// ship. It is possible in every state in which somebody may be inside.
type ComeOut struct {
	People []PersonID `json:"people"`
}

// Kind says which act this is.
func (ComeOut) Kind() Kind { return KindComeOut }

func (ComeOut) rule() rule { return unsignedBy("record who came out", anybody...) }

func (a ComeOut) tell(n Names, _ Entry) string { return "recorded as out: " + n.people(a.People) }

func (ComeOut) touches(Permit) Touched { return Touched{} }

func (ComeOut) gate(s Setting, p Permit) error {
	const gate = "come out"
	inside := p.Inside()
	if len(inside) == 0 {
		return refuse(gate, "", "Nobody is inside.")
	}
	if !p.countsOut(s.Actor()) && !slices.Contains(inside, s.Actor().ID) {
		return refuse(gate, "The attendant, the officer of the watch or the chief engineer records it.",
			"%s is not at the entrance.", s.Actor())
	}
	return nil
}

// countsOut reports whether a person may record others as out.
func (p Permit) countsOut(who Person) bool {
	x, _ := p.AtPost(isolation.Attendant)
	return x.By == who.ID || who.Has(Officer, ChiefEngineer, Master)
}

func (a ComeOut) decide(s Setting, p Permit) (outcome, error) {
	if len(a.People) == 0 {
		return outcome{}, invalid("people", "Say who came out.")
	}
	for _, id := range a.People {
		switch {
		case !slices.Contains(p.Inside(), id):
			return outcome{}, invalid("people", "%s is not inside.", s.name(id))
		case id != s.Actor().ID && !p.countsOut(s.Actor()):
			return outcome{}, refuse("come out", "The attendant records it.", "%s may record nobody else as out.", s.Actor())
		}
	}
	return outcome{to: p.state}, nil
}

func (a ComeOut) apply(e Entry, p *Permit) {
	for i := range p.entrants {
		if x := &p.entrants[i]; x.Out.IsZero() && slices.Contains(a.People, x.Person) {
			x.Out, x.OutBy = e.At, e.By
		}
	}
}

// Entrants returns everybody who went in, in order.
func (p Permit) Entrants() []Entrant { return slices.Clone(p.entrants) }

// Inside returns those who are inside now.
func (p Permit) Inside() []PersonID {
	var out []PersonID
	for _, x := range p.entrants {
		if x.Out.IsZero() {
			out = append(out, x.Person)
		}
	}
	return out
}

// SiteLine is one thing that goes on where people work, since or until a time.
type SiteLine struct {
	What  string
	Until bool
	At    time.Time
}

// OnSite says what is going on where people work, for whoever takes it over: who is inside, who stands by, until when
// the test of the air holds, which detectors are out of action.
func (p Permit) OnSite(s Setting) []SiteLine {
	var out []SiteLine
	for _, x := range p.entrants {
		if x.Out.IsZero() {
			out = append(out, SiteLine{s.name(x.Person) + " is inside", false, x.In})
		}
	}
	for _, post := range p.Posts() {
		if x, stands := p.AtPost(post); stands {
			out = append(out, SiteLine{s.name(x.By) + " stands by as " + string(post), false, x.Since})
		}
	}
	if until := p.AirUntil(s.At); p.state == Live && until.After(s.At) {
		out = append(out, SiteLine{"The test of the air holds", true, until})
	}
	for _, x := range p.inhibited {
		if x.Back.IsZero() {
			out = append(out, SiteLine{x.What + " is out of action", false, x.Out.At})
		}
	}
	return out
}

// outOfSpace refuses what ends somebody's work while they are inside.
func outOfSpace(s Setting, p Permit, gate string) error {
	if !slices.Contains(p.Inside(), s.Actor().ID) {
		return nil
	}
	return refuse(gate, "Come out, and have the attendant record it.", "%s is recorded as inside.", s.Actor())
}

// aloneAlarm is the danger of somebody who is left alone inside.
func (p Permit) aloneAlarm(s Setting) (Alarm, bool) {
	in := p.Inside()
	if len(in) != 1 {
		return Alarm{}, false
	}
	return Alarm{p.id, s.name(in[0]) + " is alone inside.", "", "Call that person out, or a second goes in."}, true
}
