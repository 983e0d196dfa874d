package permits

import (
	"strings"

	"stillwatch/isolation"
)

// Kinds of what is done between the locks on the way back.
const (
	KindRestoreStep Kind = "restore step"
	KindLeaveOut    Kind = "leave out step"
)

// AddedStep is one thing that the plan asks for between two locks on the way back: people clear and told, a line filled
// and vented, a joint looked at, a trial. Counting out is the hand-back, and the report is the close: neither is one.
type AddedStep struct {
	N       int                   // from 1, in the plan's order
	Kind    isolation.RestoreKind // what it is, where a gate must know
	Do, Why string
	For     int // step whose way back it belongs to; 0: the whole isolation
	After   int // step whose lock comes off before it; 0: it is done before the first
	Before  int // step whose lock comes off after it; 0: it is done when every lock is off
	Done    Mark
	LeftOut string // why the chief engineer left it out; "" if it was done
}

// addedSteps lists what a plan asks for between the locks.
func addedSteps(plan *isolation.Plan) []AddedStep {
	var out []AddedStep
	after, waiting := 0, 0
	for _, r := range plan.Restore {
		if r.Step > 0 {
			for i := waiting; i < len(out); i++ {
				out[i].Before = r.Step
			}
			after, waiting = r.Step, len(out)
			continue
		}
		if r.Kind != isolation.RestoreCount && r.Kind != isolation.RestoreClose {
			out = append(out, AddedStep{N: len(out) + 1, Kind: r.Kind, Do: r.Do, Why: r.Why, For: r.For, After: after})
		}
	}
	return out
}

// wayBack refuses a plan whose way back does not name every step once, the last first, or lets energy back before
// people are told: the gates below go by it, and the independent check of the plan looks at it since edition 3 only.
func wayBack(plan *isolation.Plan, gate string) error {
	next, told := len(plan.Steps), false
	for _, r := range plan.Restore {
		told = told || r.Kind == isolation.RestoreTell
		if r.Step == 0 {
			continue
		}
		if r.Step != next || plan.Steps[next-1].Phase == isolation.PhaseIsolate && !told {
			next = -1
			break
		}
		next--
	}
	if next == 0 {
		return nil
	}
	return refuse(gate, "Request a new permit: its plan will be computed anew.",
		"The plan does not say in order how the plant comes back, or lets energy back before people are told.")
}

// Added returns what is done between the locks on the way back, in its order. What belongs to a step that was never
// fitted is not among it once the locks come off: nothing was shut there that would have to come back.
func (p Permit) Added() []AddedStep {
	var out []AddedStep
	back := p.Has(KindRemoveLock) || p.state.IsOver()
	for _, a := range p.added {
		if l, ok := p.Lock(a.For); !back || !ok || !l.Fitted.IsZero() {
			out = append(out, a)
		}
	}
	return out
}

// NextAdded returns the first of what is done between the locks that is not done; due says that it comes before any
// further lock; ok is false if all is done.
func (p Permit) NextAdded() (a AddedStep, due, ok bool) {
	for _, a := range p.Added() {
		if a.Done.IsZero() {
			l, _ := p.Lock(a.After)
			_, hangs := p.NextRemove()
			return a, !l.IsOn() && (a.Before > 0 || !hangs), true
		}
	}
	return AddedStep{}, false, false
}

// addedFirst refuses to take a lock off before everything that stands before it on the way back is done.
func addedFirst(p Permit, l Lock) error {
	a, _, ok := p.NextAdded()
	if !ok || a.Before < l.Step.N {
		return nil
	}
	return refuse("remove lock", "Do it and sign it, on the permit's page or on the walk.",
		"%s %d (%s) must stay. First: %s", strings.ToUpper(l.Thing()[:1])+l.Thing()[1:], l.Step.N, l.Step.Point, a.sentence())
}

// sentence says what is to be done, and why.
func (a AddedStep) sentence() string { return strings.TrimSpace(AsSentence(a.Do) + " " + a.Why) }

// RestoreStep says that one thing between the locks was done.
type RestoreStep struct {
	N int `json:"n"` // of Permit.Added, from 1
}

// Kind says which act this is.
func (RestoreStep) Kind() Kind { return KindRestoreStep }

func (RestoreStep) rule() rule {
	return signedBy("sign what is done between the locks", Technician, ChiefEngineer)
}

func (a RestoreStep) tell(n Names, _ Entry) string {
	return "did on the way back: " + n.Permit.addedWords(a.N)
}

func (RestoreStep) touches(Permit) Touched { return Touched{} }

func (RestoreStep) aim(_ Permit, at Target) PermitAct { return RestoreStep{N: at.Step} }

func (a RestoreStep) gate(s Setting, p Permit) error {
	if err := addedInTurn(s, p, a.N); err != nil {
		return err
	}
	if no := p.HeldBack(s, p.added[a.N-1]); no != nil {
		return no
	}
	return nil
}

// HeldBack refuses what lets energy come, or starts something, while another permit holds a point of this one that it
// needs: whoever works under that permit relies on its lock. What belongs to one step needs its point, what belongs to
// the whole all of them, the drains too. People are told in any case. nil if it can be done. (One point, several jobs:
// whoever clears the last line clears the tag; US naval training manuals, read.)
func (p Permit) HeldBack(s Setting, a AddedStep) *Refusal {
	h, n := p.heldElsewhere(s, a)
	if s.Judge.Edition < changeEdition || n == 0 || a.Kind == isolation.RestoreTell {
		return nil
	}
	return refuse("restore step", "The chief engineer leaves this out; it is done when permit "+itoa(int(h.Permit))+
		" comes back.", "Permit %d still holds %s: nothing comes back or is started.", h.Permit, p.heldWords(h))
}

// heldElsewhere returns the first point of this permit that another one holds as it was held here, of those that
// something on the way back needs, and how many there are.
func (p Permit) heldElsewhere(s Setting, a AddedStep) (first Holding, n int) {
	for _, l := range p.locks {
		if l.Fitted.IsZero() && l.Off().IsZero() || a.For > 0 && l.Step.N != a.For ||
			a.Kind == isolation.RestoreEarths && l.Step.Kind != isolation.Earth {
			continue
		}
		for _, h := range s.Held.At(l.Step.Point, p.id) {
			if !h.On && !h.Lifted || h.Position != l.Step.Position {
				continue
			}
			if n++; n == 1 {
				first = h
			}
			break
		}
	}
	return first, n
}

// heldWords says how a point of this permit is held.
func (p Permit) heldWords(h Holding) string {
	for _, l := range p.locks {
		if l.Step.Point == h.Point {
			return string(h.Point) + " " + l.Step.Kind.Word(h.Position)
		}
	}
	return string(h.Point)
}

// AddedWords says what is to be done between two locks and why; where people are told, also what comes back later.
func (p Permit) AddedWords(s Setting, a AddedStep) string {
	said := a.sentence()
	if h, n := p.heldElsewhere(s, a); n > 0 && a.Kind == isolation.RestoreTell {
		said += " Say too that permit " + itoa(int(h.Permit)) + " still holds " + p.heldWords(h) + moreOf(n-1) +
			": what it keeps off comes later."
	}
	return said
}

func moreOf(n int) string {
	if n == 0 {
		return ""
	}
	return " and " + Plural(n, "more point", "more points")
}

func (RestoreStep) decide(Setting, Permit) (outcome, error) { return outcome{to: Restoring}, nil }

func (a RestoreStep) apply(e Entry, p *Permit) { p.added[a.N-1].Done = Mark{e.By, e.At} }

// LeaveOut says why one thing between the locks is not done: a point stays shut for another permit, or nothing was
// opened. Telling people is never left out, and counting earths only where another permit keeps one on.
type LeaveOut struct {
	N     int    `json:"n"` // of Permit.Added, from 1
	Words string `json:"words"`
}

// Kind says which act this is.
func (LeaveOut) Kind() Kind { return KindLeaveOut }

func (LeaveOut) rule() rule {
	return signedBy("leave out what is done between the locks", ChiefEngineer)
}

func (a LeaveOut) tell(n Names, _ Entry) string {
	return "left out on the way back: " + n.Permit.addedWords(a.N) + " Why: " + AsSentence(a.Words)
}

func (LeaveOut) touches(Permit) Touched { return Touched{} }

func (LeaveOut) aim(_ Permit, at Target) PermitAct { return LeaveOut{N: at.Step} }

func (a LeaveOut) gate(s Setting, p Permit) error {
	if err := addedInTurn(s, p, a.N); err != nil {
		return err
	}
	if p.HeldBack(s, p.added[a.N-1]) != nil {
		return nil
	}
	if p.added[a.N-1].Kind == isolation.RestoreTell {
		return refuse("restore step", "Do it and sign it.", "People are always told before energy comes back.")
	}
	if p.added[a.N-1].Kind == isolation.RestoreEarths {
		return refuse("restore step", "Count them and sign it.", "Earths are always counted before anything is closed.")
	}
	return nil
}

func (a LeaveOut) decide(Setting, Permit) (outcome, error) {
	return outcome{to: Restoring}, words("words", a.Words, 10, 500)
}

func (a LeaveOut) apply(e Entry, p *Permit) {
	p.added[a.N-1].Done, p.added[a.N-1].LeftOut = Mark{e.By, e.At}, strings.TrimSpace(a.Words)
}

func (p Permit) addedWords(n int) string {
	if n < 1 || n > len(p.added) {
		return "a step that the plan does not have."
	}
	return AsSentence(p.added[n-1].Do)
}

// addedInTurn refuses what is not the next thing between the locks, or whose locks still hang. When every lock is off a
// second person sees every point right before the machine is started.
func addedInTurn(s Setting, p Permit, n int) error {
	const gate = "restore step"
	next, due, ok := p.NextAdded()
	switch {
	case n < 1 || n > len(p.added):
		return &Refusal{Kind: NotFound, Gate: gate, What: "This permit has no such step between its locks."}
	case !ok || n < next.N || !p.added[n-1].Done.IsZero():
		return refuse(gate, "", "This is not open any more: %s", p.addedWords(n))
	case n > next.N:
		return refuse(gate, "Do it and sign it.", "Something else comes first: %s", next.sentence())
	case !due:
		l, _ := p.NextRemove()
		return refuse(gate, nextInWords("off next", l), "This is done when lock %d is off: %s", max(next.After, 1),
			p.addedWords(n))
	}
	if unseen := p.unseen(s); next.Before == 0 && len(unseen) > 0 {
		return refuse(gate, "Somebody other than who took it off looks and signs.",
			"Nothing is started before a second person has seen every point. Step %d (%s) is not seen%s.", unseen[0].Step.N,
			unseen[0].Step.Point, andMore(len(unseen)-1))
	}
	return nil
}
