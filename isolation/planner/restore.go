package planner

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/graph"
)

// sayRestore says how the plant comes back: the locks and tags in exactly the reverse order, and between them what the
// physics asks for. People are told before the first energy returns (29 CFR 1910.147(e)(2)(ii), read). The rest is
// common practice, no source: earths off and counted, joints looked at under the first pressure, lines filled and
// vented, flow before heat, a trial before the permit is closed.
func (k *task) sayRestore(plan *isolation.Plan) {
	plan.Restore = []isolation.Restoring{}
	of := 0 // step whose way back asks for what is said
	say := func(why, format string, a ...any) {
		plan.Restore = append(plan.Restore, isolation.Restoring{Do: fmt.Sprintf(format, a...), Why: why, For: of})
	}
	kind := func(k isolation.RestoreKind) { plan.Restore[len(plan.Restore)-1].Kind = k }
	name := k.job.ID
	if k.Machine != nil {
		name = k.Machine.Name
	}
	say("What is left inside is found by the start.",
		"Count people, tools and parts out. Close %s and put the guards back.",
		name)
	kind(isolation.RestoreCount)
	told, earthed := false, false
	filled := map[string]bool{}
	for i := len(plan.Steps) - 1; i >= 0; i-- {
		s := &plan.Steps[i]
		if s.Phase == isolation.PhaseIsolate && !earthed {
			earthed = true
			if k.sayEarthsOff(plan, say) {
				kind(isolation.RestoreEarths)
			}
		}
		if s.Phase == isolation.PhaseIsolate && !told {
			told = true
			say("From here on energy comes back.", "See everybody clear of %s. Tell them that pressure "+
				"and current come back.", name)
			kind(isolation.RestoreTell)
		}
		of = s.N
		filling := k.filling(plan, s, filled)
		for _, sec := range filling {
			if len(sec.Vents) > 0 {
				say("Air left in the line is pumped into the machine.", "Hold %s open while %s is opened a little. Shut it when "+
					"no more air comes.", sec.Vents[0], s.Point)
			}
		}
		plan.Restore = append(plan.Restore, isolation.Restoring{Step: s.N, Do: takeOff(s)})
		for _, v := range plan.Steps {
			if n := k.Plant.Node(v.Point); n.Kind == isolation.AutomaticValve && n.Supply == s.Point && v.Isolates() {
				say("It could not be moved before.", "See %s go back to where it stands in service.", v.Point)
			}
		}
		if k.blows(s) && !filled["gas"] {
			filled["gas"] = true
			say("A joint that leaks is found at the first pressure, before all of it comes.",
				"Open %s no more than a little at "+
					"first. Listen at every joint that was opened. None may blow.", s.Point)
		}
		for _, sec := range filling {
			say("A joint that weeps is found at the first pressure, before the machine runs.", "Look at every joint of %s that "+
				"was opened. None may weep.", sec.Name)
		}
		of = 0
	}
	if len(plan.Steps) > 0 {
		k.sayTrial(plan, name, say)
		kind(isolation.RestoreClose)
	}
}

// takeOff is the order to take a step's lock or tag off.
func takeOff(s *isolation.Step) string {
	what := "tag"
	if s.Lock {
		what = "lock"
	}
	if s.Clearance == s.Position {
		return fmt.Sprintf("Take the %s off %s. Leave it %s.", what, s.Point, s.Kind.Word(s.Clearance))
	}
	return fmt.Sprintf("Take the %s off %s. Bring it to %s.", what, s.Point, s.Kind.Word(s.Clearance))
}

// filling lists the emptied parts into which a step first lets back what they hold in service, and marks them.
func (k *task) filling(plan *isolation.Plan, s *isolation.Step, filled map[string]bool) []isolation.Section {
	if !s.Isolates() || s.Kind.IsElectrical() || s.Clearance == s.Position {
		return nil
	}
	source := k.Nearest(k.Number(s.Point), k.Numbers(s.Cuts))
	var out []isolation.Section
	for _, sec := range plan.Sections {
		if !filled[sec.ID] && slices.Contains(sec.Suspects, s.Point) && source >= 0 && k.At(source).Fluid == sec.Fluid {
			filled[sec.ID] = true
			out = append(out, sec)
		}
	}
	return out
}

// blows reports whether a step lets gas or steam back.
func (k *task) blows(s *isolation.Step) bool {
	source := k.Nearest(k.Number(s.Point), k.Numbers(s.Cuts))
	return s.Phase == isolation.PhaseIsolate && s.Clearance != s.Position && source >= 0 &&
		k.At(source).Energy.Nature() == isolation.Gas
}

// sayEarthsOff says, before anything is closed, that no earth is left on: those of the plan have come off by then. It
// reports whether there is anything to say.
func (k *task) sayEarthsOff(plan *isolation.Plan, say func(why, format string, a ...any)) bool {
	const why = "An earth left on is a short circuit at the first closing."
	earths := earthsOf(plan)
	others := slices.ContainsFunc(plan.Unproved,
		func(u isolation.Unproved) bool { return u.Kind == isolation.UnprovedEarth })
	switch {
	case earths > 0 && others:
		say(why, "Count the earths: %d of this plan, and every other that was put on. All are off.", earths)
	case earths > 0:
		say(why, "Count the earths: %s put on, and as many off.", isolation.Amount(earths, "was", "were"))
	case others:
		say(why, "Take off every earth and count them: as many as were put on.")
	}
	return earths > 0 || others
}

// sayTrial says how the machine is started and tried, with flow before heat.
func (k *task) sayTrial(plan *isolation.Plan, name string, say func(why, format string, a ...any)) {
	start := "Start"
	if k.Machine == nil || len(k.Machine.Controls) == 0 {
		start = "Take into service"
	}
	say("Only a run shows that the work was right.", "%s %s in the usual way. Look for leaks, sound, pressure and "+
		"temperature. Record the trial.", start, name)
	for _, s := range plan.Steps {
		if s.Phase != isolation.PhaseStop && s.Clearance == s.Position && k.heats(k.Number(s.Point), k.Numbers(s.Cuts)) {
			const why = "Liquid that stands still in a hot heater cracks, and its pressure rises."
			if s.Kind.IsElectrical() {
				say(why, "When liquid flows through the heater, switch on %s.", s.Point)
				continue
			}
			say(why, "When liquid flows through the heater, drain the steam line. Open %s slowly and warm it through.",
				s.Point)
		}
	}
	say("", "Report to the chief engineer, who closes the permit.")
}

// heats reports whether a point is there to keep from the work what heats: a valve by which its nearest source heats in
// service, and not what comes back through a condensate line; or a point on the cable of an electrical element that
// heats a vessel.
func (k *task) heats(i int32, cuts []int32) bool {
	if k.At(i).Kind.IsElectrical() {
		return len(cuts) > 0 && graph.WayTo(k.Out, []int32{i}, func(j int32) bool {
			return k.At(j).Kind == isolation.Consumer && slices.ContainsFunc(k.Plant.Nodes,
				func(n isolation.Node) bool { return n.HeatedBy == k.At(j).ID })
		}, func(j int32) bool {
			return j != i && !k.At(j).Kind.IsElectrical() && k.At(j).Kind != isolation.Junction
		}) != nil
	}
	s := k.Nearest(i, cuts)
	if k.At(i).Kind != isolation.Valve || s < 0 || !slices.Contains(hot, k.At(s).Energy) {
		return false
	}
	end := func(j int32) bool { // where the heat arrives, or another begins
		return k.InZone[j] || k.At(j).Kind == isolation.Source && j != s ||
			k.isKept(j)
	}
	return graph.Flood(k.feedsOf(k.At(s).Energy.Nature()), []int32{s}, end)[i]
}
