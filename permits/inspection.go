package permits

import (
	"cmp"
	"maps"
	"slices"
	"strings"
	"time"

	"stillwatch/isolation"
)

// KindInspectPlan is the yearly inspection of the plan of one job.
const KindInspectPlan Kind = "inspect plan"

// A plan is inspected at least yearly, by somebody who does not use it (29 CFR 1910.147(c)(6)(i), read). inspectSoon is
// how long before its time that is told of (our choice: a month).
const (
	inspectYear = 365 * 24 * time.Hour
	inspectSoon = 30 * 24 * time.Hour
)

// InspectPlan says that somebody who has not used the plan of a job for a year inspected it, with whom of those who
// work by it, and what was found. A plan that was found wrong is authorised no more, until another file is in force or
// an inspection finds it right. What it names, the date, the machine, who took part and who inspected, is what the rule
// asks to be certified (29 CFR 1910.147(c)(6)(ii), from memory).
type InspectPlan struct {
	Job   string     `json:"job"`
	With  []PersonID `json:"with"`            // who work by it and took part
	Words string     `json:"words"`           // what was looked at
	Wrong string     `json:"wrong,omitempty"` // what must be put right; "": nothing
}

// Kind says which act this is.
func (InspectPlan) Kind() Kind { return KindInspectPlan }

func (InspectPlan) rule() rule {
	return signedBy("inspect the plan of a job", Officer, Technician, ChiefEngineer, Master)
}

func (a InspectPlan) tell(n Names, _ Entry) string {
	names := make([]string, len(a.With))
	for i, id := range a.With {
		names[i] = n.Name(id)
	}
	said := "inspected the plan of " + a.Job + " with " + strings.Join(names, ", ") + ": " + strings.TrimSpace(a.Words)
	if a.Wrong != "" {
		return said + "; FOUND WRONG: " + strings.TrimSpace(a.Wrong)
	}
	return said + "; nothing is to be put right"
}

func (InspectPlan) touches(Permit) Touched { return Touched{} }

func (a InspectPlan) decideShip(s Setting) error {
	if no := InspectOpen(s, a.Job); no != nil {
		return no
	}
	if len(a.With) == 0 {
		return invalid("with", "Choose at least one of those who work by the plan: they are part of the inspection.")
	}
	for _, id := range a.With {
		if p, known := s.Ship.Person(id); !known || p.Left || !p.IsCompetent() {
			return invalid("with", "Who took part must be of the crew.")
		}
		if id == s.Actor().ID {
			return invalid("with", "%s inspects, and so is not one of those who work by the plan.", s.Actor())
		}
	}
	if err := words("words", a.Words, 10, 1000); err != nil {
		return err
	}
	return words("wrong", a.Wrong, 0, 500)
}

// InspectOpen returns why whoever acts may not inspect the plan of a job; nil if they may.
func InspectOpen(s Setting, job string) *Refusal {
	const gate = "inspect plan"
	if s.Plant == nil || s.Plant.Job(job) == nil {
		return &Refusal{Kind: NotFound, Gate: gate, What: "The plant file in force has no job " + job + "."}
	}
	if used, ok := s.Uses.Last(job, s.Actor().ID); ok && s.At.Sub(used) < inspectYear {
		return refuse(gate, "Somebody inspects it who has not used it for a year.",
			"%s requested, authorised or fitted by the plan of %s within the year, on %s.", s.Actor(), job,
			used.Format("2006-01-02"))
	}
	return nil
}

func (a InspectPlan) applyShip(e Entry, ship *Ship) {
	ship.Inspected = with(ship.Inspected, a.Job, Inspection{Mark{e.By, e.At}, a, ship.PlantSHA256, ship.RulesSHA256})
}

// Inspection is the last inspection of the plan of a job, and by which files the plan was made then.
type Inspection struct {
	Mark
	Act          InspectPlan
	Plant, Rules string // hashes
}

// foundWrong refuses a plan that its yearly inspection found wrong, by the files that are still in force.
func foundWrong(s Setting, plan *isolation.Plan, gate string) error {
	in, ok := s.Ship.Inspected[plan.Job]
	if !ok || in.Act.Wrong == "" || in.Plant != s.Ship.PlantSHA256 || in.Rules != s.Ship.RulesSHA256 {
		return nil
	}
	return refuse(gate, "The chief engineer puts a corrected file in force, or an inspection finds the plan right.",
		"The inspection of %s found this plan wrong: %s", in.At.Format("2006-01-02"), AsSentence(in.Act.Wrong))
}

// PlanDue is the plan of one job, with when it must be inspected next.
type PlanDue struct {
	Job           *isolation.Job
	Last          Inspection // zero: never
	Used          time.Time  // when it was used first; zero: never
	Due           time.Time  // zero: not before it is used
	Overdue, Soon bool
}

// InspectionsDue returns the plan of every job of the plant in force, the one that is due first before the others;
// those that were never used come last.
func InspectionsDue(s Setting) []PlanDue {
	var out []PlanDue
	if s.Plant == nil {
		return nil
	}
	for i := range s.Plant.Jobs {
		d := PlanDue{Job: &s.Plant.Jobs[i], Last: s.Ship.Inspected[s.Plant.Jobs[i].ID]}
		d.Used, _ = s.Uses.First(d.Job.ID)
		switch {
		case !d.Last.IsZero():
			d.Due = d.Last.At.Add(inspectYear)
		case !d.Used.IsZero():
			d.Due = d.Used.Add(inspectYear)
		}
		if !d.Due.IsZero() {
			d.Overdue = !s.At.Before(d.Due)
			d.Soon = !d.Overdue && d.Due.Sub(s.At) <= inspectSoon
		}
		out = append(out, d)
	}
	slices.SortStableFunc(out, func(a, b PlanDue) int {
		if a.Due.IsZero() != b.Due.IsZero() {
			return cmp.Compare(b.Due.Unix(), a.Due.Unix())
		}
		return a.Due.Compare(b.Due)
	})
	return out
}

// Uses is who used the plan of each job, by days. The zero value knows of nobody. A Uses is never changed: With returns
// another one.
type Uses struct{ of map[string]map[PersonID]Used }

// Used is the first and the last day, in UTC, on which somebody used the plan of a job.
type Used struct{ First, Last time.Time }

// IsUse reports whether an act of this kind uses the plan of its permit: who requested, authorised or fitted by it does
// not inspect it.
func (k Kind) IsUse() bool {
	return slices.Contains([]Kind{KindRequest, KindAuthorise, KindFitLock, KindAskChange, KindAuthoriseChange}, k)
}

// UseDay returns the day that is kept of a moment.
func UseDay(at time.Time) time.Time { return at.UTC().Truncate(24 * time.Hour) }

// With returns the uses with one more; the same if the day is known already.
func (u Uses) With(job string, who PersonID, at time.Time) Uses {
	day := UseDay(at)
	was, known := u.of[job][who]
	now := Used{day, day}
	if known {
		now = Used{was.First, was.Last}
		if day.Before(was.First) {
			now.First = day
		}
		if day.After(was.Last) {
			now.Last = day
		}
	}
	if known && now == was {
		return u
	}
	return Uses{with(u.of, job, with(u.of[job], who, now))}
}

// Of returns on which days somebody used the plan of a job; ok is false for never.
func (u Uses) Of(job string, who PersonID) (used Used, ok bool) {
	used, ok = u.of[job][who]
	return used, ok
}

// Each passes everybody's use of each plan to f.
func (u Uses) Each(f func(job string, who PersonID, used Used)) {
	for job, of := range u.of {
		for who, used := range of {
			f(job, who, used)
		}
	}
}

// Last returns the day on which somebody used the plan of a job last; ok is false for never.
func (u Uses) Last(job string, who PersonID) (day time.Time, ok bool) {
	used, ok := u.of[job][who]
	return used.Last, ok
}

// First returns the day on which the plan of a job was used first, by anybody; ok is false for never.
func (u Uses) First(job string) (day time.Time, ok bool) {
	for _, used := range u.of[job] {
		if !ok || used.First.Before(day) {
			day, ok = used.First, true
		}
	}
	return day, ok
}

// Users returns who used the plan of a job within the year before a moment, in order.
func (u Uses) Users(job string, now time.Time) []PersonID {
	var out []PersonID
	for _, who := range slices.Sorted(maps.Keys(u.of[job])) {
		if now.Sub(u.of[job][who].Last) < inspectYear {
			out = append(out, who)
		}
	}
	return out
}
