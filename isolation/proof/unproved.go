package proof

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
)

// unproved checks that a plan says of everything which it does not prove that it does not: nothing may be passed over
// in silence because the plant file is silent.
func (v *prover) unproved() error {
	said := v.saysUnproved
	if len(v.asked)+len(v.kept) == 0 && !said(isolation.UnprovedSource, "") {
		return fmt.Errorf("no source can come to the work, and the plan does not say that it proves nothing")
	}
	if m := v.plant.Machine(v.job.Machine); m != nil {
		fed := v.supplied(v.isShut)
		for _, id := range m.Nodes {
			i := v.number(id)
			if i >= 0 && v.plant.Nodes[i].Kind == isolation.Consumer && !v.work[i] && (fed[i] || v.moved(i)) &&
				!said(isolation.UnprovedDrive, id) {
				return fmt.Errorf("%s of %s keeps its supply, and the plan does not say so", id, m.Name)
			}
		}
	}
	if err := v.openEnds(); err != nil {
		return err
	}
	return v.waysOut(said)
}

// openEnds checks that the plan names every point that can be come to from the work past nothing that it shuts, and
// behind which the plant file has nothing more.
func (v *prover) openEnds() error {
	if v.edition < 6 {
		return nil
	}
	var work []int32
	for i, at := range v.work {
		if at {
			work = append(work, int32(i))
		}
	}
	near := v.spread(v.before, work, v.isShut)
	for i := range v.plant.Nodes {
		n := &v.plant.Nodes[i]
		if !near[i] || !n.Kind.IsPoint() || n.Kind == isolation.Earth {
			continue
		}
		beside := slices.Concat(v.next[i], v.before[i])
		slices.Sort(beside)
		if len(slices.Compact(beside)) == 1 && !v.saysUnproved(isolation.UnprovedEnd, n.ID) {
			return fmt.Errorf("%s is joined to the work and at its other end to nothing, and the plan does not say so", n.ID)
		}
	}
	return nil
}

func (v *prover) isShut(i int32) bool { return v.shut[i] != nil }

// supplied marks what current comes to by cable past no point that bars.
func (v *prover) supplied(bars func(int32) bool) []bool {
	var from []int32
	for i := range v.plant.Nodes {
		if n := &v.plant.Nodes[i]; n.Kind == isolation.Source && n.Energy.Nature() == isolation.Current {
			from = append(from, int32(i))
		}
	}
	return v.spread(v.next, from, func(i int32) bool { return bars(i) || !v.conducts(i) })
}

// conducts reports whether current comes to a node and goes on from it: points, junctions, and consumers, behind which
// there may be others, as a motor behind its starter.
func (v *prover) conducts(i int32) bool {
	kind := v.plant.Nodes[i].Kind
	return kind.IsElectrical() || kind == isolation.Junction || kind == isolation.Consumer
}

// waysOut checks that every part of the work to which something can flow is drained or vented, or said not to be: by a
// section that says why its reading proves nothing, or by itself.
func (v *prover) waysOut(said func(string, isolation.NodeID) bool) error {
	var flowing []int32
	for i := range v.plant.Nodes {
		if n := &v.plant.Nodes[i]; n.Kind == isolation.Source && n.Energy.Flows() {
			flowing = append(flowing, int32(i))
		}
	}
	comes := v.spread(v.next, flowing, func(int32) bool { return false })
	out := v.drained(func(i int32) bool { return v.early(i) || v.standsShut(i) })
	piped := make([]bool, len(v.plant.Nodes))
	for e, l := range v.plant.Links {
		if l.BoreMM > 0 {
			piped[v.ends[e][0]], piped[v.ends[e][1]] = true, true
		}
	}
	for i := range v.plant.Nodes {
		n := &v.plant.Nodes[i]
		if !v.work[i] || !comes[i] || out[i] || !piped[i] && n.Kind != isolation.Vessel || said(isolation.UnprovedWayOut,
			n.ID) {
			continue
		}
		if !slices.ContainsFunc(v.plan.Sections, func(s isolation.Section) bool {
			return !s.Provable && s.Why != "" && slices.Contains(s.Nodes, n.ID)
		}) {
			return fmt.Errorf("nothing drains or vents %s, and the plan does not say so", n.ID)
		}
	}
	return nil
}

// deadTested checks that every electrical point which is opened for the work is seen to have cut: something behind it,
// to which it alone or with others brought current, is tested dead; and that nothing is called dead to which current
// comes.
func (v *prover) deadTested() error {
	ever, fed := v.supplied(func(int32) bool { return false }), v.supplied(v.isShut)
	tests := map[int32]bool{}
	for _, t := range v.plan.DeadTests {
		i := v.number(t.Node)
		switch {
		case i < 0:
			return fmt.Errorf("%s is to be tested dead, and the plant does not have it", t.Node)
		case fed[i]:
			return fmt.Errorf("%s is to be tested dead, and current comes to it", t.Node)
		}
		tests[i] = true
	}
	for n := range v.plan.Steps {
		s := &v.plan.Steps[n]
		if !s.Isolates() || !ever[v.number(s.Point)] || tests[v.number(s.Point)] {
			continue
		}
		behind := v.spread(v.next, []int32{v.number(s.Point)}, func(i int32) bool {
			return fed[i] || v.shut[i] != nil || !v.conducts(i) && !tests[i]
		})
		found, touched := false, v.edition < 3 // a stretch between two open points is touched by nobody
		for i := range tests {
			found = found || behind[i]
		}
		for i, is := range behind {
			at := int32(i)
			touched = touched || is && v.shut[i] == nil && (v.work[i] || v.plant.Nodes[i].Kind == isolation.Consumer ||
				slices.ContainsFunc(v.next[at], func(j int32) bool { return v.plant.Nodes[j].Kind == isolation.Earth }))
		}
		if !found && touched {
			return fmt.Errorf("step %d opens %s, and nothing behind it is tested dead", s.N, s.Point)
		}
	}
	return nil
}
