package permits

import "slices"

// KindCountersign is the master's signature under an authorisation, where the company's rules ask for it.
const KindCountersign Kind = "countersign"

// Countersign is the master's consent to an isolation that has been authorised.
type Countersign struct{}

// Kind says which act this is.
func (Countersign) Kind() Kind { return KindCountersign }

func (Countersign) rule() rule { return signedBy("countersign the authorisation", Master) }

func (Countersign) tell(Names, Entry) string { return "countersigned the authorisation" }

func (Countersign) touches(Permit) Touched { return Touched{} }

// NeedsCountersign reports whether the rules in force ask for the master's signature for this permit's exposure.
func (p Permit) NeedsCountersign(s Setting) bool {
	return s.Rules != nil && slices.Contains(s.Rules.Countersign, p.Plan().Exposure)
}

func (Countersign) gate(s Setting, p Permit) error {
	if err := notAtTheValves(s, p, "countersign"); err != nil {
		return err
	}
	if !p.countersigned.IsZero() {
		return refuse("countersign", "", "Permit %d has been countersigned already.", p.id)
	}
	return nil
}

func (Countersign) decide(_ Setting, p Permit) (outcome, error) { return outcome{to: p.state}, nil }

func (Countersign) apply(e Entry, p *Permit) { p.countersigned = Mark{e.By, e.At} }

// countersignedAsAsked refuses an act that must wait for the master.
func countersignedAsAsked(s Setting, p Permit, gate string) error {
	if p.NeedsCountersign(s) && p.countersigned.IsZero() {
		return refuse(gate, "The master signs it first.",
			"The company's rules ask for the master's signature before work of the kind %q is isolated.", p.Plan().Exposure)
	}
	return nil
}
