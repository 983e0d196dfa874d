package screens

import (
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// ChangePage adds work to a permit: what can be added, what a plan for it changes, and the signatures.
type ChangePage struct {
	Frame
	PermitView
	Jobs   []isolation.Job // of the machine, that are not part of the work yet
	Parts  []*isolation.Node
	Points []*isolation.Node
	Chosen isolation.Added
	Hash   string // of the plan that is shown
	Fault  string // why there is none, in a sentence
	change
}

// change is a plan in place of another, side by side.
type change struct {
	New   *planView // nil: none is asked for, or there is none
	Rows  []ChangeRow
	Other []isolation.Difference // what is different beside the steps
}

// ChangeRow is one step before and after.
type ChangeRow struct {
	isolation.Step
	Stands string // "new", "stays", "stays, for another reason", "stays, not needed"
	Before string // what it was for, where that is another thing now
}

const stays = "stays" // as it is

// Show puts a changed plan on the page.
func (p *ChangePage) Show(c change) { p.change = c }

// ChangePath returns the address at which work is added to a permit.
func ChangePath(id permits.PermitID) string { return PermitPath(id) + "/change" }

// ChangeOf puts a plan in place of another on the page.
func ChangeOf(set permits.Setting, p permits.Permit, after *isolation.Plan) change {
	v := PlanViewOf(after, set.Plant, set.Held, p.ID())
	v.Brief = true
	c := change{New: &v}
	before := p.Plan()
	if after.Feasible {
		c.Rows = ChangeRows(before, after)
	}
	c.Other = slices.DeleteFunc(isolation.Differences(before, after), func(d isolation.Difference) bool {
		return strings.HasPrefix(d.What, "Step ")
	})
	return c
}

// ChangeRows returns every step of a plan with what becomes of it.
func ChangeRows(before, after *isolation.Plan) []ChangeRow {
	var out []ChangeRow
	for i, s := range after.Steps {
		r := ChangeRow{Step: s, Stands: stays}
		switch {
		case i >= len(before.Steps):
			r.Stands = "new"
		case after.Change != nil && slices.Contains(after.Change.Idle, s.Point):
			r.Stands = "stays, not needed"
		case s.Why != before.Steps[i].Why:
			r.Stands, r.Before = "stays, for another reason", before.Steps[i].Why
		}
		out = append(out, r)
	}
	return out
}

// AddChoices returns what can be added to the work of a permit: jobs, parts and points that the plant in force allows.
// Whether there is a plan for it only the planner knows.
func AddChoices(plant *isolation.Plant, p permits.Permit) (jobs []isolation.Job, parts, points []*isolation.Node) {
	plan := p.Plan()
	had := isolation.Added{}
	if plan.Change != nil {
		had = plan.Change.Added
	}
	may := func(a isolation.Added) bool {
		if had.And(a).Len() == had.Len() {
			return false
		}
		_, err := plant.Widened(plan.Job, had.And(a))
		return err == nil
	}
	for _, j := range plant.Jobs {
		if may(isolation.Added{Jobs: []string{j.ID}}) {
			jobs = append(jobs, j)
		}
	}
	for i := range plant.Nodes {
		n := &plant.Nodes[i]
		if slices.ContainsFunc(plan.Steps, func(s isolation.Step) bool { return s.Point == n.ID }) {
			continue
		}
		if may(isolation.Added{Opens: []isolation.NodeID{n.ID}}) {
			parts = append(parts, n)
		}
		if may(isolation.Added{Points: []isolation.NodeID{n.ID}}) && !n.Kind.IsBlanking() {
			points = append(points, n)
		}
	}
	return jobs, parts, points
}

// Differ returns the steps that are new or stand for another reason.
func (c change) Differ() []ChangeRow {
	return slices.DeleteFunc(slices.Clone(c.Rows), func(r ChangeRow) bool { return r.Stands == stays })
}

// Same returns the steps that stay as they are.
func (c change) Same() []ChangeRow {
	return slices.DeleteFunc(slices.Clone(c.Rows), func(r ChangeRow) bool { return r.Stands != stays })
}

// Has reports whether a job, a part or a point is chosen.
func (p ChangePage) Has(of, id string) bool {
	switch of {
	case "job":
		return slices.Contains(p.Chosen.Jobs, id)
	case "part":
		return slices.Contains(p.Chosen.Opens, isolation.NodeID(id))
	}
	return slices.Contains(p.Chosen.Points, isolation.NodeID(id))
}

// Asked returns the added work that waits for the officer; nil if none does.
func (v PermitView) Asked() *permits.AskedChange {
	c, is := v.P.Changing()
	if !is {
		return nil
	}
	return &c
}

// ShowsChange reports whether the permit's page leads to that of added work: where it can be asked for, or is.
func (v PermitView) ShowsChange() bool {
	return v.Asked() != nil || v.Can(string(permits.KindAskChange))
}

// FormerPlan is a plan in whose place another stands, and what the next one changed.
type FormerPlan struct {
	Number  int
	From    permits.Mark
	Until   permits.Mark
	Changes []isolation.Difference
}

// FormerPlans returns the plans of a permit in whose place others stand, the last first.
func FormerPlans(p permits.Permit) []FormerPlan {
	var out []FormerPlan
	next := p.Plan()
	for _, f := range slices.Backward(p.Former()) {
		out = append(out, FormerPlan{f.Plan.Number(), f.Authorised, f.Replaced, isolation.Differences(f.Plan, next)})
		next = f.Plan
	}
	return out
}

// WhyNot returns why whoever reads cannot do an act now; nil if they can.
func (v PermitView) WhyNot(kind string) *permits.Refusal {
	return permits.Foresee(v.set, v.P, permits.Kind(kind), permits.Target{})
}

// MostHoursNew returns the longest period of the changed work, in hours.
func (p ChangePage) MostHoursNew() float64 {
	if c := p.Asked(); c != nil {
		return permits.MostHoursOf(p.set, c.Plan.Plan())
	}
	return p.MostHours
}
