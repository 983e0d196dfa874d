package envelope

import (
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/atmosphere"
)

// SayWork adds to a plan, of which the dead tests are known, what its kinds of work ask for beside the isolation:
// hazards, precautions, protective equipment, the measures that are answered with yes, and how the air is tested.
func SayWork(plan *isolation.Plan, job *isolation.Job, rules *isolation.Rules) {
	plan.Kinds = job.Kinds()
	for _, d := range plan.DeadTests {
		if d.Volt > highVolt && slices.Contains(plan.Opens, d.Node) {
			plan.Kinds = with(plan.Kinds, isolation.WorkHighVoltage)
		}
	}
	for _, r := range plan.WorkRows() {
		plan.Hazards, plan.Precautions = with(plan.Hazards, r.Hazards...), with(plan.Precautions, r.Precautions...)
		plan.Protective = with(plan.Protective, r.Protective...)
		for _, m := range r.Measures {
			plan.Stored = append(plan.Stored, m.CheckOf(r.Kind))
		}
		if r.Kind != isolation.WorkHot {
			continue
		}
		for i, space := range job.Adjoining {
			plan.Stored = append(plan.Stored, isolation.AdjoiningMeasure(i+1, space).CheckOf(r.Kind))
		}
	}
	plan.Air = airTest(plan, job, rules)
}

// highVolt is the voltage above which work is of the kind "high voltage" (STCW, from memory).
const highVolt = 1000

// with adds what a list does not hold yet.
func with[W comparable](list []W, more ...W) []W {
	for _, w := range more {
		if !slices.Contains(list, w) {
			list = append(list, w)
		}
	}
	return list
}

// airTest returns how the air is tested for the plan's kinds of work; nil where it is not.
func airTest(plan *isolation.Plan, job *isolation.Job, rules *isolation.Rules) *isolation.AirTest {
	var levels []string
	for _, r := range plan.WorkRows() {
		levels = with(levels, r.Levels...)
	}
	set, known := atmosphere.SetOf(rules.AirRules)
	if len(levels) == 0 || !known {
		return nil
	}
	air := isolation.AirTest{RuleSet: set.ID, Levels: levels, Limits: slices.Clone(set.Limits),
		EveryS: 60 * rules.AirEveryMin, BreakS: 60 * rules.AirBreakMin, Source: set.Source}
	for _, g := range job.Gases {
		air.Limits = append(air.Limits, set.Toxic(g.Gas, g.LimitPPM, g.Because))
	}
	return &air
}
