package proof

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/atmosphere"
)

// kinds checks that the plan is of every kind of work that it must be, asks every question of each, and has the air
// tested at every level against limits that let nothing pass which the rules in force refuse.
func (v *prover) kinds() error {
	must := slices.Clone(v.job.WorkKinds)
	switch v.job.Exposure {
	case isolation.Enter:
		must = append(must, isolation.WorkEntry)
	case isolation.HotWork:
		must = append(must, isolation.WorkHot)
	}
	if e := v.job.Exposure; slices.Contains(must, isolation.WorkEntry) && e != isolation.Enter ||
		slices.Contains(must, isolation.WorkHot) && e != isolation.HotWork && e != isolation.Enter {
		return fmt.Errorf("people go in, or bring fire, and sources are cut as for work of the kind %q", e)
	}
	if slices.Contains(must, isolation.WorkLive) && !slices.ContainsFunc(v.plan.Unproved,
		func(u isolation.Unproved) bool { return u.Kind == isolation.UnprovedLive && u.Words != "" }) {
		return fmt.Errorf("conductors stay live at the work, and the plan does not say so")
	}
	for _, d := range v.plan.DeadTests {
		if d.Volt > 1000 && slices.Contains(v.job.Opens, d.Node) { // STCW, from memory
			must = append(must, isolation.WorkHighVoltage)
		}
	}
	for _, k := range must {
		if !slices.Contains(v.plan.Kinds, k) {
			return fmt.Errorf("the work is of the kind %q, and the plan does not say so", k)
		}
	}
	var levels []string
	for _, k := range v.plan.Kinds {
		r, known := k.Row()
		if !known {
			return fmt.Errorf("nothing is known of work of the kind %q", k)
		}
		measures := r.Measures
		if k == isolation.WorkHot {
			for i, space := range v.job.Adjoining {
				measures = append(slices.Clip(measures), isolation.AdjoiningMeasure(i+1, space))
			}
		}
		for _, m := range measures {
			if !slices.Contains(v.plan.Stored, m.CheckOf(k)) {
				return fmt.Errorf("the work is of the kind %q, and nothing asks: %s", k, m.Words)
			}
		}
		levels = append(levels, r.Levels...)
	}
	return v.air(levels)
}

// air checks how the air is tested.
func (v *prover) air(levels []string) error {
	if len(levels) == 0 {
		return nil
	}
	set, known := atmosphere.SetOf(v.rules.AirRules)
	test := v.plan.Air
	switch {
	case !known:
		return fmt.Errorf("the rules in force name no set of rules for the air, and the work wants it tested")
	case test == nil || test.RuleSet != set.ID:
		return fmt.Errorf("the work wants the air tested by %s, and the plan does not say so", set.ID)
	case !(test.EveryS > 0 && test.EveryS <= 60*v.rules.AirEveryMin && test.BreakS > 0 &&
		test.BreakS <= 60*v.rules.AirBreakMin):
		return fmt.Errorf("the air would be tested less often than the rules in force ask for")
	}
	for _, l := range levels {
		if !slices.Contains(test.Levels, l) {
			return fmt.Errorf("the air is not tested at the level %q", l)
		}
	}
	wanted := slices.Clone(set.Limits)
	for _, g := range v.job.Gases {
		wanted = append(wanted, set.Toxic(g.Gas, g.LimitPPM, g.Because))
	}
	for _, w := range wanted {
		if !slices.ContainsFunc(test.Limits, func(l atmosphere.Limit) bool { return l.Covers(w) }) {
			return fmt.Errorf("nothing asks that %s reads %s", w.Name, w.Words())
		}
	}
	return nil
}
