package permits

import (
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/envelope"
)

// KindAcceptDeviation is the chief engineer's written acceptance of a reading that is not as it should be.
const KindAcceptDeviation Kind = "accept deviation"

// AcceptDeviation lets the proof be signed although a section was not found drained, or a part is warmer than its touch
// limit; it names one of the two. For entry and hot work a section may be accepted only where nothing can flow into it,
// behind blanks alone, and where the air was found within its limits at every level; then the officer of the watch
// signs too (ConsentDeviation). Heat is accepted for neither. Every new reading takes it back.
type AcceptDeviation struct {
	Section string `json:"section"`
	Check   string `json:"check,omitempty"` // the heat
	Words   string `json:"words"`           // why it is safe all the same, and what is done about it
}

// Kind says which act this is.
func (AcceptDeviation) Kind() Kind { return KindAcceptDeviation }

func (AcceptDeviation) rule() rule { return signedBy("accept a deviation", ChiefEngineer) }

func (a AcceptDeviation) tell(n Names, _ Entry) string {
	return "accepted a deviation on " + a.On(n.Permit) + ": " + a.Words
}

func (AcceptDeviation) touches(Permit) Touched { return Touched{} }

func (AcceptDeviation) aim(p Permit, at Target) PermitAct {
	if p.storedIndex(at.Check) >= 0 {
		return AcceptDeviation{Check: at.Check}
	}
	return AcceptDeviation{Section: at.Section}
}

// On returns the name of what is accepted, on its permit.
func (a AcceptDeviation) On(p Permit) string {
	if i := p.storedIndex(a.Check); i >= 0 {
		return p.stored[i].Check.Name
	}
	return Names{Permit: p}.Section(a.Section)
}

func (a AcceptDeviation) gate(s Setting, p Permit) error {
	if a.Check != "" {
		return a.heatGate(s, p)
	}
	i := p.drainIndex(a.Section)
	if i < 0 {
		return noSuch(gateDeviation, "section", a.Section)
	}
	if err := p.mayStandUndrained(s, p.drains[i]); err != nil {
		return err
	}
	return readByAnother(s, p.drains[i].Section.Name, p.drains[i].Recorded, p.drains[i].Finding)
}

// mayStandUndrained refuses to accept a section that is not found drained where the kind of work does not bear it.
func (p Permit) mayStandUndrained(s Setting, d DrainState) error {
	switch e := p.Plan().Exposure; {
	case e == isolation.OpenUp:
		return nil
	case !p.needsConsent():
		return refuse(gateDeviation, "The section must be found drained.",
			"A deviation can be accepted for opening, entry and hot work only; this job is %q.", e)
	case d.Finding.Result == "passing":
		return refuse(gateDeviation, "Find what passes, and have it repaired or blanked.",
			"Something still flows into %s: nobody enters, or brings fire to, that.", d.Section.Name)
	}
	for _, c := range p.Plan().Sources {
		if c.Energy.Flows() && c.Demand != isolation.DemandBlank {
			return refuse(gateDeviation, "The section must be found drained.",
				"%s is kept off by valves alone, not by a blank or a removed spool.", c.Name)
		}
	}
	return freshAir(s, p, gateDeviation)
}

// needsConsent reports whether the officer signs beside the chief engineer what is accepted.
func (p Permit) needsConsent() bool {
	e := p.Plan().Exposure
	return e == isolation.Enter || e == isolation.HotWork
}

// heatGate is the gate of a deviation on a touch limit.
func (a AcceptDeviation) heatGate(s Setting, p Permit) error {
	i := p.storedIndex(a.Check)
	switch {
	case a.Section != "":
		return invalid("check", "Accept one thing at a time: a section, or a heat.")
	case i < 0:
		return noSuch(gateDeviation, "stored energy", a.Check)
	}
	c := p.stored[i]
	most, may := envelope.AcceptableUpTo(&c.Check)
	if e := p.Plan().Exposure; e == isolation.Enter || e == isolation.HotWork || !may {
		return refuse(gateDeviation, "It must be read as it should be.",
			"%s of %s cannot be accepted as it is for work of the kind %q.", c.Check.Quantity, c.Check.Name, e)
	}
	recorded := c.Recorded
	if c.Stale {
		recorded = Mark{}
	}
	if err := readByAnother(s, c.Check.Name, recorded, c.Finding); err != nil {
		return err
	}
	if c.Value > most {
		return refuse(gateDeviation, "Let it cool, and read it again.",
			"%s of %s was read as %s %s: above %s %s even a hand that comes off at once is burnt, and nobody may accept that.",
			c.Check.Quantity, c.Check.Name, Figure(c.Value, 1), c.Check.Unit, Figure(most, 1), c.Check.Unit)
	}
	return nil
}

const gateDeviation = "deviation"

// readByAnother refuses to accept what was not read, what the person read himself, and what is right.
func readByAnother(s Setting, name string, recorded Mark, found isolation.Finding) error {
	switch {
	case recorded.IsZero():
		return refuse(gateDeviation, "The technician records it first.", "Nothing has been recorded of %s yet.", name)
	case recorded.By == s.Actor().ID:
		return refuse(gateDeviation, "Somebody else records it anew; then the chief engineer looks.",
			"%s recorded %s and so may not accept it as it is.", s.Actor(), name)
	case found.OK:
		return refuse(gateDeviation, "", "%s was found as it should be: there is nothing to accept.", name)
	}
	return nil
}

func (a AcceptDeviation) decide(_ Setting, p Permit) (outcome, error) {
	return outcome{to: p.state}, words("words", a.Words, 10, 1000)
}

func (a AcceptDeviation) apply(e Entry, p *Permit) {
	if i := p.storedIndex(a.Check); i >= 0 {
		p.stored[i].Accepted = true
	} else {
		d := &p.drains[p.drainIndex(a.Section)]
		d.Accepted, d.AcceptedBy, d.Consented = true, e.By, Mark{}
	}
	p.deviations = append(p.deviations, Deviation{On: a.On(*p), Words: strings.TrimSpace(a.Words), By: e.By, At: e.At})
}

// KindConsentDeviation is the officer's signature under a deviation that the chief engineer accepted.
const KindConsentDeviation Kind = "consent to deviation"

// ConsentDeviation is the officer's signature beside the chief engineer's, for entry and hot work: two people answer
// for a section that is not found drained.
type ConsentDeviation struct {
	Section string `json:"section"`
}

// Kind says which act this is.
func (ConsentDeviation) Kind() Kind { return KindConsentDeviation }

func (ConsentDeviation) rule() rule { return signedBy("consent to a deviation", Officer) }

func (a ConsentDeviation) tell(n Names, _ Entry) string {
	return "consents to the deviation on " + n.Section(a.Section)
}

func (ConsentDeviation) touches(Permit) Touched { return Touched{} }

func (ConsentDeviation) aim(_ Permit, at Target) PermitAct {
	return ConsentDeviation{Section: at.Section}
}

func (a ConsentDeviation) gate(s Setting, p Permit) error {
	i := p.drainIndex(a.Section)
	if i < 0 {
		return noSuch(gateDeviation, "section", a.Section)
	}
	d, who := p.drains[i], s.Actor()
	switch {
	case !p.needsConsent():
		return refuse(gateDeviation, "", "For work of the kind %q the chief engineer's signature is enough.",
			p.Plan().Exposure)
	case !d.Accepted:
		return refuse(gateDeviation, "The chief engineer accepts it first.", "No deviation on %s is accepted.",
			d.Section.Name)
	case !d.Consented.IsZero():
		return refuse(gateDeviation, "", "%s has signed it already.", s.name(d.Consented.By))
	case d.Recorded.By == who.ID || d.AcceptedBy == who.ID:
		return refuse(gateDeviation, "Another officer looks and signs.",
			"%s recorded or accepted it, and so may not consent to it.", who)
	}
	return p.mayStandUndrained(s, d)
}

func (ConsentDeviation) decide(_ Setting, p Permit) (outcome, error) {
	return outcome{to: p.state}, nil
}

func (a ConsentDeviation) apply(e Entry, p *Permit) {
	p.drains[p.drainIndex(a.Section)].Consented = Mark{e.By, e.At}
}
