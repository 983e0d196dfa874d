package permits

import "strings"

// KindHandBack is the end of the work.
const KindHandBack Kind = "hand back"

// HandBack ends the work: the tools counted again, the guards back in place.
type HandBack struct {
	ToolsBack  int  `json:"tools_back"`
	GuardsBack bool `json:"guards_back"`
}

// Kind says which act this is.
func (HandBack) Kind() Kind { return KindHandBack }

func (HandBack) rule() rule { return signedBy("hand back", Technician, ChiefEngineer) }

func (a HandBack) tell(Names, Entry) string {
	return "handed back; " + Plural(a.ToolsBack, "tool or part", "tools and parts") + " came back, guards in place"
}

func (HandBack) touches(Permit) Touched { return Touched{} }

func (HandBack) gate(s Setting, p Permit) error {
	const gate = "hand back"
	if who := s.Actor(); who.ID != p.accepted.By && !who.Has(ChiefEngineer) {
		return refuse(gate, "That person hands back; if they cannot, the chief engineer does.",
			"%s is in charge of the work, not %s.", s.name(p.accepted.By), who)
	}
	if err := p.noSubBusy(s, gate); err != nil {
		return err
	}
	if err := p.nobodyOn(s, gate); err != nil {
		return err
	}
	if err := p.detectorsBack(gate); err != nil {
		return err
	}
	return p.postsLeft(s, gate)
}

func (a HandBack) decide(_ Setting, p Permit) (outcome, error) {
	const gate = "hand back"
	return outcome{to: HandedBack}, countedIn(p, gate, a.ToolsBack, a.GuardsBack)
}

// nobodyOn refuses while somebody is still signed on, or has their own lock on the group box.
func (p Permit) nobodyOn(s Setting, gate string) error {
	on := p.SignedOn()
	if len(on) == 0 {
		return p.boxIsFree(s, gate)
	}
	names := make([]string, len(on))
	for i, id := range on {
		names[i] = s.name(id)
	}
	return refuse(gate, "Each signs off with their own PIN.", "Still signed on: %s.", strings.Join(names, ", "))
}

func (HandBack) apply(e Entry, p *Permit) {
	p.handed, p.counted, p.box = Mark{e.By, e.At}, Mark{e.By, e.At}, ""
}

// owes reports whether the permit was ever live and what went out for the work has not been counted in since: tools,
// loose parts, guards and covers.
func (p Permit) owes() bool {
	return p.counted.IsZero() && (!p.accepted.IsZero() || p.hasAccepted())
}

func (p Permit) hasAccepted() bool {
	for _, s := range p.signatures {
		if s.Kind == KindAccept {
			return true
		}
	}
	return false
}

// Owes reports whether tools, parts and guards are still to be counted in.
func (p Permit) Owes() bool { return p.owes() }

// countedIn refuses the end of the work while something is missing.
func countedIn(p Permit, gate string, tools int, guards bool) error {
	if tools != p.toolsOut {
		return refuse(gate, "Find what is missing, or count again.", "%d tools and parts went out and %d came back.",
			p.toolsOut, tools)
	}
	if !guards {
		return refuse(gate, "Fit the guards and covers, then sign.", "The guards are not back in place.")
	}
	return nil
}
