package permits

import (
	"slices"
	"strings"

	"stillwatch/isolation"
)

// Kinds of putting a detector out of action for hot work, and back.
const (
	KindInhibit Kind = "inhibit"
	KindPutBack Kind = "put back"
)

// Inhibited is a detector, or a group of them, that is out of action; Back is zero while it is.
type Inhibited struct {
	N     int // from 1
	What  string
	Means string // what looks for fire instead
	Out   Mark
	Back  Mark
}

// Inhibit puts a detector out of action for hot work. Each is counted, and put back before the work is handed back.
type Inhibit struct {
	What  string `json:"what"`
	Means string `json:"means"`
}

// Kind says which act this is.
func (Inhibit) Kind() Kind { return KindInhibit }

func (Inhibit) rule() rule { return signedBy("inhibit a detector", Officer, ChiefEngineer) }

func (a Inhibit) tell(Names, Entry) string {
	return "inhibited " + strings.TrimSpace(a.What) + "; instead: " + strings.TrimSpace(a.Means)
}

func (Inhibit) touches(Permit) Touched { return Touched{} }

func (Inhibit) gate(s Setting, p Permit) error {
	const gate = "inhibit"
	if !slices.ContainsFunc(p.plan.Plan().WorkRows(), func(r isolation.WorkRow) bool { return r.Inhibits }) {
		return refuse(gate, "", "The work of permit %d is of no kind for which a detector is inhibited.", p.id)
	}
	return inPeriod(s, p, gate)
}

func (a Inhibit) decide(_ Setting, p Permit) (outcome, error) {
	if err := words("what", a.What, 3, 120); err != nil {
		return outcome{}, err
	}
	return outcome{to: p.state}, words("means", a.Means, 3, 200)
}

func (a Inhibit) apply(e Entry, p *Permit) {
	p.inhibited = append(p.inhibited, Inhibited{N: len(p.inhibited) + 1, What: strings.TrimSpace(a.What),
		Means: strings.TrimSpace(a.Means), Out: Mark{e.By, e.At}})
}

// PutBack says that a detector is in action again, and was seen to be.
type PutBack struct {
	N     int  `json:"n"`
	Tried bool `json:"tried"` // the panel shows it in action
}

// Kind says which act this is.
func (PutBack) Kind() Kind { return KindPutBack }

func (PutBack) rule() rule {
	return signedBy("put a detector back", Officer, ChiefEngineer, Technician)
}

func (a PutBack) tell(n Names, _ Entry) string {
	return "put " + n.Permit.inhibition(a.N).What + " back in action; the panel was seen"
}

func (PutBack) touches(Permit) Touched { return Touched{} }

func (PutBack) aim(_ Permit, at Target) PermitAct { return PutBack{N: at.Step} }

func (p Permit) inhibition(n int) Inhibited {
	if n < 1 || n > len(p.inhibited) {
		return Inhibited{}
	}
	return p.inhibited[n-1]
}

func (a PutBack) gate(_ Setting, p Permit) error {
	switch x := p.inhibition(a.N); {
	case x.N == 0:
		return noSuch("put back", "inhibited detector", itoa(a.N))
	case !x.Back.IsZero():
		return refuse("put back", "", "%s is back in action already.", x.What)
	}
	return nil
}

func (a PutBack) decide(_ Setting, p Permit) (outcome, error) {
	if !a.Tried {
		return outcome{}, refuse("put back", "Look at the panel, then confirm it.", "It is not confirmed that the panel "+
			"shows it in action.")
	}
	return outcome{to: p.state}, nil
}

func (a PutBack) apply(e Entry, p *Permit) { p.inhibited[a.N-1].Back = Mark{e.By, e.At} }

// Inhibited returns every detector that was put out of action, in order.
func (p Permit) Inhibited() []Inhibited { return slices.Clone(p.inhibited) }

// detectorsBack refuses the end of the work while a detector is out of action.
func (p Permit) detectorsBack(gate string) error {
	for _, x := range p.inhibited {
		if x.Back.IsZero() {
			return refuse(gate, "Put it back, see it at the panel, and sign.", "%s is still inhibited.", x.What)
		}
	}
	return nil
}
