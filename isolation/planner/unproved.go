package planner

import (
	"fmt"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/envelope"
	"stillwatch/isolation/graph"
)

// sayUnproved lists what the plan does not prove: that nothing comes to the work where the plant file names no source
// at all, that the drives of the machine stand still which it leaves supplied, and that a part of the work is empty
// which nothing drains or vents and of which no section says so.
func (k *task) sayUnproved(plan *isolation.Plan, shut []bool, d envelope.DrawOff) {
	say := func(kind string, i int32, format string, a ...any) {
		u := isolation.Unproved{Kind: kind, Words: fmt.Sprintf(format, a...)}
		if i >= 0 {
			u.Node = k.At(i).ID
		}
		plan.Unproved = append(plan.Unproved, u)
	}
	if len(k.Sources)+len(k.Keeps) == 0 {
		say(isolation.UnprovedSource, -1, "The plant file lets nothing come to what is opened, so this plan proves "+
			"nothing. Find "+
			"out what feeds it before anything is opened.")
	}
	if k.Machine != nil {
		fed := k.fedElectrically(shut)
		for _, i := range k.Numbers(k.Machine.Nodes) {
			n := k.At(i)
			if n.Kind != isolation.Consumer || k.InZone[i] || k.live(i) == "" {
				continue
			}
			if e := k.movedBy(i, shut); fed[i] {
				say(isolation.UnprovedDrive, i, "%s keeps its electrical supply. %s.", n.Label(), k.live(i))
			} else if e != "" {
				say(isolation.UnprovedDrive, i, "%s keeps its supply of %s. %s.", n.Label(), e, k.live(i))
			}
		}
	}
	if k.job.LiveBecause != "" {
		say(isolation.UnprovedLive, -1, "Conductors stay live at the work: %s. Only what cannot be done dead is done live.",
			strings.TrimSuffix(k.job.LiveBecause, "."))
	}
	for _, w := range k.Sources {
		n := k.At(w.Node)
		rule, err := k.rules.DemandOfAll(k.pressing(w.Node), k.job.Exposures(), w.Bore)
		if less := k.job.Deviating(n.ID, rule.Demand); err == nil && less != nil {
			say(isolation.UnprovedLess, w.Node, "The rules ask for %s against %s, and this plan has less: %s. %s. "+
				"Done instead: %s.", isolation.DemandWords(rule.Demand), n.Label(), isolation.DemandWords(less.Demand),
				strings.TrimSuffix(less.Because, "."), strings.Join(less.Measures, "; "))
		}
	}
	k.sayFigures(say)
	k.sayHeat(plan, say)
	k.sayEnds(shut, say)
	for _, i := range k.Zone {
		if k.isWet(i) && !k.RunsOut(i, shut, d) && !slices.ContainsFunc(plan.Sections, func(s isolation.Section) bool {
			return !s.Provable && slices.Contains(s.Nodes, k.At(i).ID)
		}) {
			say(isolation.UnprovedWayOut, i, "Nothing drains or vents %s. It is opened with care, as if it were full and under "+
				"pressure.", k.At(i).Label())
		}
	}
}

// sayEnds says of each point that is joined to the work at one end, and at the other to nothing in the plant file, that
// nobody knows what stands behind it: it is no end because nobody drew on.
func (k *task) sayEnds(shut []bool, say func(kind string, i int32, format string, a ...any)) {
	reach := graph.Flood(k.In, k.Zone, func(i int32) bool { return shut[i] })
	for i := range k.Plant.Nodes {
		n := k.At(int32(i))
		if reach[i] && n.Kind.IsPoint() && n.Kind != isolation.Earth && k.neighbours(int32(i)) == 1 {
			say(isolation.UnprovedEnd, int32(i), "%s is joined at one end only in the plant file, so nobody knows what stands "+
				"behind it. Find out, and shut it before anything is opened.", n.Label())
		}
	}
}

// neighbours counts the nodes that a node is joined to: 0, 1, or 2 for more.
func (k *task) neighbours(i int32) int {
	count, first := 0, int32(-1)
	for _, list := range [][]int32{k.Out[i], k.In[i]} {
		for _, j := range list {
			if count == 0 {
				count, first = 1, j
			} else if j != first {
				return 2
			}
		}
	}
	return count
}

// movedBy returns in words what, other than current, still comes to a drive that uses it; "" of nothing.
func (k *task) movedBy(drive int32, shut []bool) string {
	reach := graph.Flood(k.In, []int32{drive}, func(i int32) bool { return shut[i] })
	for _, s := range k.allSources() {
		if n := k.At(s); reach[s] && n.Energy.Nature() != isolation.Current && moves(k.At(drive))(n) {
			return strings.ReplaceAll(string(n.Energy), "-", " ")
		}
	}
	return ""
}

// fedElectrically marks what an electrical source comes to by cable with these points shut, whatever their normal
// position.
func (k *task) fedElectrically(shut []bool) []bool {
	var sources []int32
	for _, i := range k.allSources() {
		if k.At(i).Energy.Nature() == isolation.Current {
			sources = append(sources, i)
		}
	}
	return graph.Flood(k.Out, sources, func(i int32) bool { return shut[i] || !k.carriesCurrent(i) })
}

// carriesCurrent reports whether current goes on from a node to the next.
func (k *task) carriesCurrent(i int32) bool {
	n := k.At(i)
	return n.Kind.IsElectrical() || n.Kind == isolation.Junction || n.Kind == isolation.Consumer ||
		n.Kind == isolation.Source && n.Energy.Nature() == isolation.Current
}

// isWet reports whether a part of the work can hold what flows: a vessel, or the end of a pipe of known bore, to which
// a source of it can come.
func (k *task) isWet(i int32) bool {
	pipe := k.At(i).Kind == isolation.Vessel || slices.ContainsFunc(k.Plant.Links, func(l isolation.Link) bool {
		return l.BoreMM > 0 && (l.A == k.At(i).ID || l.B == k.At(i).ID)
	})
	return pipe && graph.WayTo(k.In, []int32{i}, func(j int32) bool {
		return k.At(j).Kind == isolation.Source && k.At(j).Energy.Flows()
	}, nil) != nil
}
