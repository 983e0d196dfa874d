package permits

import (
	"slices"
	"strings"
	"time"
)

// Kinds of handing a permit over to the next watch: two signatures, the off-going officer's first.
const (
	KindOfferWatch Kind = "offer watch"
	KindTakeWatch  Kind = "take watch"
)

// OfferWatch is the off-going officer's signature that hands a permit over. The permit stays in that officer's hands
// until the oncoming one has signed too; meanwhile nothing leads on to work. The master may sign for an officer who
// can't. Offered to the officer who has it, the offer is taken back.
type OfferWatch struct {
	To    PersonID `json:"to"`
	Words string   `json:"words,omitempty"` // what the next watch should know
}

// Kind says which act this is.
func (OfferWatch) Kind() Kind { return KindOfferWatch }

func (OfferWatch) rule() rule { return signedBy("hand a permit over", Officer, Master) }

func (a OfferWatch) tell(n Names, e Entry) string {
	said := "hands over to " + n.Name(a.To)
	if a.To == e.By {
		said = "keeps the permit: nothing is handed over"
	}
	if a.Words != "" {
		said += ": " + a.Words
	}
	return said
}

func (a OfferWatch) touches(Permit) Touched { return Touched{Person: a.To} }

func (OfferWatch) gate(s Setting, p Permit) error {
	if who := s.Actor(); who.ID != p.InHand() && !who.Has(Master) {
		return refuse("hand over", "That officer hands it over; if they cannot, the master does.",
			"Permit %d is in the hands of %s, not of %s.", p.id, s.name(p.InHand()), who)
	}
	return nil
}

func (a OfferWatch) decide(s Setting, p Permit) (outcome, error) {
	const gate = "hand over"
	to, known := s.Ship.Person(a.To)
	switch {
	case !known || to.Left || !to.Has(Officer):
		return outcome{}, invalid("to", "Choose the officer who comes on watch.")
	case a.To == p.InHand() && p.offer.IsZero():
		return outcome{}, invalid("to", "Permit %d is in the hands of %s already.", p.id, to)
	case a.To == p.requested.By || p.hasFitted(a.To):
		return outcome{}, refuse(gate, "Hand it over to another officer.",
			"%s requested permit %d or fitted one of its locks and so may not answer for it.", to, p.id)
	}
	if a.Words == "" {
		return outcome{to: p.state}, nil
	}
	return outcome{to: p.state}, words("words", a.Words, 3, 500)
}

func (a OfferWatch) apply(e Entry, p *Permit) {
	if a.To == p.InHand() {
		p.offer = Offer{}
		return
	}
	p.offer = Offer{Mark{e.By, e.At}, a.To, strings.TrimSpace(a.Words)}
}

// TakeWatch is the oncoming officer's signature: the permit is in that officer's hands from now on.
type TakeWatch struct{}

// Kind says which act this is.
func (TakeWatch) Kind() Kind { return KindTakeWatch }

func (TakeWatch) rule() rule { return signedBy("take a permit over", Officer) }

func (TakeWatch) tell(Names, Entry) string { return "took the permit over for the watch" }

func (TakeWatch) touches(Permit) Touched { return Touched{} }

func (TakeWatch) gate(s Setting, p Permit) error {
	const gate = "hand over"
	switch who := s.Actor(); {
	case p.offer.IsZero():
		return refuse(gate, "The officer who has it signs first.", "Nobody hands permit %d over: it is in the hands of %s.",
			p.id, s.name(p.InHand()))
	case who.ID != p.offer.To:
		return refuse(gate, "That officer signs, or the permit is handed over anew.",
			"Permit %d is handed over to %s, not to %s.", p.id, s.name(p.offer.To), who)
	}
	return notAtTheValves(s, p, "take over")
}

func (TakeWatch) decide(_ Setting, p Permit) (outcome, error) { return outcome{to: p.state}, nil }

func (TakeWatch) apply(e Entry, p *Permit) {
	p.over = Handover{p.offer, Mark{e.By, e.At}}
	p.offer, p.pause = Offer{}, nil
}

// InHand returns the officer who answers for the permit now: who took it over last, else who authorised it; "" before.
func (p Permit) InHand() PersonID {
	for _, s := range slices.Backward(p.signatures) {
		if s.Kind == KindTakeWatch || s.Kind == KindAuthorise {
			return s.Signature.By().ID
		}
	}
	return ""
}

// Offer is a permit that the off-going officer has signed over, and the oncoming one has not.
type Offer struct {
	Mark          // who signed, and when
	To   PersonID // who is to sign
	// Words is what the next watch should know; may be "".
	Words string
}

// Handover is a handing over that both officers signed.
type Handover struct {
	Offer Offer
	Taken Mark // who took over, and when
}

// LastHandover returns the last handing over that both signed; ok is false if there was none. What the off-going
// officer wrote holds until the next one.
func (p Permit) LastHandover() (h Handover, ok bool) { return p.over, !p.over.Taken.IsZero() }

// Offered returns the offer that waits for the oncoming officer's signature; ok is false if none does.
func (p Permit) Offered() (o Offer, ok bool) { return p.offer, !p.offer.IsZero() }

// handedOver refuses what leads on to work while a permit is between two watches: one officer has signed it over, and
// the other has not taken it.
func handedOver(s Setting, p Permit, gate string) error {
	if p.offer.IsZero() {
		return nil
	}
	return refuse(gate, "That officer reads it and takes it over, under Handing over.",
		"%s handed permit %d over, and %s has not taken it over.", s.name(p.offer.By), p.id, s.name(p.offer.To))
}

// inOwnHands refuses an officer's signature on a permit that is in the hands of another officer. A chief engineer who
// signs as such is no officer of the watch and needs no handing over.
func inOwnHands(s Setting, p Permit, kind Kind, gate string) error {
	if err := handedOver(s, p, gate); err != nil {
		return err
	}
	other := func(r Role) bool { return r != Officer && s.Actor().Has(r) }
	if who := s.Actor(); who.ID != p.InHand() && !slices.ContainsFunc(kind.Roles(), other) {
		return refuse(gate, "That officer hands it over first, and "+who.String()+" takes it over, under Handing over.",
			"Permit %d is in the hands of %s, not of %s.", p.id, s.name(p.InHand()), who)
	}
	return nil
}

// nextWatch is the signature that a permit between two watches waits for.
func (p Permit) nextWatch(s Setting) []Next {
	if p.offer.IsZero() {
		return nil
	}
	return []Next{{Who: string(Officer), Roles: KindTakeWatch.Roles(), Kind: KindTakeWatch, Since: p.offer.At,
		What: s.name(p.offer.To) + " reads it and takes it over from " + s.name(p.InHand()) + "."}}
}

// Kinds of a change of shift at the work: two signatures, those of who goes and of who stays.
const (
	KindOfferWork Kind = "offer work"
	KindTakeWork  Kind = "take work"
)

// Shift is what somebody hands over to another: their locks, and the charge of the work if they have it.
type Shift struct {
	From, To PersonID
	Since    time.Time
}

// Shifts returns the changes of shift that wait for the signature of who takes over.
func (p Permit) Shifts() []Shift { return slices.Clone(p.shifts) }

// Leads reports whether a person is in charge of work that is on.
func (p Permit) Leads(who PersonID) bool { return p.state == Live && p.accepted.By == who }

// OwnedBy returns how many locks and tags of a person hang.
func (p Permit) OwnedBy(who PersonID) int {
	n := 0
	for i := range p.locks {
		if p.locks[i].IsOn() && p.locks[i].Owner == who {
			n++
		}
	}
	return n
}

// OfferWork is the signature of somebody who goes: their locks, and the charge of the work, are to become another's.
// Nothing changes before the other has counted and signed. Offered to oneself it is taken back.
type OfferWork struct {
	To PersonID `json:"to"`
}

// Kind says which act this is.
func (OfferWork) Kind() Kind { return KindOfferWork }

func (OfferWork) rule() rule { return signedBy("hand locks over to another technician", Technician) }

func (a OfferWork) tell(n Names, e Entry) string {
	if a.To == e.By {
		return "keeps their own locks: nothing is handed over"
	}
	return "hands their locks, and the charge of the work if they have it, over to " + n.Name(a.To)
}

func (a OfferWork) touches(Permit) Touched { return Touched{Person: a.To} }

func (OfferWork) gate(s Setting, p Permit) error {
	if who := s.Actor(); p.OwnedBy(who.ID) == 0 && !p.Leads(who.ID) {
		return refuse("shift", "", "%s has no lock on for permit %d and is not in charge of its work.", who, p.id)
	}
	return nil
}

func (a OfferWork) decide(s Setting, p Permit) (outcome, error) {
	to, known := s.Ship.Person(a.To)
	switch {
	case !known || to.Left || !to.Has(Technician):
		return outcome{}, invalid("to", "Choose the technician who takes over.")
	case p.hasSigned(a.To, authorising...):
		return outcome{}, refuse("shift", "Hand over to another technician.",
			"%s answers for this isolation and so may not own its locks.", to)
	}
	return outcome{to: p.state}, nil
}

func (a OfferWork) apply(e Entry, p *Permit) {
	p.endShift(e.By)
	if a.To != e.By {
		p.shifts = append(p.shifts, Shift{e.By, a.To, e.At})
	}
}

func (p *Permit) endShift(from PersonID) {
	p.shifts = slices.DeleteFunc(p.shifts, func(x Shift) bool { return x.From == from })
}

// TakeWork is the signature of who takes over: they have counted the other's locks and tags at their points, and the
// tools at the work if the other is in charge of it. The locks are theirs from now on.
type TakeWork struct {
	From  PersonID `json:"from"`
	Locks int      `json:"locks"`
	Tools int      `json:"tools,omitempty"` // all at the work, if From is in charge
}

// Kind says which act this is.
func (TakeWork) Kind() Kind { return KindTakeWork }

func (TakeWork) rule() rule { return signedBy("take another's locks over", Technician) }

func (a TakeWork) tell(n Names, _ Entry) string {
	return "took over from " + n.Name(a.From) + ": counted " + Plural(a.Locks, "lock or tag", "locks and tags") + " and " +
		Plural(a.Tools, "tool or part", "tools and parts")
}

func (a TakeWork) touches(Permit) Touched { return Touched{Person: a.From} }

func (TakeWork) aim(_ Permit, at Target) PermitAct { return TakeWork{From: at.Person} }

func (a TakeWork) gate(s Setting, p Permit) error {
	const gate = "shift"
	who := s.Actor()
	if !slices.ContainsFunc(p.shifts, func(x Shift) bool { return x.From == a.From && x.To == who.ID }) {
		return refuse(gate, "Who goes signs first.", "%s does not hand over to %s.", s.name(a.From), who)
	}
	if err := p.maySucceed(s, a.From, who.ID); err != nil {
		return err
	}
	return notAtTheDesk(s, p, gate, "take over")
}

// maySucceed refuses the charge of the work to who signed its proof.
func (p Permit) maySucceed(s Setting, from, to PersonID) error {
	if !p.Leads(from) || !p.hasSigned(to, KindProve) {
		return nil
	}
	return refuse("shift", "Another technician takes it over.", "%s signed the proof and so may not take charge of the "+
		"work.", s.name(to))
}

func (a TakeWork) decide(_ Setting, p Permit) (outcome, error) {
	const gate = "shift"
	if n := p.OwnedBy(a.From); a.Locks != n {
		return outcome{}, refuse(gate, "Go to each point, look, and count again.",
			"%d locks and tags hang that are to be taken over, and %d were counted.", n, a.Locks)
	}
	if p.Leads(a.From) && a.Tools != p.toolsOut {
		return outcome{}, refuse(gate, "Find what is missing, or count again.",
			"%d tools and parts are at the work, and %d were counted.", p.toolsOut, a.Tools)
	}
	return outcome{to: p.state}, nil
}

func (a TakeWork) apply(e Entry, p *Permit) {
	p.endShift(a.From)
	for i := range p.locks {
		if l := &p.locks[i]; l.IsOn() && l.Owner == a.From {
			l.Owner, l.Released = e.By, false
		}
	}
	p.noteFitter(e.By)
	p.pause = nil
	if p.Leads(a.From) {
		p.accepted = Mark{e.By, e.At}
	}
}

// nextShift is whose signature a change of shift waits for.
func (p Permit) nextShift(s Setting) []Next {
	var out []Next
	for _, x := range p.shifts {
		out = append(out, Next{Who: string(Technician), Roles: KindTakeWork.Roles(), Kind: KindTakeWork,
			At: Target{Person: x.From}, Since: x.Since,
			What: s.name(x.To) + " counts the locks of " + s.name(x.From) + " and takes them over."}.
			unless(p.maySucceed(s, x.From, x.To)))
	}
	return out
}
