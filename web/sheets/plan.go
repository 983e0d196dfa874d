package sheets

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/paper"
	"stillwatch/web/screens"
)

// Plan puts a permit's plan on paper. A permit holds only plans that the second algorithm agreed with.
func Plan(set permits.Setting, p permits.Permit) paper.PlanSheet {
	plan := p.Plan()
	s := paper.PlanSheet{JobID: plan.Job, JobTitle: plan.Title, Machine: plan.MachineName, Exposure: string(plan.Exposure),
		Opens:  nodeWords(plan.Opens),
		Permit: screens.PermitNumber(p.ID()), PlantSHA256: plan.PlantSHA256, RulesName: "hash " +
			screens.Shorten(plan.RulesSHA256, 12),
		Lost: lossWords(plan), Locks: plan.Locks, Cost: int(plan.Cost), LowerBound: int(plan.LowerBound),
		Checked: "held: a second algorithm, which reads the plant anew, agreed before the plan was shown, and again when " +
			"it was authorised"}
	s.Changes = planChanges(p, func(id permits.PersonID) string { return set.Ship.People[id].String() })
	if set.Plant != nil {
		s.PlantName = set.Plant.Title
		s.Diagram = Diagram(set.Plant, plan)
	}
	for _, src := range plan.Sources {
		s.Sources = append(s.Sources, paper.PlanSource{ID: string(src.ID), Name: src.Name, Energy: string(src.Energy),
			State: sourceState(set.Plant, src), Demand: src.Demand, Because: src.Because, Met: src.Met})
	}
	for _, t := range plan.Prepare {
		s.Before = append(s.Before, paper.PlanTask{Text: t})
	}
	for _, t := range plan.Proofs {
		s.Proofs = append(s.Proofs, paper.PlanTask{Phase: "prove", Text: t})
	}
	for _, st := range plan.Steps {
		s.Steps = append(s.Steps, paper.PlanStep{N: st.N, Phase: string(st.Phase), Point: string(st.Point), Name: st.Name,
			Held: Position(st.Kind, st.Position), Lock: st.Lock,
			Measure: st.Measure, Place: Place(st.Place), Clearance: Position(st.Kind, st.Clearance),
			Cuts: nodeWords(st.Cuts), First: firstWords(plan, st)})
	}
	for _, k := range plan.Kept {
		s.KeptOff = append(s.KeptOff, string(k.ID))
	}
	for _, u := range plan.Unproved {
		s.Unproved = append(s.Unproved, u.Words)
	}
	for _, r := range plan.Restore {
		s.Restore = append(s.Restore, paper.PlanTask{Phase: screens.Choose(r.Step > 0, "lock "+strconv.Itoa(r.Step), "do"),
			Text: strings.TrimSpace(r.Do + " " + r.Why)})
	}
	for _, sec := range plan.Sections {
		s.Sections = append(s.Sections, paperSection(sec))
	}
	for _, st := range plan.Stored {
		s.Stored = append(s.Stored, paper.PlanStored{Name: st.Name, Kind: st.Stored.Kind, Figure: withUnit(st.Now, st.Unit),
			Limit: withUnit(st.Limit, st.Unit),
			Wait:  seconds(st.WaitS), WaitUnknown: st.WaitS < 0, Read: st.Quantity, Source: st.Source})
	}
	if plan.Standby != "" {
		s.Standby = []string{screens.PlanViewOf(plan, set.Plant, permits.Held{}, p.ID()).Standby}
	}
	for _, pass := range plan.Passes {
		s.Passing = append(s.Passing, paper.PlanPassing{Point: string(pass.Point), Reaches: pass.Words})
	}
	for _, x := range isolation.Conflicts(*plan, screens.HeldByOthers(set.Held, p.ID())) {
		s.Shared = append(s.Shared, fmt.Sprintf("permit %s holds %s %s", x.Permit, x.Point,
			screens.Choose(x.Shared, "in the same position", "in ANOTHER position")))
	}
	return s
}

// planChanges are the plans in whose place the permit's plan stands.
func planChanges(p permits.Permit, name func(permits.PersonID) string) []paper.PlanChange {
	var out []paper.PlanChange
	for _, f := range screens.FormerPlans(p) {
		c := paper.PlanChange{Number: f.Number, By: name(f.Until.By), At: f.Until.At.Local()}
		for _, d := range f.Changes {
			c.Words = append(c.Words, d.What+": "+d.Words)
		}
		out = append(out, c)
	}
	return out
}

// firstWords names what is read before a step.
func firstWords(plan *isolation.Plan, st isolation.Step) []string {
	var out []string
	for _, c := range plan.Stored {
		if slices.Contains(st.First, c.ID) {
			out = append(out, strings.TrimSpace(c.Name+" ("+c.Quantity+")"))
		}
	}
	for _, t := range plan.DeadTests {
		if slices.Contains(st.First, t.ID) {
			out = append(out, t.Name+" (dead)")
		}
	}
	return out
}

func paperSection(sec isolation.Section) paper.PlanSection {
	out := paper.PlanSection{Name: sec.Name, Fluid: sec.Fluid, TempC: sec.TempC, OutL: sec.OutL, SpreadL: sec.SpreadL,
		KeptL: sec.KeptL,
		Drain: strings.Join(nodeWords(sec.Drains), ", "), Vent: strings.Join(nodeWords(sec.Vents), ", "),
		Time: seconds(sec.DrainS), TimeUnknown: sec.DrainS <= 0, Provable: sec.Provable, Why: sec.Why}
	for _, k := range sec.Pockets {
		out.Pockets = append(out.Pockets, k.Name)
	}
	return out
}

// sourceState says in figures what a source brings, and at which pressure with the pumps that may run on the way.
func sourceState(plant *isolation.Plant, src isolation.SourceCut) string {
	id := src.ID
	if plant == nil || plant.Node(id) == nil {
		return ""
	}
	n := plant.Node(id)
	var words []string
	if n.Volt > 0 {
		words = append(words, screens.Figure(n.Volt)+" V")
	}
	if n.Fluid != "" {
		words = append(words, n.Fluid)
	}
	if n.GaugeBar != 0 {
		words = append(words, screens.Figure(n.GaugeBar)+" bar")
	}
	if src.GaugeBar > n.GaugeBar {
		words = append(words, "up to "+screens.Figure(src.GaugeBar)+" bar where it comes to the work")
	}
	if n.HasTemp {
		words = append(words, screens.Figure(n.TempC)+" °C")
	}
	return strings.Join(words, ", ")
}

func lossWords(plan *isolation.Plan) []string {
	var out []string
	for _, l := range plan.Losses {
		out = append(out, strings.TrimSpace(l.Name+" ("+string(l.ID)+")"))
	}
	return out
}

func withUnit(v float64, unit string) string {
	if unit == "" {
		return screens.Choose(v != 0, "yes", "no")
	}
	return screens.Figure(v) + " " + unit
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }
