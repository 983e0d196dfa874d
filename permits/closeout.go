package permits

import "strings"

// KindClose is the chief engineer's signature that ends a permit.
const KindClose Kind = "close"

// Close ends a permit. Told says that the affected people were told after the locks were off and before starting
// (29 CFR 1910.147(e)(2)(ii)).
type Close struct {
	Positions bool   `json:"positions"` // every point was seen in its clearance position
	Told      bool   `json:"told"`
	Words     string `json:"words,omitempty"`
}

// Kind says which act this is.
func (Close) Kind() Kind { return KindClose }

func (Close) rule() rule { return signedBy("close the permit", ChiefEngineer) }

func (a Close) tell(Names, Entry) string { return strings.TrimSpace("closed the permit. " + a.Words) }

func (Close) touches(Permit) Touched { return Touched{} }

func (Close) gate(s Setting, p Permit) error {
	const gate = "close"
	if l, on := p.NextRemove(); on {
		return refuse(gate, nextInWords("off next", l), "%d locks and tags still hang on permit %d.", p.LocksOn(),
			p.id)
	}
	if unseen := p.unseen(s); len(unseen) > 0 {
		return refuse(gate, "Somebody other than who took it off looks and signs.",
			"No second person has seen step %d (%s) right since its lock came off%s.", unseen[0].Step.N, unseen[0].Step.Point,
			andMore(len(unseen)-1))
	}
	if a, _, open := p.NextAdded(); open {
		return refuse(gate, "Do it and sign it.", "Something is still to be done: %s", a.sentence())
	}
	if err := p.detectorsBack(gate); err != nil {
		return err
	}
	if err := p.postsLeft(s, gate); err != nil {
		return err
	}
	if err := p.noSubLeft(s, gate); err != nil {
		return err
	}
	return p.nobodyOn(s, gate)
}

func andMore(n int) string {
	if n <= 0 {
		return ""
	}
	return ", nor " + itoa(n) + " more"
}

func (a Close) decide(_ Setting, p Permit) (outcome, error) {
	const gate = "close"
	a.Positions, a.Told = a.Positions || p.under != 0, a.Told || p.under != 0 // its parent has the points
	if !a.Positions {
		return outcome{}, refuse(gate, "Have them looked at, then close.",
			"It is not confirmed that every point is in its clearance position.")
	}
	if !a.Told {
		return outcome{}, refuse(gate, "Tell everybody concerned, then close.", "The affected people have not been told.")
	}
	if p.cancelling != "" {
		return outcome{to: Cancelled}, words("words", a.Words, 0, 1000)
	}
	return outcome{to: Closed}, words("words", a.Words, 0, 1000)
}

func (a Close) apply(e Entry, p *Permit) { p.closed = Mark{e.By, e.At} }

// KindCancel stops a permit before its work is done.
const KindCancel Kind = "cancel"

// Cancel stops a permit: at once while nothing hangs, later by way of restoring, so that no lock is dropped. Of a
// permit that was ever live tools and guards are counted in, as at the end of the work.
type Cancel struct {
	Words      string `json:"words"` // why
	ToolsBack  int    `json:"tools_back,omitempty"`
	GuardsBack bool   `json:"guards_back,omitempty"`
}

// Kind says which act this is.
func (Cancel) Kind() Kind { return KindCancel }

func (Cancel) rule() rule { return signedBy("cancel the permit", Officer, ChiefEngineer) }

func (a Cancel) tell(Names, Entry) string { return "cancelled: " + a.Words }

func (Cancel) touches(Permit) Touched { return Touched{} }

func (Cancel) gate(s Setting, p Permit) error {
	if err := p.noSubBusy(s, "cancel"); err != nil {
		return err
	}
	return p.nobodyOn(s, "cancel")
}

func (a Cancel) decide(_ Setting, p Permit) (outcome, error) {
	if err := words("words", a.Words, 3, 500); err != nil {
		return outcome{}, err
	}
	to := Restoring
	if p.state == Draft || p.state == Authorised {
		to = Cancelled
	}
	if p.owes() {
		return outcome{to: to}, countedIn(p, "cancel", a.ToolsBack, a.GuardsBack)
	}
	return outcome{to: to}, nil
}

func (a Cancel) apply(e Entry, p *Permit) {
	p.cancelling, p.counted, p.box = strings.TrimSpace(a.Words), Mark{e.By, e.At}, ""
	p.change = AskedChange{}
	if e.To == Cancelled {
		p.closed = Mark{e.By, e.At}
	}
}
