package planner

import (
	"fmt"
	"slices"
	"strings"

	"stillwatch/isolation"
)

// The machine that is to run instead of the one worked on must have what it lives on. What it needs counts in the
// line-up in which it runs: with its own valves, breakers and switches as if they were open for it, because somebody
// will line it up first. A plan that shuts one of them all the same takes the supply away.

// touched reports whether a machine is worked on: it is the job's, or a part of it is opened.
func (k *task) touched(m *isolation.Machine) bool {
	return m == k.Machine || slices.ContainsFunc(k.Numbers(m.Nodes), func(i int32) bool { return k.InZone[i] })
}

// standIn is a machine that takes over while another is worked on.
type standIn struct{ machine, instead *isolation.Machine }

// standIns lists the standbys of all machines that are worked on, that of the job's machine first, without those that
// are worked on themselves.
func (k *task) standIns() []standIn {
	if k.stand != nil {
		return k.stand
	}
	k.stand = []standIn{}
	add := func(m *isolation.Machine) {
		s := k.Plant.Machine(m.Standby)
		if s != nil && !k.touched(s) && !slices.ContainsFunc(k.stand, func(o standIn) bool { return o.machine == s }) {
			k.stand = append(k.stand, standIn{s, m})
		}
	}
	if k.Machine != nil {
		add(k.Machine)
	}
	for i := range k.Plant.Machines {
		if m := &k.Plant.Machines[i]; k.touched(m) {
			add(m)
		}
	}
	return k.stand
}

// linedUp marks what lets nothing through once the standbys are lined up: as in the normal line-up, but for points and
// automatic valves that belong to a standby or are joined to one, and to no other machine.
func (k *task) linedUp() []bool {
	if k.lined != nil {
		return k.lined
	}
	k.lined = make([]bool, len(k.Plant.Nodes))
	for i := range k.lined {
		k.lined[i] = k.normallyShut(int32(i))
	}
	own, other := make([]bool, len(k.lined)), make([]bool, len(k.lined))
	for i := range k.Plant.Machines {
		m := &k.Plant.Machines[i]
		mine := slices.ContainsFunc(k.standIns(), func(s standIn) bool { return s.machine == m })
		for _, n := range k.Numbers(m.Nodes) {
			own[n], other[n] = own[n] || mine, other[n] || !mine
		}
	}
	for i := range k.lined {
		if kind := k.At(int32(i)).Kind; k.lined[i] && (kind.IsPoint() || kind == isolation.AutomaticValve) && !k.InZone[i] {
			next := append([]int32{int32(i)}, append(slices.Clone(k.Out[i]), k.In[i]...)...)
			k.lined[i] = !slices.ContainsFunc(next, func(j int32) bool { return own[j] }) ||
				slices.ContainsFunc(next, func(j int32) bool { return other[j] })
		}
	}
	return k.lined
}

// standbyNeeds lists what the standbys live on when they are lined up.
func (k *task) standbyNeeds() []supply {
	if k.needs == nil {
		k.needs = k.ownSupplies(k.standbyLeft(make([]bool, len(k.Plant.Nodes))), k.standbyLeft(k.InZone))
	}
	return k.needs
}

// standbyLeft lists what is left to the standbys with these points shut.
func (k *task) standbyLeft(shut []bool) []supply {
	mine := make([]bool, len(k.Plant.Nodes))
	for _, s := range k.standIns() {
		for _, i := range k.Numbers(s.machine.Nodes) {
			mine[i] = true
		}
	}
	if len(k.standIns()) == 0 {
		return []supply{}
	}
	lined := k.linedUp()
	return k.suppliesIn(shut, func(i int32) bool { return lined[i] },
		func(c int32, e isolation.Energy) bool { return mine[c] && k.livesOn(c, e) })
}

// standbyLost lists what the standbys lose with these points shut.
func (k *task) standbyLost(shut []bool) []supply {
	if len(k.standbyNeeds()) == 0 {
		return nil
	}
	return gone(k.standbyNeeds(), k.standbyLeft(shut))
}

// withoutOthers leaves of what is lost that which nothing else brings: a pump that draws from one sea chest still runs
// when the other is shut. Two cables may bring two things, so of current all counts.
func (k *task) withoutOthers(lost, left []supply) []supply {
	return slices.DeleteFunc(slices.Clone(lost), func(l supply) bool {
		from := k.At(l.source)
		return from.Energy.Flows() && slices.ContainsFunc(left, func(s supply) bool {
			other := k.At(s.source)
			return s.consumer == l.consumer && other.Energy == from.Energy && other.Fluid == from.Fluid
		})
	})
}

// sayStandbyCut says of every standby that it cannot run which loses what it lives on, by this plan or by what other
// permits hold.
func (k *task) sayStandbyCut(plan *isolation.Plan, shut []bool) {
	lost := k.withoutOthers(k.standbyLost(shut), k.standbyLeft(shut))
	held := slices.Clone(shut)
	for i := range k.heldShut() {
		held[i] = true
	}
	elsewhere := k.withoutOthers(k.standbyLost(held), k.standbyLeft(held))
	var said []string
	for _, s := range k.standIns() {
		var what []string
		for _, l := range lost {
			if k.isKept(l.consumer) {
				continue // on purpose, because it could not work
			}
			from := k.At(l.source)
			words := k.whatFrom(k.At(l.source)) + " from " + from.Label()
			if slices.Contains(s.machine.Nodes, k.At(l.consumer).ID) && !slices.Contains(what, words) {
				what = append(what, words)
			}
		}
		if len(what) == 0 && slices.ContainsFunc(elsewhere, func(l supply) bool {
			return slices.Contains(s.machine.Nodes, k.At(l.consumer).ID)
		}) {
			said = append(said, fmt.Sprintf("%s is under isolation by another permit and cannot take over.", s.machine.Name))
			continue
		}
		if len(what) == 0 {
			continue
		}
		line := fmt.Sprintf("%s cannot run while this plan is on: it loses %s; the plant will be without %s and %s",
			s.machine.Name, isolation.Listed(what), s.instead.Name, s.machine.Name)
		if main := k.standIns()[0]; main.instead == k.Machine && main.machine != s.machine {
			line += ", and " + main.machine.Name + " cannot take over as it should"
		}
		said = append(said, line+".")
	}
	plan.StandbyCut = strings.Join(said, " ")
}
