package planner

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/cut"
	"stillwatch/isolation/envelope"
)

// Make computes the isolation of one job: the least set of points that cuts every source from everything opened as the
// rules demand, in the order of fitting, with what follows from it. A demand that nothing can meet is not an error:
// the plan then has Feasible false, the way that cannot be cut in Uncut and the reason in Words.
//
// It returns an error, in a plain sentence, for an unknown job, a job that opens nothing, a source inside the work and
// a source that no rule matches. A job that no source can reach has a plan without isolating points that says so.
func Make(p *isolation.Plant, r *isolation.Rules, jobID string, c isolation.Circumstances) (isolation.Plan, error) {
	k, err := newTask(p, r, jobID, c)
	if err != nil {
		return isolation.Plan{}, err
	}
	return k.make()
}

// make is Make for a job that was looked up.
func (k *task) make() (isolation.Plan, error) {
	jobID := k.job.ID
	picked, err := k.pick(terms{})
	plan := k.blankPlan()
	if err := k.sayKept(&plan); err != nil {
		return isolation.Plan{}, fmt.Errorf("plan job %s: %w", jobID, err)
	}
	var uncut *cut.Uncut
	if errors.As(err, &uncut) {
		k.sayUncut(&plan, uncut)
		return plan, nil
	}
	var none errNone
	if errors.As(err, &none) {
		k.sayNone(&plan, none)
		return plan, nil
	}
	if err != nil {
		return isolation.Plan{}, fmt.Errorf("plan job %s: %w", jobID, err)
	}
	if err := k.fill(&plan, picked); err != nil {
		return isolation.Plan{}, fmt.Errorf("plan job %s: %w", jobID, err)
	}
	return plan, nil
}

// pick chooses points until they leave nothing heated standing still and no pump working against them: each time the
// choice is made anew with that kept off too. It ends, because each time one thing more is kept off.
func (k *task) pick(t terms) (choice, error) {
	t = k.sparing(t)
	for {
		picked, err := k.choose(t)
		k.hold(&picked)
		if err != nil || !k.keepFurther(k.Marks(picked.points)) {
			return picked, err
		}
		if err := k.settle(); err != nil {
			return choice{}, err
		}
	}
}

// blankPlan is the plan with all that is known before anything is chosen. Its lists are empty, not nil, so that they
// print as [] in JSON.
func (k *task) blankPlan() isolation.Plan {
	plan := isolation.Plan{
		Job: k.job.ID, Machine: k.job.Machine, Title: k.job.Title, Exposure: k.job.Exposure,
		Opens: slices.Clone(k.job.Opens), PlantSHA256: k.Plant.SHA256, RulesSHA256: k.rules.SHA256,
		Prepare: []string{}, Steps: []isolation.Step{}, Proofs: []string{}, Sources: []isolation.SourceCut{},
		Sections: []isolation.Section{},
		Stored:   []isolation.StoredCheck{}, DeadTests: []isolation.DeadTest{}, Unproved: []isolation.Unproved{},
		Lost: []isolation.NodeID{}, Losses: []isolation.Loss{}, Passes: []isolation.Pass{},
		Uncut:   []isolation.NodeID{},
		Hazards: listOf(k.job.Hazards), Precautions: listOf(k.job.Precautions), Protective: listOf(k.job.Protective),
		Change: k.change,
	}
	if k.Machine != nil {
		plan.MachineName = k.Machine.Name
	}
	for _, w := range k.Sources {
		n := k.At(w.Node)
		plan.Sources = append(
			plan.Sources,
			isolation.SourceCut{ID: n.ID, Name: n.Name, Energy: n.Energy,
				GaugeBar: k.pressing(w.Node).GaugeBar, Demand: w.Rule.Demand,
				Because: w.Rule.Because},
		)
	}
	return plan
}

func listOf(s []string) []string { return append([]string{}, s...) }

// fill completes a plan from the chosen points.
func (k *task) fill(plan *isolation.Plan, picked choice) error {
	plan.Feasible, plan.Cost, plan.SearchBound, plan.PlainCost = true, picked.cost, picked.bound, picked.plain
	k.sayBound(plan, picked)
	for i := range plan.Sources {
		plan.Sources[i].Met = true
	}
	shut := k.Marks(picked.points)
	drawOff, err := k.DrawOff(shut)
	if err != nil {
		return err
	}
	k.sayHolds(drawOff.Sections)
	plan.Sections = append(plan.Sections, drawOff.Sections...)
	k.keepOpen(&drawOff)
	k.steps(plan, picked, drawOff)
	if err := k.hangingFirst(plan); err != nil {
		return err
	}
	for _, s := range plan.Steps {
		if s.Lock {
			plan.Locks++
		}
	}
	k.sayLost(plan, shut)
	k.sayStandbyCut(plan, shut)
	k.sayPasses(plan, picked.points)
	k.Charged = k.charged(shut)
	stored, err := k.Stored(drawOff.BleedM)
	if err != nil {
		return err
	}
	plan.Stored = append(append(plan.Stored, stored...), k.Seen(drawOff, shut)...)
	k.sayDeadTests(plan, shut)
	envelope.SayWork(plan, k.job, k.rules)
	k.sayUnproved(plan, shut, drawOff)
	k.sayEarths(plan, shut)
	k.sayTryStart(plan, shut)
	k.sayFirst(plan, shut)
	k.sayPrepare(plan)
	k.sayProofs(plan, drawOff)
	k.sayRestore(plan)
	plan.Words = k.summary(plan, picked)
	return nil
}

// summary says in a sentence or two what was found.
func (k *task) summary(plan *isolation.Plan, picked choice) string {
	if len(plan.Sources) == 0 {
		return "No source of energy in the plant file reaches what is opened. That proves nothing: look at what really " +
			"feeds it."
	}
	locks := 0
	for _, s := range plan.Steps {
		if s.Isolates() && s.Lock {
			locks++
		}
	}
	locked := fmt.Sprintf("%d of them locked", locks)
	switch {
	case locks == int(plan.Cost) && plan.Cost > 1:
		locked = "all locked"
	case locks == int(plan.Cost):
		locked = "locked"
	}
	s := fmt.Sprintf("%s cut from the work by %s, %s.", isolation.Amount(len(plan.Sources), "source is", "sources are"),
		isolation.Amount(int(plan.Cost), "point", "points"), locked)
	s += keptWords(plan) + " " + plan.SayBound()
	switch {
	case plan.LowerBound < plan.Cost:
	case picked.drains:
		s += " Of those with as few, this is among the easiest to reach and lets what is opened drain."
	default:
		s += " Of those with as few, this is the easiest to reach and the nearest to the work."
	}
	if n := len(plan.Lost); n > 0 && slices.ContainsFunc(plan.Lost,
		func(id isolation.NodeID) bool { return k.Plant.Node(id).Kind != isolation.Consumer }) {
		s += fmt.Sprintf(
			" Without supply meanwhile: %s.",
			isolation.Amount(n, "consumer or machine", "consumers and machines"),
		)
	} else if n > 0 {
		s += fmt.Sprintf(" Without supply meanwhile: %s.", isolation.Amount(n, "consumer", "consumers"))
	}
	if n := len(plan.Unproved); n > 0 {
		s += fmt.Sprintf(" This holds for the plant as its file shows it, and leaves %s unproved.", isolation.Amount(n,
			"thing", "things"))
	}
	return strings.TrimSpace(plan.StandbyCut + " " + s)
}
