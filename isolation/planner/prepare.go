package planner

import (
	"fmt"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/atmosphere"
	"stillwatch/isolation/envelope"
)

// sayPrepare says what is done before the first point is touched: warn, change over, stop, in this order (29 CFR
// 1910.147(d)(1)-(2): know the energy, then an orderly shutdown).
func (k *task) sayPrepare(plan *isolation.Plan) {
	say := func(format string, a ...any) { plan.Prepare = append(plan.Prepare, fmt.Sprintf(format, a...)) }
	if plan.StandbyCut != "" {
		say("%s", plan.StandbyCut)
		plan.Hazards = append([]string{plan.StandbyCut}, plan.Hazards...)
	}
	name := k.job.ID
	if k.Machine != nil {
		name = k.Machine.Name
	}
	say("Warn everybody who uses %s or works near it, and say how long it will be off.", name)
	for _, l := range k.lostByMachine(plan) {
		say("%s", l)
	}
	for _, c := range isolation.Conflicts(*plan, k.facts.Held) {
		kind := k.Plant.Node(c.Point).Kind
		if c.Shared {
			say("Permit %s also holds %s %s: both hang their locks, and it goes back when the last comes off.", c.Permit,
				c.Point, kind.Word(c.Held))
		} else {
			say("Permit %s holds %s %s, and this plan needs it %s: one of the two must give way before this plan can be "+
				"authorised.", c.Permit, c.Point, kind.Word(c.Held), kind.Word(c.Wanted))
		}
	}
	if k.Machine == nil {
		return
	}
	if s := k.Plant.Machine(k.Machine.Standby); s != nil && plan.StandbyCut == "" {
		plan.Standby = s.ID
		say("Put %s into service and see it carry the load, before anything is done to %s.", s.Name, k.Machine.Name)
	}
	for _, s := range plan.Steps {
		if s.Isolates() && s.Clearance == s.Position && k.takesHeatOff(&s) {
			off := "shut " + string(s.Point)
			if s.Kind.IsElectrical() {
				off = string(s.Point) + " to " + s.Kind.Word(s.Position)
			}
			if k.heatsLiquid(k.Number(s.Point)) {
				say("Take the heat off first: %s. Keep the liquid flowing until it cools no more, and only then stop the flow.",
					off)
			} else {
				say("Take the heat off first: %s. If it heats a liquid, keep that flowing until it cools no more.", off)
			}
		}
	}
	if len(k.Machine.Controls) > 0 {
		say("Stop %s in its usual way and see it stop.", k.Machine.Name)
	} else {
		say("Take %s out of service in its usual way.", k.Machine.Name)
	}
}

// lostByMachine says what else will be without its supply.
func (k *task) lostByMachine(plan *isolation.Plan) []string {
	if len(plan.Losses) == 0 {
		return nil
	}
	var names []string
	for _, id := range plan.Lost {
		names = append(names, k.lostLabel(id))
	}
	return []string{"Without supply while the plan is on: " + strings.Join(names, ", ") +
		". Agree it with everybody who depends on that."}
}

// sayProofs says what is proved before the work, in words. The order is common practice: dead, at rest, empty, cool,
// and then the start attempt with the controls going back to off (DOE-STD-1030-96; 29 CFR 1910.147 App. A).
func (k *task) sayProofs(plan *isolation.Plan, d envelope.DrawOff) {
	say := func(format string, a ...any) { plan.Proofs = append(plan.Proofs, fmt.Sprintf(format, a...)) }
	if dead := namesOf(plan.DeadTests, func(t isolation.DeadTest) string { return t.Name }); len(dead) > 0 {
		say("Prove dead on all poles: %s. The detector is proved on a live part, or on its proving unit, before and "+
			"after.", isolation.AndList(dead))
	}
	for _, s := range plan.Stored {
		if !slices.Contains([]string{isolation.KindDry, isolation.KindShut, isolation.KindMeasure}, s.Stored.Kind) {
			say("%s", s.Words)
		}
	}
	for _, s := range plan.Sections {
		if !s.Provable {
			say("Drain %s as far as it goes; that proves nothing here: %s. The chief engineer decides whether that will do.",
				s.Name, s.Why)
			continue
		}
		hold := "hold"
		if s.HoldS > 0 {
			hold = fmt.Sprintf("hold for %.0f min (%s)", s.HoldS/60, strings.TrimSuffix(s.HoldWhy, "."))
		}
		say("Drain %s: %s should come out, give or take %s. Record it; then %s, and record what still comes.", s.Name,
			isolation.Litres(s.OutL), isolation.Litres(s.SpreadL), hold)
	}
	dry := slices.DeleteFunc(slices.Clone(d.Open), func(o envelope.Opened) bool {
		return d.ProvedByReading(k.At(o.Node).ID)
	})
	if names := namesOf(dry, func(o envelope.Opened) string { return k.At(o.Node).Label() }); len(names) > 0 {
		say("See run or blow dry, and then stay dry, and record each as seen: %s.", isolation.AndList(names))
	}
	k.sayUnsectioned(plan, say)
	for _, s := range d.ShutIn {
		say("%s Record how it was seen to be without pressure.", s.Words)
	}
	for _, r := range plan.WorkRows() {
		say("%s: see to each measure of the permit and answer it with yes.", r.Title)
	}
	if plan.Air != nil {
		say("Test the air with the ventilation stopped (%s), by %s: %s.", isolation.AndList(plan.Air.Levels),
			plan.Air.RuleSet, isolation.AndList(namesOf(plan.Air.Limits, func(l atmosphere.Limit) string {
				return l.Name + " " + l.Words()
			})))
	}
	for _, u := range plan.Unproved {
		say("Not proved by this plan: %s", u.Words)
	}
	if plan.TryStart {
		say("Try to start; nothing may move. Then put the controls back to off.")
	}
}

// sayHolds puts to each section for how long it is watched: as long as the job asks for any part of the work in it.
func (k *task) sayHolds(sections []isolation.Section) {
	for i := range sections {
		s := &sections[i]
		for _, h := range k.job.Holds {
			if slices.Contains(s.Nodes, h.ID) && 60*h.Minutes > s.HoldS {
				s.HoldS, s.HoldWhy = 60*h.Minutes, h.Because
			}
		}
	}
}

// sayUnsectioned says how long the parts of the work are watched that no section of liquid holds.
func (k *task) sayUnsectioned(plan *isolation.Plan, say func(format string, a ...any)) {
	for _, h := range k.job.Holds {
		if !slices.ContainsFunc(plan.Sections, func(s isolation.Section) bool { return slices.Contains(s.Nodes, h.ID) }) {
			say("Watch %s for %.0f min after nothing comes any more (%s).", k.Plant.Node(h.ID).Label(), h.Minutes,
				strings.TrimSuffix(h.Because, "."))
		}
	}
}

func namesOf[T any](list []T, name func(T) string) []string {
	var out []string
	for _, t := range list {
		out = append(out, name(t))
	}
	return out
}
