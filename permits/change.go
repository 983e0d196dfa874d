package permits

import (
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/proof"
)

// Work is added to a permit in this order: everybody is out, and somebody asks; the work stands still. A plan is made
// anew with all that hangs as given: nothing that was fitted comes off or moves. The officer reads what is different
// and authorises it, as at first; the new points are fitted and seen; everything is proved anew, and the permit is
// issued and accepted anew. (29 CFR 1910.147(d), read: the order of isolating holds for whatever is opened; UK COSWP,
// second hand: only the stated work is done under a permit. The rest: own reasoning.)

// Kinds of what adds work to a permit.
const (
	KindAskChange       Kind = "ask for added work"
	KindAuthoriseChange Kind = "authorise added work"
	KindDropChange      Kind = "drop added work"
)

// AskedChange is work that somebody asks to add: the plan for all of it, in place of the one in force.
type AskedChange struct {
	Mark
	Plan  proof.Proved
	Words string // what is added, and why
	Entry int64  // of the log, with which it was asked for
}

// Former is a plan in whose place another stands.
type Former struct {
	Plan       *isolation.Plan // to be read only
	Authorised Mark            // or extended, last
	Replaced   Mark            // who authorised the one in its place, and when
}

// Changing returns the added work that waits for the officer; ok is false if none does.
func (p Permit) Changing() (c AskedChange, ok bool) { return p.change, !p.change.IsZero() }

// Former returns the plans in whose place others stand, the first first.
func (p Permit) Former() []Former { return append([]Former(nil), p.former...) }

// Hanging returns the steps of the permit's plan whose locks and tags hang, in their order: what a plan in its place
// must begin with.
func (p Permit) Hanging() []isolation.Step {
	var out []isolation.Step
	for i := range p.locks {
		if p.locks[i].IsOn() {
			out = append(out, p.locks[i].Step)
		}
	}
	return out
}

// planOf returns the plan of a number: in force, asked for, or one before; nil if there is none.
func (p Permit) planOf(number int) *isolation.Plan {
	if p.Plan().Number() == number {
		return p.Plan()
	}
	if plan := p.change.Plan.Plan(); !p.change.IsZero() && plan.Number() == number {
		return plan
	}
	for _, f := range p.former {
		if f.Plan.Number() == number {
			return f.Plan
		}
	}
	return nil
}

// AskChange asks that work be added: another job, further parts, points. The work stands still from then on.
type AskChange struct {
	Plan  proof.Proved `json:"plan"`  // for all of the work, made with what hangs
	Words string       `json:"words"` // what is added, and why
}

// Kind says which act this is.
func (AskChange) Kind() Kind { return KindAskChange }

func (AskChange) rule() rule {
	return signedBy("ask for added work", Technician, ChiefEngineer, Officer)
}

func (a AskChange) tell(_ Names, _ Entry) string {
	plan := a.Plan.Plan()
	return "asked for added work: " + AsSentence(a.Words) + " The work stands still. " + changeWords(plan)
}

// changeWords says what a plan adds to the one before it.
func changeWords(plan *isolation.Plan) string {
	said := "Plan " + itoa(plan.Number()) + ", in place of plan " + itoa(plan.Number()-1) + ": what hangs stays; "
	for i, s := range plan.NewSteps() {
		said += either(i > 0, ", ", "new: ") + "step " + itoa(s.N) + " (" + string(s.Point) + " " +
			s.Kind.Word(s.Position) + ")"
	}
	if len(plan.NewSteps()) == 0 {
		said += "no new point"
	}
	if plan.Change != nil && len(plan.Change.Idle) > 0 {
		said += "; nothing asks any more for " + listOf(plan.Change.Idle) + ", which stays on until the end"
	}
	return said
}

func (a AskChange) touches(Permit) Touched { return newPoints(a.Plan.Plan()) }

// newPoints is what an act about a changed plan touches.
func newPoints(plan *isolation.Plan) Touched {
	var t Touched
	if plan == nil {
		return t
	}
	for _, s := range plan.NewSteps() {
		t.Points = append(t.Points, s.Point)
	}
	return t
}

func (AskChange) gate(s Setting, p Permit) error {
	const gate = "change"
	if err := p.ownLocksOnly(gate); err != nil {
		return err
	}
	if !p.change.IsZero() {
		return refuse(gate, "That is authorised or dropped first.", "%s has asked for added work already.",
			s.name(p.change.By))
	}
	if err := ready(s, p, gate); err != nil {
		return err
	}
	if err := p.everythingHangs(gate); err != nil {
		return err
	}
	for _, l := range p.locks {
		if l.Wrong != "" {
			return refuse(gate, "It is fitted anew first.", "Step %d (%s) was found wrong: %s", l.Step.N, l.Step.Point,
				AsSentence(l.Wrong))
		}
	}
	if err := p.noSubLeft(s, gate); err != nil {
		return err
	}
	return p.nobodyOn(s, gate)
}

// everythingHangs refuses a change while a step of the plan does not hang: what came off, or never went on, would be
// forgotten by the plan in its place.
func (p Permit) everythingHangs(gate string) error {
	for _, l := range p.locks {
		if !l.IsOn() {
			return refuse(gate, "Fit it first; or cancel this permit, and request one for all of the work.",
				"Step %d (%s) does not hang, and work is added only where everything hangs.", l.Step.N, l.Step.Point)
		}
	}
	return nil
}

func (a AskChange) decide(s Setting, p Permit) (outcome, error) {
	const gate = "change"
	if a.Plan.IsZero() {
		return outcome{}, invalid("added", "Choose what is added: the plan for it is made then.")
	}
	if err := words("words", a.Words, 3, 500); err != nil {
		return outcome{}, err
	}
	plan := a.Plan.Plan()
	if !plan.Feasible {
		return outcome{}, refuse(gate, "Do it under a permit of its own, or end this one first.",
			"With what hangs there is no isolation for the added work: %s", plan.Words)
	}
	if err := samePlant(s, plan, gate); err != nil {
		return outcome{}, err
	}
	if err := wayBack(plan, gate); err != nil {
		return outcome{}, err
	}
	if was := p.Plan(); plan.Change == nil || plan.Number() != was.Number()+1 || plan.Job != was.Job ||
		plan.Change.Hang != len(p.locks) {
		return outcome{}, &Refusal{Kind: Conflict, Gate: gate, What: "The permit has changed since that plan was made.",
			Opens: "Load the page anew, and choose again what is added."}
	}
	return outcome{to: Suspended}, nil
}

func (a AskChange) apply(e Entry, p *Permit) {
	if p.state != Suspended {
		was := pauseOf(p)
		p.stop(e, "work is to be added: "+strings.TrimSpace(a.Words))
		p.pause = was
	}
	p.change = AskedChange{Mark{e.By, e.At}, a.Plan, strings.TrimSpace(a.Words), e.N}
}

// AuthoriseChange is the officer's signature that lets the added work be isolated, for a period from now: the plan in
// place of the one before. Tags are the digests of the new tags' codes, one a new step.
type AuthoriseChange struct {
	Number   int         `json:"number"` // of the plan, as it was read
	Asked    int64       `json:"asked"`  // entry of the wish that was read: what is asked anew has the same number
	Hours    float64     `json:"hours"`
	Tags     []TagDigest `json:"tags"`
	Unproved bool        `json:"unproved,omitempty"` // the officer answers for what the plan does not prove
}

// Kind says which act this is.
func (AuthoriseChange) Kind() Kind { return KindAuthoriseChange }

func (AuthoriseChange) rule() rule { return signedBy("authorise added work", Officer) }

func (a AuthoriseChange) tell(n Names, e Entry) string {
	said := "authorised the added work for " + n.period(e, a.Hours)
	plan := n.Permit.planOf(a.Number)
	if plan == nil {
		return said
	}
	if said += ". " + changeWords(plan); a.Unproved {
		said += "; answers for what the plan does not prove: " + unprovedBy(plan)
	}
	return said
}

func (a AuthoriseChange) touches(after Permit) Touched { return newPoints(after.planOf(a.Number)) }

func (AuthoriseChange) gate(s Setting, p Permit) error {
	const gate = "change"
	if p.change.IsZero() {
		return refuse(gate, "", "Nobody has asked for added work.")
	}
	if err := notAtTheValves(s, p, "authorise"); err != nil {
		return err
	}
	if p.change.By == s.Actor().ID {
		return refuse(gate, "Another officer reads it and signs.", "%s asked for this work and so may not authorise it.",
			s.Actor())
	}
	if err := inOwnHands(s, p, KindAuthoriseChange, gate); err != nil {
		return err
	}
	if err := ready(s, p, gate); err != nil {
		return err
	}
	if err := p.everythingHangs(gate); err != nil {
		return err
	}
	plan := p.change.Plan.Plan()
	if err := samePlant(s, plan, gate); err != nil {
		return err
	}
	if err := foundWrong(s, plan, gate); err != nil {
		return err
	}
	c := s.Circumstances(p.id)
	c.Hang = p.Hanging()
	if err := provesAgain(s, plan, c, gate, "Drop it and ask anew: its plan will be computed anew."); err != nil {
		return err
	}
	return noConflict(s, p, plan.NewSteps(), gate)
}

func (a AuthoriseChange) decide(s Setting, p Permit) (outcome, error) {
	const gate = "change"
	plan := p.change.Plan.Plan()
	if a.Number != plan.Number() || a.Asked != p.change.Entry {
		return outcome{}, &Refusal{Kind: Conflict, Gate: gate, What: "The plan has changed since the page was made.",
			Opens: "Load the page anew, read the plan and sign it."}
	}
	if err := checkPeriod(s, plan, a.Hours); err != nil {
		return outcome{}, err
	}
	if n := len(plan.NewSteps()); len(a.Tags) != n {
		return outcome{}, invalid("tags", "The plan has %d new steps but %d tags came.", n, len(a.Tags))
	}
	if len(plan.Unproved) > 0 && !a.Unproved {
		return outcome{}, refuse(gate, "Find it out, see that it is safe, and say that you answer for it.",
			"The plan does not prove everything: %s", unprovedBy(plan))
	}
	return outcome{to: Isolating}, nil
}

func (a AuthoriseChange) apply(e Entry, p *Permit) {
	p.former = append(p.former, Former{p.Plan(), p.authorised, Mark{e.By, e.At}})
	p.drained = p.EverDrained()
	p.work = AsSentence(p.work) + " Added: " + p.change.Words
	p.plan, p.change = p.change.Plan, AskedChange{}
	plan := p.Plan()
	for i, st := range plan.Steps {
		if i < len(p.locks) {
			p.locks[i].Step = st
			continue
		}
		l := Lock{Step: st}
		if k := i - plan.Change.Hang; k < len(a.Tags) {
			l.Tag = a.Tags[k]
		}
		p.locks = append(p.locks, l)
	}
	p.lay(plan)
	p.authorised, p.until = Mark{e.By, e.At}, e.At.Add(hours(a.Hours))
	p.countersigned, p.answered = Mark{}, Mark{}
	p.suspended, p.stopped, p.pause, p.box = Mark{}, "", nil, ""
}

// Codes returns the codes of the new lock tags, one a new step in their order.
func (a AuthoriseChange) Codes(p Permit) []Code {
	plan := p.planOf(a.Number)
	if plan == nil {
		return nil
	}
	return codesOf(plan.NewSteps(), a.Tags)
}

// WithCodes returns the authorisation with these tags.
func (a AuthoriseChange) WithCodes(codes []Code) Act {
	a.Tags = digestsOf(codes)
	return a
}

// DropChange says that the work is not added after all. The permit goes on by its plan, as after every stop.
type DropChange struct {
	Words string `json:"words"` // why
}

// Kind says which act this is.
func (DropChange) Kind() Kind { return KindDropChange }

func (DropChange) rule() rule {
	return signedBy("drop added work", Technician, ChiefEngineer, Officer)
}

func (a DropChange) tell(Names, Entry) string {
	return "dropped the added work: " + AsSentence(a.Words)
}

func (DropChange) touches(Permit) Touched { return Touched{} }

func (DropChange) gate(s Setting, p Permit) error {
	const gate = "change"
	if p.change.IsZero() {
		return refuse(gate, "", "Nobody has asked for added work.")
	}
	if who := s.Actor(); who.ID != p.change.By && who.ID != p.InHand() && !who.Has(ChiefEngineer) {
		return refuse(gate, "That person drops it, or the officer who has the permit, or the chief engineer.",
			"%s asked for this work, not %s.", s.name(p.change.By), who)
	}
	return nil
}

func (a DropChange) decide(Setting, Permit) (outcome, error) {
	return outcome{to: Suspended}, words("words", a.Words, 3, 500)
}

func (DropChange) apply(_ Entry, p *Permit) { p.change = AskedChange{} }

// noChangeAsked refuses to go on while added work waits for the officer.
func (p Permit) noChangeAsked(s Setting, gate string) error {
	if p.change.IsZero() {
		return nil
	}
	return refuse(gate, "The officer authorises the changed plan, or it is dropped.",
		"%s has asked for added work: %s", s.name(p.change.By), AsSentence(p.change.Words))
}

// nextChange is what a permit waits for to which work is to be added.
func (p Permit) nextChange(s Setting) Next {
	n := Next{Who: string(Officer), Roles: KindAuthoriseChange.Roles(), Kind: KindAuthoriseChange, Since: p.change.At,
		What: "Read what plan " + itoa(p.change.Plan.Plan().Number()) + " changes for the added work, and authorise it " +
			"or drop it: " + AsSentence(p.change.Words)}
	if p.change.By == p.InHand() {
		n.What += " " + s.name(p.change.By) + " asked for this work and so may not authorise it. Another officer takes the " +
			"permit over first, under Handing over."
	}
	return n
}

// signedAnew refuses the proof of a plan for which the master, or the chief engineer, has still to sign: a plan in
// place of another may have no new point at which that would be asked.
func signedAnew(s Setting, p Permit, gate string) error {
	if err := countersignedAsAsked(s, p, gate); err != nil {
		return err
	}
	return answeredFor(p, gate)
}
