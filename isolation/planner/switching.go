package planner

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/graph"
)

// What may not break a load is opened only when no current runs through it. A disconnector needs a breaker or a switch
// that is opened before it, on its own cable; where there is none it is not relied on. Fuses of a circuit that has
// neither are drawn when what they feed is switched off, and the step says so. (IEC 60947-3, from memory; that fuses
// are not drawn under load: common practice, no source.)

// mayBreakLoad reports whether a kind of point is made to break the current that it carries.
func mayBreakLoad(k isolation.Kind) bool { return k == isolation.Breaker || k == isolation.Switch }

// loaded reports whether current could run through an electrical point while others stand open: it is fed on one side,
// and something lives on it on another.
func (k *task) loaded(i int32, open func(int32) bool) bool {
	fed, lives := -1, -1 // the only side of which it is so; len(sides) for several
	sides := k.Out[i]
	note := func(side *int, n int) {
		if *side >= 0 {
			n = len(sides)
		}
		*side = n
	}
	for n, side := range sides {
		if open(side) || slices.Contains(sides[:n], side) {
			continue
		}
		reach := graph.Flood(k.Out, []int32{side}, func(j int32) bool {
			return j == i || open(j) || !k.carriesCurrent(j) || k.At(j).Kind == isolation.Source
		})
		if k.anyOf(reach, i, func(d *isolation.Node) bool {
			return d.Kind == isolation.Source && d.Energy.Nature() == isolation.Current
		}) {
			note(&fed, n)
		}
		if k.anyOf(reach, i, func(d *isolation.Node) bool {
			return d.Kind == isolation.Consumer || d.Kind == isolation.Vessel
		}) {
			note(&lives, n)
		}
	}
	return fed >= 0 && lives >= 0 && (fed != lives || fed == len(sides))
}

// anyOf reports whether something is so of a node that is reached, but for i.
func (k *task) anyOf(reach []bool, i int32, is func(*isolation.Node) bool) bool {
	for j, r := range reach {
		if r && int32(j) != i && is(k.At(int32(j))) {
			return true
		}
	}
	return false
}

// breakers returns the points that break the load of a point which may not do so itself, one of which must be opened
// first; need is false where no current runs through it, also because a control has stopped it.
func (k *task) breakers(i int32) (oneOf []int32, need bool) {
	off := make([]bool, len(k.Plant.Nodes))
	if k.Machine != nil {
		for _, c := range k.Numbers(k.Machine.Controls) {
			off[c] = true
		}
	}
	open := func(j int32) bool { return off[j] }
	if !k.loaded(i, open) {
		return nil, false
	}
	cable := graph.Flood(k.Out, []int32{i}, func(j int32) bool {
		return j != i && !k.At(j).Kind.IsElectrical() && k.At(j).Kind != isolation.Junction
	})
	for j, on := range cable {
		if b := int32(j); on && b != i && mayBreakLoad(k.At(b).Kind) && k.usable(b) &&
			!k.loaded(i, func(n int32) bool { return n == b || off[n] }) {
			oneOf = append(oneOf, b)
		}
	}
	return oneOf, true
}

// offLoad finds for every point that may not break a load what must be opened before it, and bars disconnectors for
// which there is nothing. reach marks what matters to the work.
func (k *task) offLoad(reach []bool) {
	k.first = map[int32][]int32{}
	for i := range k.Plant.Nodes {
		kind := k.Plant.Nodes[i].Kind
		if !reach[i] || kind != isolation.Disconnector && kind != isolation.Fuse || !k.usable(int32(i)) {
			continue
		}
		switch oneOf, need := k.breakers(int32(i)); {
		case !need:
		case len(oneOf) > 0:
			k.first[int32(i)] = oneOf
		case kind == isolation.Disconnector:
			k.barred[int32(i)] = "it may be opened only without load, and nothing on its cable that can be relied on " +
				"breaks the load before it"
		default:
			k.first[int32(i)] = []int32{}
		}
	}
}

// switchedOff is the order that stands before fuses are drawn which nothing on their cable relieves of their load.
const switchedOff = " Draw them only when everything that they feed is switched off."

// What is isolated above 1000 V, and wherever the plant file says so, is earthed when it was seen dead and before it is
// touched, at every place for it between the open points and the work. The earths come off before the first point is
// closed, and are counted. (The five rules in their order: EN 50110-1, second hand.)

// deadParts returns the conductors that a step has cut from a source which asks for earths, part by part: what is
// joined without a point of the plan between, and only where something lives on it or people work.
func (k *task) deadParts(plan *isolation.Plan, shut []bool) [][]bool {
	ever, fed := k.fedElectrically(make([]bool, len(shut))), k.fedElectrically(shut)
	var out [][]bool
	for _, s := range plan.Steps {
		if !k.asksForEarth(&s) {
			continue
		}
		for _, side := range k.Out[k.Number(s.Point)] {
			if shut[side] || fed[side] || !ever[side] || slices.ContainsFunc(out, func(p []bool) bool { return p[side] }) {
				continue
			}
			part := graph.Flood(k.Out, []int32{side}, func(j int32) bool { return shut[j] || !k.carriesCurrent(j) })
			for i := range part {
				part[i] = part[i] && !shut[i]
			}
			if k.anyOf(part, -1, func(n *isolation.Node) bool {
				return n.Kind == isolation.Consumer || k.InZone[k.Number(n.ID)]
			}) {
				out = append(out, part)
			}
		}
	}
	return out
}

// asksForEarth reports whether a step cuts current that must be followed by an earth.
func (k *task) asksForEarth(s *isolation.Step) bool {
	return s.Isolates() && s.Kind.IsElectrical() && slices.ContainsFunc(s.Cuts, func(id isolation.NodeID) bool {
		return k.Plant.Node(id).NeedsEarth()
	})
}

// earthDrafts puts an earth on at every place for it on the dead conductors, the nearest to the open points first: what
// lies behind is opened and touched only when that one is on.
func (k *task) earthDrafts(points []draft, shut []bool) []draft {
	so := isolation.Plan{}
	for _, d := range points {
		so.Steps = append(so.Steps, d.step)
	}
	var out []draft
	for _, part := range k.deadParts(&so, shut) {
		from := []int32{}
		for i := range part {
			if shut[i] && slices.ContainsFunc(k.Out[i], func(j int32) bool { return part[j] }) {
				from = append(from, int32(i))
			}
		}
		var earths []int32
		far := map[int32]int{}
		for i, is := range part {
			if is && k.At(int32(i)).Kind == isolation.Earth {
				earths = append(earths, int32(i))
				far[int32(i)] = len(graph.WayTo(k.Out, from, func(j int32) bool { return j == int32(i) },
					func(j int32) bool { return !part[j] && !shut[j] }))
			}
		}
		slices.SortStableFunc(earths, func(a, b int32) int { return far[a] - far[b] })
		for n, i := range earths {
			s := k.newStep(i, isolation.PhaseEarth, isolation.Closed)
			s.Lock, s.Measure = k.At(i).Lockable, k.At(i).Measure
			s.Why = "Holds dead what is isolated and was seen dead, also against what is induced or closed by mistake."
			d := draft{step: s, node: i, block: blockEarths}
			if n > 0 {
				d.after = earths[:n]
			}
			out = append(out, d)
		}
	}
	return out
}

// sayEarths says what must be seen dead before an earth goes on: the conductor on which it goes. And it says of which
// conductors none can be earthed.
func (k *task) sayEarths(plan *isolation.Plan, shut []bool) {
	for _, part := range k.deadParts(plan, shut) {
		earthed := false
		for i := range plan.Steps {
			s := &plan.Steps[i]
			if s.Phase != isolation.PhaseEarth || !part[k.Number(s.Point)] {
				continue
			}
			at := slices.IndexFunc(k.Out[k.Number(s.Point)], func(j int32) bool { return part[j] })
			t := k.deadTestAt(plan, k.Out[k.Number(s.Point)][at])
			s.First = append(s.First, t.ID)
			s.Why += fmt.Sprintf(" First prove %s dead there.", t.Name)
			if earthed {
				s.Why += " Nothing is opened for it before the earth nearer to the open point is on."
			}
			earthed = true
		}
		if at := slices.Index(part, true); !earthed {
			plan.Unproved = append(plan.Unproved, isolation.Unproved{Kind: isolation.UnprovedEarth, Node: k.At(int32(at)).ID,
				Words: fmt.Sprintf("The plant file has no place for an earth at %s. Have the conductors earthed by a "+
					"competent person before anybody touches them.", k.At(int32(at)).Label())})
		}
	}
}

// charged lists the machines, other than those that are opened, of which a part lies on a cable that is cut.
func (k *task) charged(shut []bool) []*isolation.Machine {
	ever, fed := k.fedElectrically(make([]bool, len(shut))), k.fedElectrically(shut)
	var out []*isolation.Machine
	for i := range k.Plant.Machines {
		m := &k.Plant.Machines[i]
		if !slices.Contains(k.Opened(), m) && slices.ContainsFunc(k.Numbers(m.Nodes), func(n int32) bool {
			return ever[n] && !fed[n]
		}) {
			out = append(out, m)
		}
	}
	return out
}

// earthsOf counts the earths of a plan.
func earthsOf(plan *isolation.Plan) int {
	return len(slices.DeleteFunc(slices.Clone(plan.Steps),
		func(s isolation.Step) bool { return s.Phase != isolation.PhaseEarth }))
}
