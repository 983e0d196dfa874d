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
	closeUp := fmt.Sprintf("Count people, tools and parts out. Close %s and put the guards back.", name)
	if earthsOf(plan) > 0 {
		closeUp = fmt.Sprintf("Count people, tools and parts out. Close %s and put the guards back, but for where an earth "+
			"still hangs.", name)
	}
	say("What is left inside is found by the start.", "%s", closeUp)
	kind(isolation.RestoreCount)
	told, earthed := false, false
	back := k.newComeback(plan)
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
		sections, blows := back.opens(s)
		plan.Restore = append(plan.Restore, isolation.Restoring{Step: s.N, Do: k.takeOff(s, sections, blows)})
		for _, v := range plan.Steps {
			if n := k.Plant.Node(v.Point); n.Kind == isolation.AutomaticValve && n.Supply == s.Point && v.Isolates() {
				say("It could not be moved before.", "See %s go back to where it stands in service.", v.Point)
			}
		}
		if blows {
			say("A joint that leaks is found at the first pressure, before all of it comes.",
				"At the first pressure from %s listen at every joint that was opened. None may blow.", s.Point)
		}
		for _, c := range sections {
			if !c.rises {
				say("A pump that runs dry is spoilt at once.", "Nothing rises to %s by itself. Fill it there by hand, or from a "+
					"tank above, until no more air comes. Shut %s.", c.vent(), c.vent())
			}
			say("A joint that weeps is found at the first pressure, before the machine runs.", "Look at every joint of %s that "+
				"was opened. None may weep.", c.Name)
			for _, d := range back.tubeDrains(c) {
				say("A tube that leaks is found here, before steam and oil meet.", "Now that %s is full, open %s again, a can "+
					"under it. No %s may come. Shut it.", c.Name, d, c.Fluid)
			}
		}
		of = 0
	}
	if len(plan.Steps) > 0 {
		k.sayFilling(plan, back, say)
		k.sayTrial(plan, name, say)
		kind(isolation.RestoreClose)
	}
}

// comeback follows what comes back where while the locks come off: the points that are still shut, and the parts that
// have been filled.
type comeback struct {
	*task
	plan   *isolation.Plan
	held   []bool
	filled map[string]bool
	blown  bool
}

// refill is a section into which a liquid comes back.
type refill struct {
	isolation.Section
	rises bool // by itself, up to its vent
}

// vent names where air leaves it.
func (r refill) vent() isolation.NodeID {
	if len(r.Vents) == 0 {
		return isolation.NodeID(r.Name)
	}
	return r.Vents[0]
}

func (k *task) newComeback(plan *isolation.Plan) *comeback {
	c := &comeback{task: k, plan: plan, held: make([]bool, len(k.Plant.Nodes)), filled: map[string]bool{}}
	for _, s := range plan.Steps {
		c.held[k.Number(s.Point)] = s.Isolates()
	}
	return c
}

// opens takes a step's lock off, and returns the sections that are filled by that for the first time, and whether gas
// or steam comes to an opened part for the first time. What stands shut in service, or is left shut, lets nothing
// through.
func (c *comeback) opens(s *isolation.Step) (sections []refill, blows bool) {
	at := c.Number(s.Point)
	if !s.Isolates() || s.Kind.IsElectrical() || s.Clearance == s.Position {
		return nil, false
	}
	c.held[at] = false
	shut := func(i int32) bool { return c.held[i] || i != at && c.normallyShut(i) }
	from, to := graph.Flood(c.In, []int32{at}, shut), graph.Flood(c.Out, []int32{at}, shut)
	var liquids []int32
	gas := false
	for _, i := range c.allSources() {
		switch n := c.At(i); {
		case !from[i]:
		case n.Energy.Nature() == isolation.Liquid:
			liquids = append(liquids, i)
		case n.Energy.Nature() == isolation.Gas:
			gas = true
		}
	}
	for _, sec := range c.plan.Sections {
		into := slices.ContainsFunc(sec.Nodes, func(id isolation.NodeID) bool { return to[c.Number(id)] })
		fills := slices.DeleteFunc(slices.Clone(liquids), func(i int32) bool { return !c.mayFill(i, sec) })
		if !into || len(fills) == 0 || c.filled[sec.ID] {
			continue
		}
		if rises := c.rises(sec, fills); rises || !c.risesLater(sec) {
			c.filled[sec.ID] = true
			sections = append(sections, refill{sec, rises})
		}
	}
	if gas && !c.blown && slices.ContainsFunc(c.Zone, func(z int32) bool { return to[z] }) {
		c.blown, blows = true, true
	}
	return sections, blows
}

// tubeDrains lists the drains on the other side of what is heated in a section that was opened there or beside it:
// those that the plan opens, and to which nothing can come yet.
func (c *comeback) tubeDrains(sec refill) []isolation.NodeID {
	var out []isolation.NodeID
	held := func(i int32) bool { return c.held[i] }
	live := graph.Flood(c.Out, c.allSources(), held)
	for _, id := range sec.Nodes {
		i := c.Number(id)
		by := c.Number(c.At(i).HeatedBy)
		if by < 0 || c.At(by).Kind != isolation.Vessel || !c.InZone[i] && !c.InZone[by] {
			continue
		}
		reach := graph.Flood(c.Runs, []int32{by}, held)
		for _, s := range c.plan.Steps {
			d := c.Number(s.Point)
			if c.At(d).Kind == isolation.Opening && c.At(d).Role == "drain" && reach[d] && !live[d] {
				out = append(out, s.Point)
			}
		}
	}
	return out
}

// rises reports whether one of some sources stands or presses high enough to fill a section up to its vent; true where
// the plant file does not say enough to tell.
func (c *comeback) rises(sec isolation.Section, sources []int32) bool {
	if len(sec.Vents) == 0 || !c.Plant.Node(sec.Vents[0]).HasElevation {
		return true
	}
	return slices.ContainsFunc(sources, func(i int32) bool {
		n := c.At(i)
		return !n.HasElevation ||
			n.ElevationM+max(0, n.GaugeBar)/c.BarPerMetre(i) >= c.Plant.Node(sec.Vents[0]).ElevationM
	})
}

// risesLater reports whether a liquid fills a section up to its vent when further locks are off.
func (c *comeback) risesLater(sec isolation.Section) bool {
	from := graph.Flood(c.In, c.Numbers(sec.Nodes), func(i int32) bool {
		return c.normallyShut(i) || slices.ContainsFunc(c.plan.Steps, func(s isolation.Step) bool {
			return c.held[i] && s.Point == c.At(i).ID && s.Clearance == s.Position
		})
	})
	return c.rises(sec, slices.DeleteFunc(c.allSources(), func(i int32) bool {
		return !from[i] || c.At(i).Energy.Nature() != isolation.Liquid || !c.mayFill(i, sec)
	}))
}

// mayFill reports whether a source holds what a section does; one whose fluid nobody names may.
func (c *comeback) mayFill(source int32, sec isolation.Section) bool {
	return c.At(source).Fluid == "" || c.At(source).Fluid == sec.Fluid
}

// sayFilling says what is filled, and how, before the start, because the points that would fill it stay shut until
// then.
func (k *task) sayFilling(plan *isolation.Plan, back *comeback, say func(why, format string, a ...any)) {
	if starting := k.startsShut(plan); len(starting) > 0 {
		say("Before that the machine would be flooded at rest.", "%s are opened in the starting routine, and not before: "+
			"each a little first, with an eye on every joint that was opened behind it.", isolation.AndList(starting))
	}
	for _, sec := range plan.Sections {
		var points []string
		for _, s := range plan.Steps {
			if s.Isolates() && s.Clearance == s.Position && slices.Contains(sec.Suspects, s.Point) &&
				!slices.Contains(k.startsShut(plan), string(s.Point)) && !k.heats(k.Number(s.Point), k.Numbers(s.Cuts)) {
				points = append(points, string(s.Point))
			}
		}
		if back.filled[sec.ID] || len(points) == 0 || len(sec.Vents) == 0 {
			continue
		}
		say("A pump that runs dry, or against a shut valve, is spoilt at once.", "Before the start line it up: of %s open "+
			"what belongs open. Fill %s until no more air comes at %s. Look at every joint that was opened.",
			isolation.AndList(points), sec.Name, sec.Vents[0])
	}
}

// startsShut lists the points of a plan that the machine's starting routine opens, and nobody before.
func (k *task) startsShut(plan *isolation.Plan) []string {
	var out []string
	for _, s := range plan.Steps {
		if s.Isolates() && k.Machine != nil && slices.Contains(k.Machine.StartsShut, s.Point) {
			out = append(out, string(s.Point))
		}
	}
	return out
}

// takeOff is the order to take a step's lock or tag off, with how its point is opened where something comes back.
func (k *task) takeOff(s *isolation.Step, sections []refill, blows bool) string {
	what := "tag"
	if s.Lock {
		what = "lock"
	}
	do := fmt.Sprintf("Take the %s off %s. ", what, s.Point)
	if s.Clearance == s.Position {
		return do + fmt.Sprintf("Leave it %s.", s.Kind.Word(s.Clearance))
	}
	for _, c := range sections {
		if len(c.Vents) == 0 || !c.rises {
			continue
		}
		hot := ""
		if c.TempC >= handsHotC {
			hot = ": hot liquid follows the air"
		}
		do += fmt.Sprintf("Open %s again, a can under it%s. Open %s a little. Shut %s when no more air comes. ", c.vent(),
			hot, s.Point, c.vent())
	}
	if blows {
		do += "Open it a little first. "
	}
	return do + fmt.Sprintf("Bring it to %s.", s.Kind.Word(s.Clearance))
}

// handsHotC is from where on what comes out of a vent is called hot: it scalds. Common practice, no source.
const handsHotC = 50

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
		say(why, "Count the earths: %s put on, and as many off. Close where they hung.", isolation.Amount(earths, "was",
			"were"))
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
	look := "sound, current and temperature"
	if slices.ContainsFunc(plan.Sources, func(s isolation.SourceCut) bool { return s.Energy.Flows() }) {
		look = "leaks, sound, pressure and temperature"
	}
	say("Only a run shows that the work was right.", "%s %s in the usual way. Look for %s. Record the trial.", start, name,
		look)
	for _, s := range plan.Steps {
		if s.Phase != isolation.PhaseStop && s.Clearance == s.Position && k.takesHeatOff(&s) {
			const why = "Liquid that stands still in a hot heater cracks, and its pressure rises."
			if s.Kind.IsElectrical() {
				say(why, "When liquid flows through the heater, switch on %s.", s.Point)
				continue
			}
			joints := ""
			if slices.ContainsFunc(k.Numbers(plan.Opens), func(z int32) bool {
				return graph.WayTo(k.Out, []int32{k.Number(s.Point)}, func(j int32) bool { return j == z }, nil) != nil &&
					k.isHeater(z)
			}) {
				joints = " Listen at every joint of it that was opened. None may blow."
			}
			if !k.heatsLiquid(k.Number(s.Point)) {
				say("A cold line that is filled at once is struck by its own water.", "If a liquid is heated there, let it flow "+
					"first. Drain the line. Open %s slowly and warm it through.%s", s.Point, joints)
				continue
			}
			say(why, "When liquid flows through the heater, drain the steam line. Open %s slowly and warm it through.%s",
				s.Point, joints)
		}
	}
	say("", "Report to the chief engineer, who closes the permit.")
}

// takesHeatOff reports whether a step takes the heat off a heater: its point heats, and stands open in service.
func (k *task) takesHeatOff(s *isolation.Step) bool {
	i := k.Number(s.Point)
	return !k.normallyShut(i) && k.heats(i, k.Numbers(s.Cuts))
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
	comes := graph.Flood(k.feedsOf(k.At(s).Energy.Nature()), []int32{s}, end)
	return comes[i] && !k.anyOf(comes, s, func(n *isolation.Node) bool { // a pump of the ring is heated by none
		return k.InZone[k.Number(n.ID)] && k.isPump(k.Number(n.ID))
	})
}

// heatsLiquid reports whether the plant file tells that a point which heats does so to a liquid: through a cable, or by
// way of a heater. Else it may be a steam line that leads to anything.
func (k *task) heatsLiquid(i int32) bool {
	return k.At(i).Kind.IsElectrical() || k.anyOf(graph.Flood(k.Out, []int32{i}, func(j int32) bool {
		return k.InZone[j] || k.isKept(j) || k.At(j).Kind == isolation.Source
	}), -1, func(n *isolation.Node) bool {
		j := k.Number(n.ID)
		return (k.InZone[j] || k.isKept(j)) && k.isHeater(j)
	})
}

// isHeater reports whether a node is the other side of some heater.
func (k *task) isHeater(i int32) bool {
	return slices.ContainsFunc(k.Plant.Nodes, func(n isolation.Node) bool { return n.HeatedBy == k.At(i).ID })
}
