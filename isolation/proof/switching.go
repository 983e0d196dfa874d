package proof

import (
	"fmt"
	"slices"
	"strings"

	"stillwatch/isolation"
)

// switching checks that no load is broken by what is not made for it: of two electrical points on one cable the breaker
// is opened before the disconnector, and that before fuses are drawn.
func (v *prover) switching() error {
	for i := range v.plan.Steps {
		late := &v.plan.Steps[i]
		if !late.Isolates() || late.Kind.Switching() == 0 {
			continue
		}
		var cable []bool
		for j := range v.plan.Steps[:i] {
			early := &v.plan.Steps[j]
			if !early.Isolates() || early.Kind.Switching() <= late.Kind.Switching() {
				continue
			}
			if cable == nil {
				cable = v.spread(v.next, []int32{v.number(late.Point)}, func(n int32) bool { return !v.isCable(n) })
			}
			if cable[v.number(early.Point)] {
				return fmt.Errorf("step %d opens %s before step %d opens %s on the same cable, which alone may break the load",
					early.N, early.Point, late.N, late.Point)
			}
		}
	}
	return nil
}

// isCable reports whether current passes a node to what stands behind it: electrical points and junctions, not what is
// opened, and no consumer or source, where another circuit begins.
func (v *prover) isCable(i int32) bool {
	kind := v.plant.Nodes[i].Kind
	return !v.work[i] && (kind.IsElectrical() || kind == isolation.Junction)
}

// offLoad goes through the plan step by step and checks that no current runs through a disconnector when it is opened,
// nor through fuses when they are drawn, unless nothing on their cable could have taken it away: then the step must say
// what is switched off. The way back closes everything in the reverse order, so it holds there too.
func (v *prover) offLoad() error {
	open := make([]bool, len(v.plant.Nodes))
	for i := range v.plan.Steps { // controls come first among them
		s := &v.plan.Steps[i]
		at := v.number(s.Point)
		isFuse := s.Kind == isolation.Fuse
		if s.Isolates() && (isFuse || s.Kind == isolation.Disconnector) && v.carries(at, open) {
			if !isFuse || v.couldRelieve(at, open) {
				return fmt.Errorf("step %d opens %s under load, which it may not break", s.N, s.Point)
			}
			if !strings.Contains(s.Why, "switched off") {
				return fmt.Errorf("step %d draws %s, and does not say that what they feed is switched off first", s.N, s.Point)
			}
		}
		if s.Kind.IsElectrical() && s.Position == s.Kind.Isolating() {
			open[at] = true
		}
	}
	return nil
}

// carries reports whether current can run through a node with these points open: it comes to one neighbour, and
// something lives on what comes to another.
func (v *prover) carries(at int32, open []bool) bool {
	bars := func(i int32) bool { return i == at || open[i] }
	fed := v.supplied(bars)
	var living []int32
	for i := range v.plant.Nodes {
		if kind := v.plant.Nodes[i].Kind; kind == isolation.Consumer || kind == isolation.Vessel {
			living = append(living, int32(i))
		}
	}
	lives := v.spread(v.before, living, func(i int32) bool { return bars(i) || !v.conducts(i) })
	for _, x := range v.next[at] {
		if fed[x] && slices.ContainsFunc(v.next[at], func(y int32) bool { return y != x && lives[y] }) {
			return true
		}
	}
	return false
}

// couldRelieve reports whether the plant has a breaker or switch, one that a plan may rely on, which would take the
// current from a node if it were open too.
func (v *prover) couldRelieve(at int32, open []bool) bool {
	if v.reliable == nil {
		v.reliances()
	}
	for i := range v.plant.Nodes {
		kind := v.plant.Nodes[i].Kind
		if !v.reliable[i] || open[i] || kind != isolation.Breaker && kind != isolation.Switch {
			continue
		}
		open[i] = true
		carries := v.carries(at, open)
		open[i] = false
		if !carries {
			return true
		}
	}
	return false
}

// earthed checks the earths: each goes on at a dead part of the plant of which something was tested dead before, and
// every part that was cut from what asks for an earth has one, or the plan says that it has none.
func (v *prover) earthed() error {
	fed := v.supplied(v.isShut)
	for _, s := range v.earths {
		part := v.deadPart(v.number(s.Point))
		for i, in := range part {
			if in && fed[i] {
				return fmt.Errorf("step %d puts an earth on at %s, and current comes to it", s.N, s.Point)
			}
		}
		if !slices.ContainsFunc(v.plan.DeadTests, func(t isolation.DeadTest) bool {
			return slices.Contains(v.next[v.number(s.Point)], v.number(t.Node)) && slices.Contains(s.First, t.ID)
		}) {
			return fmt.Errorf("step %d puts an earth on at %s, and nothing there is tested dead first", s.N, s.Point)
		}
	}
	var asking []int32
	for i := range v.plant.Nodes {
		if n := &v.plant.Nodes[i]; n.NeedsEarth() {
			asking = append(asking, int32(i))
		}
	}
	for i, was := range v.spread(v.next, asking, func(i int32) bool { return !v.conducts(i) }) {
		if !was || fed[i] || v.shut[i] != nil || v.plant.Nodes[i].Kind != isolation.Consumer {
			continue
		}
		part := v.deadPart(int32(i))
		if !slices.ContainsFunc(v.earths, func(s *isolation.Step) bool { return part[v.number(s.Point)] }) &&
			!slices.ContainsFunc(v.plan.Unproved, func(u isolation.Unproved) bool {
				n := v.number(u.Node)
				return u.Kind == isolation.UnprovedEarth && n >= 0 && part[n] && u.Words != ""
			}) {
			return fmt.Errorf("nothing earths %s, and the plan does not say so", v.plant.Nodes[i].ID)
		}
	}
	return nil
}

// deadPart marks what is joined to a node by conductors, with the earths that stand there, and no point of the plan
// between.
func (v *prover) deadPart(from int32) []bool {
	part := v.spread(v.next, []int32{from}, func(i int32) bool {
		return v.shut[i] != nil || !v.conducts(i)
	})
	for i, in := range slices.Clone(part) {
		if !in {
			continue
		}
		for _, j := range v.next[i] {
			if v.shut[j] == nil && v.plant.Nodes[j].Kind == isolation.Earth {
				part[j] = true
			}
		}
	}
	return part
}
