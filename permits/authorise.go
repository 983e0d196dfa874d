package permits

import (
	"slices"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/proof"
)

// KindAuthorise is the officer's signature that lets the isolation begin.
const KindAuthorise Kind = "authorise"

// Authorise lets the isolation begin, for a period from now. Tags are the digests of the tags' codes, one a step in
// their order; the register draws the codes.
type Authorise struct {
	Hours    float64     `json:"hours"`
	Tags     []TagDigest `json:"tags"`
	Unproved bool        `json:"unproved,omitempty"` // the officer answers for what the plan does not prove
}

// Kind says which act this is.
func (Authorise) Kind() Kind { return KindAuthorise }

func (Authorise) rule() rule { return signedBy("authorise the isolation", Officer) }

func (a Authorise) tell(n Names, e Entry) string {
	said := "authorised the " + either(n.Permit.Under() != 0, "work", "isolation") + " for " + n.period(e, a.Hours)
	if a.Unproved {
		said += "; answers for what the plan does not prove: " + n.Permit.unprovedWords()
	}
	return said
}

func (Authorise) touches(Permit) Touched { return Touched{} }

// MostHours returns the longest period that the rules in force allow, in hours.
func (s Setting) MostHours() float64 {
	if s.Rules != nil && s.Rules.MaxPeriodH > 0 {
		return s.Rules.MaxPeriodH
	}
	return isolation.DefaultPeriodH
}

// leastPeriodH is the shortest period, in hours: nobody isolates a machine in less (common practice, no source).
const leastPeriodH = 0.25

// MostHours returns the longest period of a permit, in hours: that of the rules in force, or a shorter one of its kinds
// of work.
func (p Permit) MostHours(s Setting) float64 { return MostHoursOf(s, p.plan.Plan()) }

// MostHoursOf is Permit.MostHours for a plan.
func MostHoursOf(s Setting, plan *isolation.Plan) float64 {
	most := s.MostHours()
	for _, r := range plan.WorkRows() {
		if r.MostHours > 0 {
			most = min(most, r.MostHours)
		}
	}
	return most
}

func checkPeriod(s Setting, plan *isolation.Plan, hours float64) error {
	if most := MostHoursOf(s, plan); !(hours >= leastPeriodH && hours <= most) {
		return invalid("hours", "The period must be from %g to %g hours, by the rules in force and the kind of work; it "+
			"can be extended by a new signature.", leastPeriodH, most)
	}
	return nil
}

func (Authorise) gate(s Setting, p Permit) error {
	plan := p.Plan()
	if err := notAtTheValves(s, p, "authorise"); err != nil {
		return err
	}
	if err := samePlant(s, plan, "authorise"); err != nil {
		return err
	}
	if err := foundWrong(s, plan, "authorise"); err != nil {
		return err
	}
	if err := p.parentStands(s, "authorise"); err != nil {
		return err
	}
	if err := provesAgain(s, plan, s.Circumstances(p.id), "authorise",
		"Request a new permit: its plan will be computed anew."); err != nil {
		return err
	}
	return noConflict(s, p, p.lockedSteps(), "authorise")
}

// lockedSteps returns the steps of the permit's own locks; none where it works under another's.
func (p Permit) lockedSteps() []isolation.Step {
	steps := make([]isolation.Step, len(p.locks))
	for i := range p.locks {
		steps[i] = p.locks[i].Step
	}
	return steps
}

// provesAgain refuses a plan of which the independent check does not hold any more; opens says what is done then.
func provesAgain(s Setting, plan *isolation.Plan, c isolation.Circumstances, gate, opens string) error {
	if s.Plant == nil || s.Rules == nil {
		return refuse(gate, "The chief engineer puts one in force.", "No plant file is in force.")
	}
	if _, err := proof.ProveAs(s.Judge.checks(), s.Plant, s.Rules, *plan, c); err != nil {
		return &Refusal{Kind: Refused, Gate: gate, What: "The independent check of the plan does not hold: " + err.Error() +
			".", Opens: opens, cause: err}
	}
	return nil
}

func (a Authorise) decide(s Setting, p Permit) (outcome, error) {
	if err := checkPeriod(s, p.Plan(), a.Hours); err != nil {
		return outcome{}, err
	}
	if n := len(p.locks); len(a.Tags) != n {
		return outcome{}, invalid("tags", "The plan has %d steps but %d tags came.", n, len(a.Tags))
	}
	if len(p.Plan().Unproved) > 0 && !a.Unproved && p.under == 0 {
		return outcome{}, refuse("authorise", "Find it out, see that it is safe, and say that you answer for it.",
			"The plan does not prove everything: %s", p.unprovedWords())
	}
	return outcome{to: Authorised}, nil
}

// noConflict refuses if another open permit needs one of the points in another position.
func noConflict(s Setting, p Permit, steps []isolation.Step, gate string) error {
	for _, st := range steps {
		for _, h := range s.Held.At(st.Point, p.id) {
			if h.Position != st.Position {
				return refuse(gate, "One of the two permits must end first.",
					"Permit %d needs %s %s; this permit needs it %s.", h.Permit, st.Point, st.Kind.Word(h.Position),
					st.Kind.Word(st.Position))
			}
		}
	}
	return nil
}

func (a Authorise) apply(e Entry, p *Permit) {
	p.authorised = Mark{e.By, e.At}
	p.until = e.At.Add(hours(a.Hours))
	for i := range min(len(a.Tags), len(p.locks)) {
		p.locks[i].Tag = a.Tags[i]
	}
}

// Codes returns the codes of the lock tags, one a step in their order.
func (a Authorise) Codes(p Permit) []Code {
	return codesOf(p.lockedSteps(), a.Tags)
}

// codesOf returns the codes of the tags of these steps, one a step; what has no digest yet has none.
func codesOf(steps []isolation.Step, tags []TagDigest) []Code {
	var out []Code
	for i, st := range steps {
		c := Code{Step: st.N, Point: st.Point}
		if i < len(tags) {
			c.Digest = tags[i]
		}
		out = append(out, c)
	}
	return out
}

func digestsOf(codes []Code) []TagDigest {
	var out []TagDigest
	for _, c := range codes {
		out = append(out, c.Digest)
	}
	return out
}

// WithCodes returns the authorisation with these tags.
func (a Authorise) WithCodes(codes []Code) Act {
	a.Tags = digestsOf(codes)
	return a
}

func hours(h float64) time.Duration { return time.Duration(h * float64(time.Hour)) }

// KindExtend is a new signature that lets an authorised permit run on.
const KindExtend Kind = "extend"

// Extend lets the permit run for a period from now. Signed when the period before has run out, it stops live work.
type Extend struct {
	Hours float64 `json:"hours"`
}

// Kind says which act this is.
func (Extend) Kind() Kind { return KindExtend }

func (Extend) rule() rule { return signedBy("extend the authorisation", Officer) }

func (a Extend) tell(n Names, e Entry) string {
	return "extended the authorisation by " + n.period(e, a.Hours) + either(e.To == Suspended && n.Permit.stopped != "" &&
		n.Permit.suspended.At.Equal(e.At), "; it had run out, so the work is stopped", "")
}

func (Extend) touches(Permit) Touched { return Touched{} }

func (Extend) gate(s Setting, p Permit) error {
	if err := notAtTheValves(s, p, "extend"); err != nil {
		return err
	}
	return inOwnHands(s, p, KindExtend, "authorise")
}

func (a Extend) decide(s Setting, p Permit) (outcome, error) {
	return outcome{to: extendedLate(s, p)}, checkPeriod(s, p.Plan(), a.Hours)
}

func (a Extend) apply(e Entry, p *Permit) {
	switch {
	case p.state == Live && e.To == Suspended:
		p.stop(e, p.ranOutWords()+", before it was extended.")
	case e.At.After(p.until):
		p.pause = nil
	}
	p.authorised = Mark{e.By, e.At}
	p.until = e.At.Add(hours(a.Hours))
}

// KindCountersign is the master's signature under an authorisation, where the company's rules ask for it.
const KindCountersign Kind = "countersign"

// Countersign is the master's consent to an isolation that has been authorised.
type Countersign struct{}

// Kind says which act this is.
func (Countersign) Kind() Kind { return KindCountersign }

func (Countersign) rule() rule { return signedBy("countersign the authorisation", Master) }

func (Countersign) tell(Names, Entry) string { return "countersigned the authorisation" }

func (Countersign) touches(Permit) Touched { return Touched{} }

// NeedsCountersign reports whether the rules in force ask for the master's signature for this permit's exposure, or its
// kind of work asks for it.
func (p Permit) NeedsCountersign(s Setting) bool {
	return p.under == 0 && (s.Rules != nil && slices.Contains(s.Rules.Countersign, p.Plan().Exposure) ||
		slices.ContainsFunc(p.Plan().WorkRows(), func(r isolation.WorkRow) bool { return r.Master }))
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
			"The rules ask for the master's signature before work of this kind is isolated.")
	}
	return nil
}
