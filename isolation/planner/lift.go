package planner

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/envelope"
	"stillwatch/isolation/graph"
)

// Lift computes which locks and tags of a plan come off so that one consumer gets its current back for a test: the
// fewest points on a way of cable from a board to it, the earths on that cable, and the controls, without which nothing
// starts. Everything else stays. It also says what comes where then. Returns an error for what is no consumer, and for
// one to which no current leads. (29 CFR 1910.147(f)(1), read: for a test the locks that it needs come off, and no
// others; that the plan computes them: own reasoning.)
func Lift(p *isolation.Plant, plan *isolation.Plan, run isolation.NodeID) (isolation.Lifting, error) {
	k := &task{Work: &envelope.Work{Graph: graph.New(p), InZone: make([]bool, len(p.Nodes))}}
	at := k.Number(run)
	if at < 0 || k.At(at).Kind != isolation.Consumer {
		return isolation.Lifting{}, fmt.Errorf("lift for a test: %s is no consumer of the plant", run)
	}
	held := make([]int, len(p.Nodes)) // the step that isolates at a node; 0 for none
	for _, s := range plan.Steps {
		if s.Isolates() {
			held[k.Number(s.Point)] = s.N
		}
	}
	way := k.supplyWay(at, held)
	if way == nil {
		return isolation.Lifting{}, fmt.Errorf("lift for a test: no current leads to %s", k.At(at).Label())
	}
	l := isolation.Lifting{Run: run}
	on := k.Marks(way)
	still := func(i int32) bool { return held[i] > 0 && !on[i] }
	for _, s := range plan.Steps {
		i := k.Number(s.Point)
		beside := slices.ContainsFunc(k.Out[i], func(j int32) bool {
			return graph.WayTo(k.Out, []int32{j}, func(n int32) bool { return on[n] },
				func(n int32) bool { return still(n) || !k.carriesCurrent(n) }) != nil
		})
		if s.Phase == isolation.PhaseStop || s.Isolates() && on[i] || s.Phase == isolation.PhaseEarth && beside {
			l.Steps = append(l.Steps, s.N)
		}
	}
	slices.Reverse(l.Steps)
	parts := slices.Clone(plan.Opens)
	for _, h := range plan.Kept {
		parts = append(parts, h.ID)
	}
	for _, s := range k.allSources() {
		reach := graph.Flood(k.Out, []int32{s}, still)
		for _, id := range parts {
			if id != run && reach[k.Number(id)] {
				l.Comes = append(l.Comes, isolation.Coming{Source: k.At(s).ID, Node: id})
			}
		}
	}
	return l, nil
}

// supplyWay returns a way of cable from an electrical source to a consumer that crosses the fewest held points; nil
// where there is none. A 0-1 breadth-first search from the consumer back.
func (k *task) supplyWay(to int32, held []int) []int32 {
	next := k.feedsOf(isolation.Current)
	before := make([][]int32, len(next))
	for i, list := range next {
		for _, j := range list {
			before[j] = append(before[j], int32(i))
		}
	}
	best, came := make([]int, len(next)), make([]int32, len(next))
	for i := range best {
		best[i], came[i] = len(next)+1, -1
	}
	best[to] = 0
	front, back := []int32{to}, []int32(nil)
	for len(front)+len(back) > 0 {
		if len(front) == 0 {
			front, back = back, nil
		}
		at := front[len(front)-1]
		front = front[:len(front)-1]
		if n := k.At(at); n.Kind == isolation.Source && n.Energy.Nature() == isolation.Current {
			return graph.TraceBack(came, at)
		}
		if at != to && !k.carriesCurrent(at) {
			continue
		}
		for _, j := range before[at] {
			cost := best[at]
			if held[j] > 0 {
				cost++
			}
			if best[j] <= cost {
				continue
			}
			best[j], came[j] = cost, at
			if cost == best[at] {
				front = append(front, j)
			} else {
				back = append(back, j)
			}
		}
	}
	return nil
}
