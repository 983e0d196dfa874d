package permits

import (
	"strings"
	"unicode/utf8"

	"stillwatch/isolation"
	"stillwatch/isolation/proof"
)

// KindRequest is the entry with which a permit begins.
const KindRequest Kind = "request"

// Request asks for a permit to do a job by a plan that has been computed and proved.
type Request struct {
	Plan proof.Proved `json:"plan"`
	Work string       `json:"work"` // what is to be done and why, in the requester's words; up to 500 characters
	// Under is the permit under whose locks it works, by the same plan; 0: it gets its own.
	Under PermitID `json:"under,omitempty"`
}

// Kind says which act this is.
func (Request) Kind() Kind { return KindRequest }

func (Request) rule() rule { return unsignedBy("request a permit", Technician, ChiefEngineer) }

func (a Request) tell(Names, Entry) string {
	if a.Under != 0 {
		return "requested the permit, to work under the locks of permit " + itoa(int(a.Under)) + ": " + a.Work
	}
	return "requested the permit: " + a.Work
}

func (Request) touches(Permit) Touched { return Touched{} }

func (Request) gate(Setting, Permit) error { return nil }

func (a Request) decide(s Setting, _ Permit) (outcome, error) {
	if a.Plan.IsZero() {
		return outcome{}, invalid("job", "A permit needs a plan: choose the machine and the job.")
	}
	if err := words("work", a.Work, 3, 500); err != nil {
		return outcome{}, err
	}
	plan := a.Plan.Plan()
	if !plan.Feasible {
		return outcome{}, refuse("request", "Another way of doing the job, or a further isolation point, is needed.",
			"There is no isolation for %s: %s", plan.Title, plan.Words)
	}
	if err := samePlant(s, plan, "request"); err != nil {
		return outcome{}, err
	}
	if err := wayBack(plan, "request"); err != nil {
		return outcome{}, err
	}
	return outcome{to: Draft}, a.fitsUnder(s)
}

func (a Request) apply(e Entry, p *Permit) {
	p.plan, p.work, p.under = a.Plan, strings.TrimSpace(a.Work), a.Under
	p.requested = Mark{e.By, e.At}
	if a.Under != 0 {
		return
	}
	for _, st := range a.Plan.Plan().Steps {
		p.locks = append(p.locks, Lock{Step: st})
	}
	p.lay(a.Plan.Plan())
}

// lay puts into the permit what is to be recorded for the proof of a plan, and what is done on its way back.
func (p *Permit) lay(plan *isolation.Plan) {
	p.drains, p.stored, p.air, p.dead = nil, nil, nil, nil
	for _, sec := range plan.Sections {
		p.drains = append(p.drains, DrainState{Section: sec})
	}
	for _, c := range plan.Stored {
		p.stored = append(p.stored, StoredState{Check: c})
	}
	if plan.Air != nil {
		for _, level := range plan.Air.Levels {
			p.air = append(p.air, AirState{Level: level})
		}
	}
	p.added = addedSteps(plan)
	p.tryStart, p.start = plan.TryStart, StartState{}
	for _, t := range plan.DeadTests {
		p.dead = append(p.dead, DeadState{Test: t})
	}
}

// samePlant refuses a plan that was made from another plant or rules file than those in force.
func samePlant(s Setting, plan *isolation.Plan, gate string) error {
	if plan.PlantSHA256 == s.Ship.PlantSHA256 && plan.RulesSHA256 == s.Ship.RulesSHA256 {
		return nil
	}
	return refuse(gate, "Request a new permit: its plan will be computed from the file in force.",
		"The plan was made from another plant or rules file than the one in force now.")
}

// words looks at a text that a person typed: its length in characters, after trimming, and that it is text at all.
func words(field, text string, least, most int) error {
	text = strings.TrimSpace(text)
	switch n := utf8.RuneCountInString(text); {
	case !utf8.ValidString(text) || strings.ContainsFunc(text, isUnseen):
		return invalid(field, "%s holds something that is not text.", asked(field))
	case n < least:
		return invalid(field, "%s must be filled in (%d characters at least).", asked(field), least)
	case n > most:
		return invalid(field, "%s is too long: %d characters, %d at most.", asked(field), n, most)
	}
	return nil
}

// asked returns what a form calls a field.
func asked(field string) string {
	switch field {
	case "work":
		return "What is to be done"
	case "wrong":
		return "What is wrong"
	case "into":
		return "The tank"
	case "absence_how", "call_how", "telling_how":
		return "How it was done"
	case "name", "rank":
		return "The " + field
	}
	return "The reason, in words,"
}
