package permits

import (
	"regexp"

	"stillwatch/isolation"
)

// KindFitLock is a lock or tag that somebody hung.
const KindFitLock Kind = "fit lock"

// FitLock hangs one lock: the tag that was scanned, the point's own label where it has one, the position that was
// confirmed, the number of the padlock.
type FitLock struct {
	Tag      TagDigest          `json:"tag"`
	Label    TagDigest          `json:"label,omitempty"`
	Position isolation.Position `json:"position"`
	Padlock  Padlock            `json:"padlock,omitempty"`
	How      string             `json:"how,omitempty"` // "camera", "photo", "phone", "typed"

	MeasureDone bool `json:"measure_done,omitempty"` // the further physical measure of a step without a lock was taken
	NoPressure  bool `json:"no_pressure,omitempty"`  // the line was seen without pressure before its joint was broken

	// for how long the phone kept it because it had no line, seconds by the phone's own clock
	KeptS int `json:"kept_s,omitempty"`
}

// Kind says which act this is.
func (FitLock) Kind() Kind { return KindFitLock }

func (FitLock) rule() rule { return unsignedBy("fit a lock", Technician) }

func (a FitLock) tell(n Names, _ Entry) string {
	l, ok := n.Permit.LockByTag(a.Tag)
	if !ok {
		return "fitted a lock"
	}
	with := "a tag alone"
	if a.Padlock != "" {
		with = "lock " + string(a.Padlock)
	}
	said := "fitted " + n.step(l.Step.N) + ", held " + l.Step.Kind.Word(a.Position) + ", with " + with
	return said + keptWords(a.KeptS)
}

func (a FitLock) touches(after Permit) Touched { return atTag(after, a.Tag) }

var padlockPattern = regexp.MustCompile(`^[A-Za-z0-9][A-Za-z0-9./-]{0,15}$`)

func (FitLock) aim(p Permit, at Target) PermitAct {
	l, _ := p.Lock(at.Step)
	return FitLock{Tag: l.Tag}
}

func (a FitLock) gate(s Setting, p Permit) error {
	const gate = "fit lock"
	if err := notAtTheDesk(s, p, gate, "fit"); err != nil {
		return err
	}
	if err := inPeriod(s, p, gate); err != nil {
		return err
	}
	if err := countersignedAsAsked(s, p, gate); err != nil {
		return err
	}
	if err := answeredFor(p, gate); err != nil {
		return err
	}
	l, err := p.byTag(a.Tag, gate)
	if err != nil {
		return err
	}
	next, ok := p.NextFit()
	if !ok || l.IsOn() && l.Wrong == "" {
		return refuse(gate, "", "Tag %d hangs already: %s.", l.Step.N, l.Step.Point)
	}
	if l.Step.N != next.Step.N {
		return refuse(gate, nextInWords("first", next), "This is tag %d, for %s. It is not its turn.", l.Step.N,
			l.Step.Point)
	}
	if err := nothingPasses(s, p, gate); err != nil {
		return err
	}
	return readBefore(s, p, l)
}

func (a FitLock) decide(s Setting, p Permit) (outcome, error) {
	const gate = "fit lock"
	if err := validKept(a.KeptS); err != nil {
		return outcome{}, err
	}
	l, err := p.byTag(a.Tag, gate)
	if err != nil {
		return outcome{}, err
	}
	if err := rightLabel(s, l.Step.Point, a.Label, gate); err != nil {
		return outcome{}, err
	}
	if a.Position != l.Step.Position {
		return outcome{}, refuse(gate, "Bring it into that position, look again, then confirm.",
			"%s must be %s before its tag is hung.", l.Step.Point, l.Step.Kind.Word(l.Step.Position))
	}
	if err := freePadlock(s, p, l, a.Padlock); err != nil {
		return outcome{}, err
	}
	return outcome{to: Isolating}, a.confirmed(l, gate)
}

// noTestThere refuses to fit a lock at a point that another permit's test run has open: who runs it is called first.
func (a FitLock) noTestThere(s Setting, p Permit) error {
	l, _ := p.LockByTag(a.Tag)
	for _, h := range s.Held.At(l.Step.Point, p.id) {
		if h.Lifted {
			return refuse("fit lock", "That test is ended first.", "Permit %d has its lock off %s for a test run.", h.Permit,
				h.Point)
		}
	}
	return nil
}

// confirmed refuses a step whose further conditions are not confirmed: a tag without a lock needs at least one further
// physical measure (29 CFR 1915.89(c)(4)), and no joint is broken before the line is seen to be without pressure.
func (a FitLock) confirmed(l Lock, gate string) error {
	switch {
	case l.Step.Measure != "" && !a.MeasureDone:
		return refuse(gate, "Do it, then confirm it.", "No lock goes on %s, so more must be done than hanging a tag: %s.",
			l.Step.Point, l.Step.Measure)
	case l.Step.Phase == isolation.PhaseBlank && !a.NoPressure:
		return refuse(gate, "See the vent and the drain blow nothing, then confirm it.",
			"The joint at %s is broken only when the line was seen to be without pressure.", l.Step.Point)
	}
	return nil
}

// byTag finds the lock record whose tag was scanned.
func (p Permit) byTag(tag TagDigest, gate string) (Lock, error) {
	if l, ok := p.LockByTag(tag); ok {
		return l, nil
	}
	return Lock{}, &Refusal{Kind: NotFound, Gate: gate, What: "The tag that was scanned is not one of this permit's.",
		Opens: "Scan the tag of the next step."}
}

// nextInWords says which tag comes first or next, and where it belongs.
func nextInWords(which string, l Lock) string {
	return "Tag " + itoa(l.Step.N) + " comes " + which + ": " + l.Step.Name + " (" + string(l.Step.Point) + "), " +
		l.Step.Place.String() + "."
}

// rightLabel compares the point's own label, where it carries one, with the label that was scanned. A tag hung on the
// neighbouring valve is refused here.
func rightLabel(s Setting, point isolation.NodeID, scanned TagDigest, gate string) error {
	fixed, labelled := s.Ship.Labels[point]
	switch {
	case !labelled && scanned == "":
		return nil
	case labelled && scanned == fixed:
		return nil
	case scanned == "":
		return refuse(gate, "Scan the label fixed to the point, or type its code.",
			"%s carries a label: both it and the tag are asked for.", point)
	}
	if other, ok := s.Ship.pointOf(scanned); ok {
		return refuse(gate, "Go to "+string(point)+" and scan the label there.",
			"The label that was scanned is of %s, but this tag belongs to %s.", other, point)
	}
	return refuse(gate, "Scan the label fixed to "+string(point)+".",
		"The label that was scanned belongs to no point in the plant file in force.")
}

// freePadlock looks at the padlock's number: needed where a lock goes on, and on no other point.
func freePadlock(s Setting, p Permit, l Lock, number Padlock) error {
	if !l.Step.Lock {
		if number != "" {
			return invalid("padlock", "No lock goes on %s: it gets a tag only. Leave the lock's number empty.", l.Step.Point)
		}
		return nil
	}
	if !padlockPattern.MatchString(string(number)) {
		return invalid("padlock", "The number of the lock must be given as it is stamped: up to 16 letters, digits, hyphens.")
	}
	for h := range s.Held.All() {
		if h.On && h.Padlock == number && !(h.Permit == p.id && h.Step == l.Step.N) {
			return refuse("fit lock", "Take another lock, or read the number again.",
				"Lock %s hangs on %s already, for permit %d.", number, h.Point, h.Permit)
		}
	}
	return nil
}

func (a FitLock) apply(e Entry, p *Permit) {
	for i := range p.locks {
		if l := &p.locks[i]; l.Tag == a.Tag {
			l.Fitted, l.Owner, l.Padlock, l.How = Mark{e.By, e.At}, e.By, a.Padlock, a.How
			l.KeptS = a.KeptS
			p.noteFitter(e.By)
			// as at first, if it was off meanwhile
			l.Released, l.Removed, l.Untied, l.Left, l.Opened = false, Mark{}, Mark{}, "", false
			p.box = "" // its key is in no box
			l.Checked, l.Looked, l.Wrong, l.WrongBy = Mark{}, Mark{}, "", Mark{}
			l.Sighted, l.Unreadable = Mark{}, Mark{}
		}
	}
}
