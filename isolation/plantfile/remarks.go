package plantfile

import (
	"fmt"
	"slices"
	"strings"

	"stillwatch/isolation"
)

// remarks returns what is legal in the plant file but should be looked at by a person, one sentence each: what the file
// leaves to be assumed, and what keeps a plan from using or saying something. nil for a file with nothing to say.
func (l *loader) remarks() []string {
	var out []string
	say := func(ids []isolation.NodeID, one, many string) {
		switch {
		case len(ids) == 1:
			out = append(out, string(ids[0])+" "+one)
		case len(ids) > 1:
			out = append(out, fmt.Sprintf("%d %s: %s", len(ids), many, listIDs(ids)))
		}
	}
	say(l.assumed, "does not say whether a lock can be put on; taken as lockable",
		"points do not say whether a lock can be put on; taken as lockable")
	say(l.pick(tagOnlyUnmeasured), "takes no lock and has no further measure, so no plan can use it",
		"points take no lock and have no further measure, so no plan can use them")
	say(l.pick(automaticUnsupplied), "is an automatic valve that no plan can use: it must fail closed or stay, and name "+
		"the point that takes its supply away", "automatic valves cannot be used by a plan: each must fail closed or stay, "+
		"and name the point that takes its supply away")
	beside := l.neighbours()
	say(l.alone(beside), "is joined to nothing", "nodes are joined to nothing")
	say(l.deadEnds(beside), "is joined at one end only: look whether a pipe, a cable or what it leads to is missing",
		"points are joined at one end only, so look whether a pipe, a cable or what they lead to is missing")
	say(l.unreached(beside), "is a source that reaches the work of no job: look whether a pipe or cable is missing",
		"sources reach the work of no job, so look whether a pipe or cable is missing")
	say(
		l.pick(func(n *isolation.Node) bool { return n.Place.IsZero() && isVisited(n) }),
		"has no place, so nobody is led to it",
		"points have no place, so nobody is led to them",
	)
	say(l.sideless, "has a place without its side", "places lack their side")
	say(l.oil, "gives its energy only as oil; taken as fuel", "sources give their energy only as oil; taken as fuel")
	say(l.pick(stateless), "does not state what the rules ask for (pressure, or volts), so a plan says that it does "+
		"not know whether a rule about more than so much applies", "sources do not state what the rules ask for (pressure, "+
		"or volts), so plans say that they do not know whether rules about more than so much apply")
	say(l.pick(func(n *isolation.Node) bool {
		return n.Kind == isolation.Source && n.Energy.Nature() == isolation.Liquid && !n.HasTemp
	}),
		"does not state its temperature, so a plan says that it does not know whether a rule about hot contents applies",
		"liquids do not state their temperature, so plans say that they do not know whether rules about hot contents apply")
	say(l.pick(func(n *isolation.Node) bool { return n.HeatedBy != "" && !n.HasTemp }),
		"is a heater that does not state how warm it makes what passes (temp_c); taken as warm as the steam, water or oil "+
			"that heats it, and as not known where current does",
		"heaters do not state how warm they make what passes (temp_c); taken as warm as the steam, water or oil that heats "+
			"them, and as not known where current does")
	say(l.pick(l.isHeightless), "does not state how high it stands (elevation_m), so what its height adds lower down is "+
		"not counted", "sources of liquid do not state how high they stand (elevation_m), so what their height adds lower "+
		"down is not counted")
	say(l.pick(func(n *isolation.Node) bool { return n.Kind == isolation.Opening && n.BoreMM == 0 }),
		"is an opening without a bore, so no time can be given for it",
		"openings have no bore, so no time can be given for them")
	say(l.pick(func(n *isolation.Node) bool { return n.Kind == isolation.Opening && !n.HasElevation }),
		"is an opening without the level of its mouth (elevation_m)", "openings lack the level of their mouth (elevation_m)")
	out = append(out, l.linkNotes()...)
	return append(out, l.likenessNotes()...)
}

func tagOnlyUnmeasured(n *isolation.Node) bool {
	return n.Kind.IsPoint() && !n.Lockable && n.Measure == ""
}

func automaticUnsupplied(n *isolation.Node) bool {
	return n.Kind == isolation.AutomaticValve && ((n.Fails != "closed" && n.Fails != "stays") || n.Supply == "")
}

func isVisited(n *isolation.Node) bool { return n.Kind.IsPoint() || n.Kind == isolation.Opening }

// stateless is a source about which a rule with a threshold can say nothing, because its figure was left out.
func stateless(n *isolation.Node) bool {
	return n.Kind == isolation.Source && ((n.Energy.Flows() && n.GaugeBar == 0 && !n.HasGauge) ||
		(n.Energy.Nature() == isolation.Current && n.Volt == 0))
}

// isHeightless reports whether nothing in the file tells how high a source of liquid stands.
func (l *loader) isHeightless(n *isolation.Node) bool {
	return n.Kind == isolation.Source && n.Energy.Nature() == isolation.Liquid && !n.HasElevation &&
		!slices.ContainsFunc(l.plant.Links, func(k isolation.Link) bool { return k.HasLevel && (k.A == n.ID || k.B == n.ID) })
}

// pick returns the ids of the nodes of which something is true, in file order.
func (l *loader) pick(is func(*isolation.Node) bool) []isolation.NodeID {
	var out []isolation.NodeID
	for i := range l.plant.Nodes {
		if is(&l.plant.Nodes[i]) {
			out = append(out, l.plant.Nodes[i].ID)
		}
	}
	return out
}

// alone returns the nodes that no link touches. A control switch may stand by itself.
func (l *loader) alone(beside neighbours) []isolation.NodeID {
	controls := map[isolation.NodeID]bool{}
	for _, m := range l.plant.Machines {
		for _, c := range m.Controls {
			controls[c] = true
		}
	}
	return l.pick(func(n *isolation.Node) bool { return len(beside[n.ID]) == 0 && !controls[n.ID] })
}

// deadEnds returns the points in a pipe or cable of which one end is joined to nothing.
func (l *loader) deadEnds(beside neighbours) []isolation.NodeID {
	return l.pick(func(n *isolation.Node) bool {
		if !n.Kind.IsPoint() && n.Kind != isolation.AutomaticValve || n.Kind == isolation.Earth || len(beside[n.ID]) == 0 {
			return false
		}
		first := beside[n.ID][0]
		return !slices.ContainsFunc(beside[n.ID], func(other isolation.NodeID) bool { return other != first })
	})
}

// unreached returns the sources that no pipe or cable joins to anything that a job opens or keeps off. Where no job
// opens anything nothing is said.
func (l *loader) unreached(beside neighbours) []isolation.NodeID {
	seen := map[isolation.NodeID]bool{}
	var next []isolation.NodeID
	for _, j := range l.plant.Jobs {
		next = append(append(next, j.Opens...), j.KeptOff...)
	}
	if len(next) == 0 {
		return nil
	}
	for len(next) > 0 {
		at := next[len(next)-1]
		next = next[:len(next)-1]
		if !seen[at] {
			seen[at] = true
			next = append(next, beside[at]...)
		}
	}
	return l.pick(func(n *isolation.Node) bool { return n.Kind == isolation.Source && !seen[n.ID] })
}

// neighbours are the nodes at the other ends of the links of each, once a link: two pipes may lead to the same one.
type neighbours map[isolation.NodeID][]isolation.NodeID

// neighbours reads them off the links, in one pass.
func (l *loader) neighbours() neighbours {
	out := neighbours{}
	for _, k := range l.plant.Links {
		out[k.A], out[k.B] = append(out[k.A], k.B), append(out[k.B], k.A)
	}
	return out
}

// linkNotes says of which pipes nothing can be said when they are drained, and what looks like a slip.
func (l *loader) linkNotes() []string {
	var bare, mixed, twice []isolation.NodeID
	seen := map[[2]isolation.NodeID]bool{}
	for _, k := range l.plant.Links {
		a, b := l.plant.Node(k.A), l.plant.Node(k.B)
		name := k.A + " to " + k.B
		cable := isElectricalEnd(a) || isElectricalEnd(b)
		if !cable && !(k.BoreMM > 0 && k.LengthM > 0 && k.HasLevel) {
			bare = append(bare, name)
		}
		if (isElectricalEnd(a) && isPipeEnd(b)) || (isElectricalEnd(b) && isPipeEnd(a)) {
			mixed = append(mixed, name)
		}
		pair := [2]isolation.NodeID{min(k.A, k.B), max(k.A, k.B)}
		if seen[pair] {
			twice = append(twice, name)
		}
		seen[pair] = true
	}
	var out []string
	for _, s := range []struct {
		ids  []isolation.NodeID
		what string
	}{
		{bare, "without bore, length or inverts, so nothing can be said of their draining"},
		{mixed, "that join something electrical to something that only a pipe can end at"},
		{twice, "between nodes that another one joins already"},
	} {
		if len(s.ids) > 0 {
			out = append(out, fmt.Sprintf("links %s (%d): %s", s.what, len(s.ids), listIDs(s.ids)))
		}
	}
	return out
}

func isElectricalEnd(n *isolation.Node) bool {
	return n.Kind.IsElectrical() || (n.Kind == isolation.Source && n.Energy.Nature() == isolation.Current)
}

func isPipeEnd(n *isolation.Node) bool {
	switch n.Kind {
	case isolation.Valve, isolation.Blank, isolation.Spool, isolation.Plug, isolation.CheckValve, isolation.Opening:
		return true
	}
	return n.Kind == isolation.Source && n.Energy.Flows()
}

// likenessNotes names ids that a tired person takes for one another, nodes that two machines claim, and machines
// without a standby that name nothing.
func (l *loader) likenessNotes() []string {
	var out []string
	first := map[string]isolation.NodeID{}
	for i := range l.plant.Nodes {
		id := l.plant.Nodes[i].ID
		low := strings.ToLower(string(id))
		if other, is := first[low]; is {
			out = append(out, fmt.Sprintf("%s and %s differ only in capitals", other, id))
		}
		first[low] = id
	}
	owner := map[isolation.NodeID]string{}
	for _, m := range l.plant.Machines {
		if len(m.Nodes) == 0 {
			out = append(out, "machine "+m.ID+" names no nodes")
		}
		for _, id := range m.Nodes {
			if other, is := owner[id]; is {
				out = append(out, fmt.Sprintf("%s belongs to two machines, %s and %s", id, other, m.ID))
			}
			owner[id] = m.ID
		}
	}
	return out
}
