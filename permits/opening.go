package permits

import (
	"slices"
	"strings"

	"stillwatch/isolation"
)

// Kinds of what is opened at once in an emergency.
const (
	KindOrderOpening Kind = "order opening"
	KindOpenAtOnce   Kind = "open at once"
)

// Opening is an order by which locks come off out of their order.
type Opening struct {
	Mark
	Steps []int
	By    PersonID // who takes them off
	Seen  PersonID // who looked that what comes does no harm
	Words string   // what for
}

// OrderOpening lets the locks that are named, and no others, come off at once and out of their order, in an emergency:
// by the person who is named, when another has looked at the machine. Nobody is at the work.
type OrderOpening struct {
	Steps []int    `json:"steps"`
	By    PersonID `json:"by_whom"`
	Seen  PersonID `json:"seen_by"` // looked that what comes then does no harm where the machine is open
	Words string   `json:"words"`   // what for
}

// Kind says which act this is.
func (OrderOpening) Kind() Kind { return KindOrderOpening }

func (OrderOpening) rule() rule { return signedBy("order locks off in an emergency", Officer, Master) }

func (a OrderOpening) tell(n Names, _ Entry) string {
	said := "ordered, to be opened at once by " + n.Name(a.By) + ":"
	for i, step := range a.Steps {
		said += either(i > 0, ", ", " ") + n.step(step)
	}
	return said + "; " + n.Name(a.Seen) + " saw that it does no harm there. What for: " + AsSentence(a.Words)
}

func (a OrderOpening) touches(Permit) Touched { return Touched{Person: a.By} }

func (OrderOpening) gate(s Setting, p Permit) error {
	const gate = "open at once"
	if s.Ship.Emergency.IsZero() || p.emergency.IsZero() {
		return refuse(gate, "Locks come off in their order.", "No emergency is declared.")
	}
	if p.LocksOn() == 0 {
		return refuse(gate, "", "No lock or tag hangs for permit %d.", p.id)
	}
	return p.nobodyIn(s, gate)
}

func (a OrderOpening) decide(s Setting, p Permit) (outcome, error) {
	if len(a.Steps) == 0 {
		return outcome{}, invalid("steps", "Choose at least one lock.")
	}
	for i, n := range a.Steps {
		if l, ok := p.Lock(n); !ok || !l.IsOn() || slices.Contains(a.Steps[:i], n) {
			return outcome{}, invalid("steps", "Step %d does not hang, or is named twice.", n)
		}
	}
	by, known := s.Ship.Person(a.By)
	seen, there := s.Ship.Person(a.Seen)
	switch {
	case !known || !by.Has(KindOpenAtOnce.Roles()...):
		return outcome{}, invalid("by_whom", "Choose who takes them off: a technician, an officer or the chief engineer.")
	case !there || !seen.IsCompetent() || a.Seen == a.By:
		return outcome{}, invalid("seen_by", "Choose who looked at the machine: another of the crew than takes them off.")
	}
	return outcome{to: p.state}, words("words", a.Words, 3, 300)
}

func (a OrderOpening) apply(e Entry, p *Permit) {
	p.opening = Opening{Mark{e.By, e.At}, slices.Clone(a.Steps), a.By, a.Seen, strings.TrimSpace(a.Words)}
}

// Opening returns the order by which locks come off at once; ok is false if there is none.
func (p Permit) Opening() (o Opening, ok bool) { return p.opening, !p.opening.IsZero() }

// NextOpening returns the first lock that was ordered off and hangs; ok is false when all are off.
func (p Permit) NextOpening() (l Lock, ok bool) {
	for _, n := range p.opening.Steps {
		if l, is := p.Lock(n); is && l.IsOn() {
			return l, true
		}
	}
	return Lock{}, false
}

// OpenAtOnce takes one lock off by such an order: the tag that was scanned, and the position in which the point was
// left. It goes on again as at first, or is seen by a second person as every lock that has come off.
type OpenAtOnce struct {
	Tag      TagDigest          `json:"tag"`
	Position isolation.Position `json:"position"`
	How      string             `json:"how,omitempty"`
}

// Kind says which act this is.
func (OpenAtOnce) Kind() Kind { return KindOpenAtOnce }

func (OpenAtOnce) rule() rule {
	return unsignedBy("open a point at once", Technician, Officer, ChiefEngineer)
}

func (a OpenAtOnce) tell(n Names, _ Entry) string {
	l, ok := n.Permit.LockByTag(a.Tag)
	if !ok {
		return "opened a point in the emergency"
	}
	return "in the emergency took " + l.Thing() + " " + itoa(l.Step.N) + " off " + string(l.Step.Point) + ", left " +
		l.Step.Kind.Word(a.Position)
}

func (a OpenAtOnce) touches(after Permit) Touched { return atTag(after, a.Tag) }

func (OpenAtOnce) aim(p Permit, at Target) PermitAct {
	l, _ := p.Lock(at.Step)
	return OpenAtOnce{Tag: l.Tag}
}

func (a OpenAtOnce) gate(s Setting, p Permit) error {
	const gate = "open at once"
	l, err := p.byTag(a.Tag, gate)
	if err != nil {
		return err
	}
	switch {
	case s.Ship.Emergency.IsZero() || p.opening.IsZero():
		return refuse(gate, "The master or an officer of the watch orders it.", "Nothing is ordered to be opened at once.")
	case !slices.Contains(p.opening.Steps, l.Step.N):
		return refuse(gate, "", "Lock %d (%s) stays on: it was not ordered off.", l.Step.N, l.Step.Point)
	case !l.IsOn():
		return refuse(gate, "", "Lock %d (%s) is off already.", l.Step.N, l.Step.Point)
	case s.Actor().ID != p.opening.By:
		return refuse(gate, "That person does it, or the order is signed anew.", "%s was named to take it off, not %s.",
			s.name(p.opening.By), s.Actor())
	}
	return p.nobodyIn(s, gate)
}

func (a OpenAtOnce) decide(s Setting, p Permit) (outcome, error) {
	const gate = "open at once"
	l, err := p.byTag(a.Tag, gate)
	if err != nil {
		return outcome{}, err
	}
	left, why := p.LeaveAt(s.Held, l)
	return outcome{to: p.state}, leftAt(l, a.Position, left, why, gate)
}

func (a OpenAtOnce) apply(e Entry, p *Permit) {
	for i := range p.locks {
		if l := &p.locks[i]; l.Tag == a.Tag {
			l.Removed, l.Left, l.Looked, l.Opened = Mark{e.By, e.At}, a.Position, Mark{}, true
			l.Seen, l.SeenWrong = Mark{}, ""
		}
	}
}

// nobodyIn refuses while somebody is at the work, under this permit or under one that works under its locks.
func (p Permit) nobodyIn(s Setting, gate string) error {
	for _, q := range append(p.Subs(s), p) {
		if on := q.SignedOn(); len(on) > 0 {
			names := make([]string, len(on))
			for i, id := range on {
				names[i] = s.name(id)
			}
			return refuse(gate, "Find them; each signs off, or is counted out by name.", "Not out yet: %s.",
				strings.Join(names, ", "))
		}
	}
	return nil
}
