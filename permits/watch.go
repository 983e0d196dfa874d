package permits

import (
	"slices"
	"strings"
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

func (a OfferWatch) tell(n Names, _ Entry) string {
	said := "hands over to " + n.Name(a.To)
	if a.To == n.Permit.InHand() {
		said = "took back what was offered: the permit stays with " + n.Name(a.To)
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
	case a.To == p.InHand() && p.offered.IsZero():
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
		p.offered, p.offeredTo, p.offerWords = Mark{}, "", ""
		return
	}
	p.offered, p.offeredTo, p.offerWords = Mark{e.By, e.At}, a.To, strings.TrimSpace(a.Words)
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
	case p.offered.IsZero():
		return refuse(gate, "The officer who has it signs first.", "Nobody hands permit %d over: it is in the hands of %s.",
			p.id, s.name(p.InHand()))
	case who.ID != p.offeredTo:
		return refuse(gate, "That officer signs, or the permit is handed over anew.",
			"Permit %d is handed over to %s, not to %s.", p.id, s.name(p.offeredTo), who)
	}
	return notAtTheValves(s, p, "take over")
}

func (TakeWatch) decide(_ Setting, p Permit) (outcome, error) { return outcome{to: p.state}, nil }

func (TakeWatch) apply(e Entry, p *Permit) {
	p.watch, p.offered, p.offeredTo, p.offerWords = Mark{e.By, e.At}, Mark{}, "", ""
}

// InHand returns the officer who answers for the permit now: who took it over last, else who authorised it; "" before.
func (p Permit) InHand() PersonID {
	if !p.watch.IsZero() {
		return p.watch.By
	}
	for _, s := range p.signatures {
		if s.Kind == KindAuthorise {
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

// Offered returns the offer that waits for the oncoming officer's signature; ok is false if none does.
func (p Permit) Offered() (o Offer, ok bool) {
	return Offer{p.offered, p.offeredTo, p.offerWords}, !p.offered.IsZero()
}

// handedOver refuses what leads on to work while a permit is between two watches: one officer has signed it over, and
// the other has not taken it.
func handedOver(s Setting, p Permit, gate string) error {
	if p.offered.IsZero() {
		return nil
	}
	return refuse(gate, "That officer reads it and takes it over, under Handing over.",
		"%s handed permit %d over, and %s has not taken it over.", s.name(p.offered.By), p.id, s.name(p.offeredTo))
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
	if p.offered.IsZero() {
		return nil
	}
	return []Next{{Who: string(Officer), Roles: KindTakeWatch.Roles(), Kind: KindTakeWatch, Since: p.offered.At,
		What: s.name(p.offeredTo) + " reads it and takes it over from " + s.name(p.InHand()) + "."}}
}
