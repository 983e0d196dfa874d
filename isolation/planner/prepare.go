package isolation

import (
	"fmt"
	"slices"
	"strings"
)

// sayPrepare says what is done before the first point is touched: warn, change over, stop, in this order (29 CFR
// 1910.147(d)(1)-(2): know the energy, then an orderly shutdown).
func (k *task) sayPrepare(plan *Plan) {
	say := func(format string, a ...any) { plan.Prepare = append(plan.Prepare, fmt.Sprintf(format, a...)) }
	if plan.StandbyCut != "" {
		say("%s", plan.StandbyCut)
		plan.Hazards = append([]string{plan.StandbyCut}, plan.Hazards...)
	}
	name := k.job.ID
	if k.machine != nil {
		name = k.machine.Name
	}
	say("Warn everybody who uses %s or works near it, and say how long it will be off.", name)
	for _, l := range k.lostByMachine(plan) {
		say("%s", l)
	}
	for _, c := range Conflicts(*plan, k.facts.Held) {
		kind := k.plant.Node(c.Point).Kind
		if c.Shared {
			say("Permit %s also holds %s %s: both hang their locks, and it goes back when the last comes off.", c.Permit,
				c.Point, kind.Word(c.Held))
		} else {
			say("Permit %s holds %s %s, and this plan needs it %s: one of the two must give way before this plan can be "+
				"authorised.", c.Permit, c.Point, kind.Word(c.Held), kind.Word(c.Wanted))
		}
	}
	if k.machine == nil {
		return
	}
	if s := k.plant.Machine(k.machine.Standby); s != nil && plan.StandbyCut == "" {
		plan.Standby = s.ID
		say("Put %s into service and see it carry the load, before anything is done to %s.", s.Name, k.machine.Name)
	}
	if len(k.machine.Controls) > 0 {
		say("Stop %s in its usual way and see it stop.", k.machine.Name)
	} else {
		say("Take %s out of service in its usual way.", k.machine.Name)
	}
}

// lostByMachine says what else will be without its supply.
func (k *task) lostByMachine(plan *Plan) []string {
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
func (k *task) sayProofs(plan *Plan, d drawOff) {
	say := func(format string, a ...any) { plan.Proofs = append(plan.Proofs, fmt.Sprintf(format, a...)) }
	if dead := namesOf(plan.DeadTests, func(t DeadTest) string { return t.Name }); len(dead) > 0 {
		say("Prove dead on all poles: %s. The detector is proved on a live part before and after.", andList(dead))
	}
	for _, s := range plan.Stored {
		if s.Stored.Kind != KindDry && s.Stored.Kind != KindShut { // said together below
			say("%s", s.Words)
		}
	}
	for _, s := range plan.Sections {
		if !s.Provable {
			say("Drain %s as far as it goes; that proves nothing here: %s. The chief engineer decides whether that will do.",
				s.Name, s.Why)
			continue
		}
		say("Drain %s: %s should come out, give or take %s. Record it; then hold, and record what still comes.", s.Name,
			Litres(s.OutL), Litres(s.SpreadL))
	}
	dry := slices.DeleteFunc(slices.Clone(d.open), func(o opened) bool { return k.inSection(plan, k.at(o.node).ID) })
	if names := namesOf(dry, func(o opened) string { return k.at(o.node).Label() }); len(names) > 0 {
		say("See run or blow dry, and then stay dry, and record each as seen: %s.", andList(names))
	}
	for _, s := range d.shutIn {
		say("%s Record how it was seen to be without pressure.", s.words)
	}
	if len(plan.DeadTests) > 0 || len(plan.Steps) > 0 && plan.Steps[0].Phase == PhaseStop {
		say("Try to start; nothing may move. Then put the controls back to off. A start attempt proves nothing where the " +
			"controls hold themselves in.")
	}
}

func namesOf[T any](list []T, name func(T) string) []string {
	var out []string
	for _, t := range list {
		out = append(out, name(t))
	}
	return out
}

func (k *task) inSection(plan *Plan, id NodeID) bool {
	for _, s := range plan.Sections {
		for _, list := range [][]NodeID{s.Drains, s.Vents} {
			for _, o := range list {
				if o == id {
					return true
				}
			}
		}
	}
	return false
}
