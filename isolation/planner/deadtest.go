package planner

import (
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/graph"
)

// sayDeadTests lists the electrical parts of the work that must be proved dead: every node of the work, or of the
// isolated envelope next to it, that an electrical source of the plant would feed.
func (k *task) sayDeadTests(plan *isolation.Plan, shut []bool) {
	seen := map[int32]bool{}
	for _, w := range k.Sources {
		src := k.At(w.Node)
		if src.Energy.Nature() != isolation.Current {
			continue
		}
		for _, z := range k.Zone {
			if seen[z] || !k.fedByCable(z, w.Node) {
				continue
			}
			seen[z] = true
			n := k.At(z)
			name := n.Name
			if name == "" {
				name = string(n.ID)
			}
			plan.DeadTests = append(
				plan.DeadTests,
				isolation.DeadTest{ID: "dead-" + string(n.ID), Node: n.ID, Name: name, Volt: src.Volt},
			)
		}
	}
	k.testBehind(plan, shut)
}

// testBehind adds a test for every electrical point of the plan behind which none is: at the first consumer that it
// fed, or else at what stands next behind it, or at its own far side. A motor behind a gearbox is no part of the work,
// and is tested dead all the same.
func (k *task) testBehind(plan *isolation.Plan, shut []bool) {
	ever, fed := k.fedElectrically(make([]bool, len(shut))), k.fedElectrically(shut)
	tested := func(i int32) bool {
		return slices.ContainsFunc(plan.DeadTests, func(t isolation.DeadTest) bool { return t.Node == k.At(i).ID })
	}
	for _, s := range plan.Steps {
		i := k.Number(s.Point)
		if !s.Isolates() || !ever[i] || !k.At(i).Kind.IsElectrical() || tested(i) {
			continue
		}
		behind := func(j int32) bool { return j != i && !fed[j] && !shut[j] && (k.carriesCurrent(j) || k.InZone[j]) }
		stop := func(j int32) bool { return j != i && !behind(j) }
		if graph.WayTo(k.Out, []int32{i}, func(j int32) bool { return behind(j) && tested(j) }, stop) != nil {
			continue
		}
		if !k.anyOf(graph.Flood(k.Out, []int32{i}, stop), i, func(n *isolation.Node) bool {
			j := k.Number(n.ID)
			return behind(j) && (n.Kind == isolation.Consumer || k.InZone[j] || n.Kind == isolation.Earth)
		}) {
			continue // a stretch between two open points, which nobody touches
		}
		at := i
		for _, ends := range []func(int32) bool{
			func(j int32) bool { return behind(j) && k.At(j).Kind == isolation.Consumer }, behind,
		} {
			if way := graph.WayTo(k.Out, []int32{i}, ends, stop); way != nil {
				at = way[len(way)-1]
				break
			}
		}
		k.deadTestAt(plan, at)
	}
}

// deadTestAt returns the plan's dead test at a node, which it gets if it has none yet.
func (k *task) deadTestAt(plan *isolation.Plan, at int32) isolation.DeadTest {
	for _, t := range plan.DeadTests {
		if t.Node == k.At(at).ID {
			return t
		}
	}
	test := isolation.DeadTest{ID: "dead-" + string(k.At(at).ID), Node: k.At(at).ID, Name: k.At(at).Label()}
	if n := k.nearestCurrent(at); n >= 0 {
		test.Volt = k.At(n).Volt
	}
	plan.DeadTests = append(plan.DeadTests, test)
	return test
}

// nearestCurrent returns the electrical source nearest to a point, -1 of none.
func (k *task) nearestCurrent(i int32) int32 {
	return k.Nearest(i, slices.DeleteFunc(k.allSources(), func(s int32) bool {
		return k.At(s).Energy.Nature() != isolation.Current
	}))
}

// fedByCable reports whether current from a source can come to node i through points and consumers alone, not through
// a pipe, a vessel or another part of the work.
func (k *task) fedByCable(i, source int32) bool {
	reach := graph.Flood(k.Out, []int32{source}, func(j int32) bool {
		kind := k.At(j).Kind
		return j != source && (k.InZone[j] || !kind.IsElectrical() && kind != isolation.Junction)
	})
	return reach[i]
}

// sayTryStart says whether a start attempt belongs to the proof: only where nothing of the machine keeps its current,
// but for what the job names as live. Else the attempt would move what nobody has cut.
func (k *task) sayTryStart(plan *isolation.Plan, shut []bool) {
	if k.Machine != nil {
		fed := k.fedElectrically(shut)
		for _, i := range k.Numbers(k.Machine.Nodes) {
			if k.At(i).Kind == isolation.Consumer && fed[i] && k.live(i) == "" {
				return
			}
		}
	}
	if earthsOf(plan) > 0 {
		return // current must not come to an earth, whatever else fails
	}
	stops := len(plan.Steps) > 0 && plan.Steps[0].Phase == isolation.PhaseStop
	plan.TryStart = stops || slices.ContainsFunc(plan.DeadTests, func(t isolation.DeadTest) bool {
		return k.Plant.Node(t.Node).Kind == isolation.Consumer // at a bus bar there is nothing to start
	})
}

// live returns why a part may keep its current, in the job's own words; "" of one that the job does not name.
func (k *task) live(i int32) string {
	n := slices.IndexFunc(k.job.Live, func(l isolation.LivePart) bool { return l.ID == k.At(i).ID })
	if n < 0 {
		return ""
	}
	return k.job.Live[n].Because
}
