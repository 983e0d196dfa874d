package planner

import (
	"fmt"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/cut"
	"stillwatch/isolation/envelope"
	"stillwatch/isolation/graph"
)

// Some parts are not opened, and nothing may come to them all the same: what the job names, the drives of the machine
// that is worked on, what heats a liquid that the plan brings to stand, the drive of a pump that it leaves nowhere to
// pump to. One shut point keeps such a part off. It is not drained, and its stored energies are no gate. Where the
// rules ask for more than that of work at which nothing is opened, the part counts as opened.

// keepAtFirst notes what is kept off whatever the plan: what the job names, the drives of its machine that it does not
// call live, and those of pumps that are opened. (29 CFR 1910.147(c)(1), read: whatever could start or move is isolated
// from its energy.)
func (k *task) keepAtFirst() {
	k.still = k.keptFromTheStart()
	for _, i := range k.Numbers(k.job.KeptOff) {
		k.keep(i, func(*isolation.Node) bool { return true }, "The job keeps it off although nobody opens it.")
	}
	if k.Machine != nil {
		for _, i := range k.Numbers(k.Machine.Nodes) {
			if k.At(i).Kind == isolation.Consumer && k.live(i) == "" {
				k.keep(i, moves(k.At(i)), "It is a drive of "+k.Machine.Name+", and the job does not say why it may keep its "+
					"supply.")
			}
		}
	}
	for _, i := range k.Zone {
		if d := k.Number(k.At(i).Drive); d >= 0 {
			k.keep(d, moves(k.At(d)), "It drives "+k.At(i).Label()+", which is opened.")
		}
	}
}

// keptFromTheStart marks the drives that keepAtFirst keeps off, so that their pumps press on nothing that is judged
// while it still goes on.
func (k *task) keptFromTheStart() []bool {
	still := k.Marks(k.Numbers(k.job.KeptOff))
	if k.Machine != nil {
		for _, i := range k.Numbers(k.Machine.Nodes) {
			still[i] = still[i] || k.At(i).Kind == isolation.Consumer && k.live(i) == "" && k.isMoved(i)
		}
	}
	for _, i := range k.Zone {
		if d := k.Number(k.At(i).Drive); d >= 0 {
			still[d] = still[d] || k.isMoved(d)
		}
	}
	return still
}

// isMoved reports whether something can come to a drive that moves it.
func (k *task) isMoved(drive int32) bool {
	reach := graph.Flood(k.In, []int32{drive}, nil)
	return slices.ContainsFunc(k.allSources(), func(s int32) bool { return reach[s] && moves(k.At(drive))(k.At(s)) })
}

// moves is about the sources that move a drive: current, and what can turn it of the energy that the plant file says it
// uses, as a turbine's steam.
func moves(drive *isolation.Node) func(*isolation.Node) bool {
	return func(s *isolation.Node) bool {
		switch nature := s.Energy.Nature(); {
		case nature == isolation.Current:
			return true
		case drive.Energy == "" || nature == isolation.Liquid && s.Energy != "hydraulic":
			return false
		}
		return s.Energy.IsUnder(drive.Energy) || drive.Energy.IsUnder(s.Energy)
	}
}

// bringsHeat is about the sources that heat a node if they come to it: hot fluids, and that of a consumer current and
// what it burns.
func bringsHeat(to *isolation.Node) func(*isolation.Node) bool {
	return func(s *isolation.Node) bool {
		burns := to.Energy != "" && (s.Energy.IsUnder(to.Energy) || to.Energy.IsUnder(s.Energy))
		return slices.Contains(hot, s.Energy) || s.Energy == "exhaust-gas" ||
			to.Kind == isolation.Consumer && (s.Energy.Nature() == isolation.Current || burns)
	}
}

// hot are the energies that heat what they come to.
var hot = []isolation.Energy{"steam", "hot-water", "thermal-oil"}

// keep notes that nothing from the sources that count may come to a node. It does nothing for one that is opened or
// kept already, and opens it where the rules ask for more than one point.
func (k *task) keep(i int32, counts func(*isolation.Node) bool, why string) bool {
	if k.InZone[i] || k.isKept(i) {
		return false
	}
	h := envelope.Keep{Node: i, Why: why}
	reach := graph.Flood(k.In, []int32{i}, nil)
	for _, s := range k.allSources() {
		if reach[s] && counts(k.At(s)) {
			h.From = append(h.From, s)
		}
	}
	switch {
	case len(h.From) == 0:
		return false
	case k.onePoint(h):
		k.Keeps = append(k.Keeps, h)
	default:
		k.openKept(h)
	}
	k.forget()
	return true
}

// openKept takes what is kept off for opened.
func (k *task) openKept(h envelope.Keep) {
	n := k.At(h.Node)
	k.InZone[h.Node] = true
	k.Zone = append(k.Zone, h.Node)
	k.asOpened = append(k.asOpened, isolation.Kept{ID: n.ID, Name: n.Name, Sources: []isolation.NodeID{}, Why: h.Why,
		AsOpened: true})
}

// onePoint reports whether the rules ask for no more than one point against every source that may not come to what is
// kept off, as it presses there.
func (k *task) onePoint(h envelope.Keep) bool {
	return !slices.ContainsFunc(h.From, func(s int32) bool {
		_, rule, err := k.restRule(s, []int32{h.Node})
		return err != nil || rule.Demand != isolation.DemandSingle
	})
}

// restRule returns a source as it presses on what is kept off, through the pumps that may run and the widest pipe on
// its way, and the rule for work at which nothing is opened.
func (k *task) restRule(source int32, kept []int32) (*isolation.Node, isolation.DemandRule, error) {
	n := k.pressingOn(source, kept)
	rule, err := k.rules.Demand(n, isolation.Outside, k.boreTo(source, kept))
	return n, rule, err
}

// boreTo returns the bore in mm by which the rules judge a source at some nodes, see graph.Bores; 0 where no rule asks.
func (k *task) boreTo(source int32, nodes []int32) float64 {
	if !k.usesBore() {
		return 0
	}
	return graph.NewBores(k.Plant.Links, k.Ends, k.Marks(nodes)).From(source)
}

// isKept reports whether a node is kept off without being opened.
func (k *task) isKept(i int32) bool {
	return slices.ContainsFunc(k.Keeps, func(h envelope.Keep) bool { return h.Node == i })
}

// keepFurther notes what must be kept off because of what a plan shuts, and reports whether that is more than before: a
// liquid that is heated stands still, or a pump works against what is shut. Either flowed before. (That oil is not left
// standing in a heater that is heated, and that a pump is not run against shut valves: common practice, no source.)
func (k *task) keepFurther(shut []bool) bool {
	more := false
	for _, h := range slices.Clone(k.Keeps) { // what presses may be another since it was kept off
		if !k.onePoint(h) {
			k.Keeps = slices.DeleteFunc(k.Keeps, func(g envelope.Keep) bool { return g.Node == h.Node })
			k.openKept(h)
			k.forget()
			more = true
		}
	}
	fed := k.fedElectrically(shut)
	for i := range k.Plant.Nodes {
		v, n := int32(i), &k.Plant.Nodes[i]
		heater, drive := k.Number(n.HeatedBy), k.Number(n.Drive)
		if heater < 0 && drive < 0 {
			continue
		}
		if !k.InZone[i] && !k.comesToStand(v, func(j int32) bool {
			return k.normallyShut(j) || shut[j] || k.InZone[j] || j != v && k.idle(j, fed)
		}) {
			continue
		}
		if heater >= 0 && k.heatedInService(heater) && k.keep(heater, bringsHeat(k.At(heater)),
			"It heats "+n.Label()+", where the liquid stands still while this plan is on.") {
			more = true
		}
		if drive >= 0 && k.keep(drive, moves(k.At(drive)), "It drives "+n.Label()+
			", which would work against what this plan shuts.") {
			more = true
		}
	}
	return more
}

// heatedInService reports whether something that heats comes to a node in the normal line-up.
func (k *task) heatedInService(i int32) bool {
	return slices.ContainsFunc(k.allSources(), func(s int32) bool {
		n := k.At(s)
		return bringsHeat(k.At(i))(n) && graph.Flood(k.feedsOf(n.Energy.Nature()), []int32{s}, k.normallyShut)[i]
	})
}

// idle reports whether a node is a pump that has lost its drive: nothing is pumped through it, and little more runs.
func (k *task) idle(i int32, fed []bool) bool {
	d := k.Number(k.At(i).Drive)
	return d >= 0 && (k.InZone[d] || k.isKept(d) || !fed[d])
}

// keepsOf puts what is kept off to the solver.
func (k *task) keepsOf() []cut.Keep {
	var out []cut.Keep
	for _, h := range k.Keeps {
		out = append(out, cut.Keep{From: h.From, To: []int32{h.Node}})
	}
	return out
}

// keptSources lists the sources that come to what is kept off and not to the work, in file order.
func (k *task) keptSources() []int32 {
	var out []int32
	for _, s := range k.allSources() {
		if slices.ContainsFunc(k.Keeps, func(h envelope.Keep) bool { return slices.Contains(h.From, s) }) &&
			!slices.ContainsFunc(k.Sources, func(w envelope.Wanted) bool { return w.Node == s }) {
			out = append(out, s)
		}
	}
	return out
}

// sayKept lists what is kept off, and the sources that come to nothing else with the rule for work at which nothing is
// opened.
func (k *task) sayKept(plan *isolation.Plan) error {
	for _, h := range k.Keeps {
		n := k.At(h.Node)
		plan.Kept = append(plan.Kept, isolation.Kept{ID: n.ID, Name: n.Name, Sources: k.IDs(h.From), Why: h.Why})
	}
	plan.Kept = append(plan.Kept, k.asOpened...)
	for _, s := range k.keptSources() {
		n, rule, err := k.restRule(s, k.keptFrom(s))
		if err != nil {
			return err
		}
		plan.Sources = append(plan.Sources, isolation.SourceCut{ID: n.ID, Name: n.Name, Energy: n.Energy,
			GaugeBar: n.GaugeBar, Demand: rule.Demand, Because: rule.Because})
	}
	return nil
}

// keptWords says in a sentence what is kept off without being opened.
func keptWords(plan *isolation.Plan) string {
	if len(plan.Kept) == 0 {
		return ""
	}
	var names []string
	for _, h := range plan.Kept {
		name := h.Name
		if name == "" {
			name = string(h.ID)
		}
		names = append(names, name)
	}
	return fmt.Sprintf(" Also kept off, and not opened: %s.", strings.Join(names, ", "))
}
