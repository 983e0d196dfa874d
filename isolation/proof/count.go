package proof

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"stillwatch/isolation"
)

// demands counts for every source that can reach the work how far the plan cuts it, and compares with the rules. Bores
// are looked for only where some rule asks for one.
func (v *prover) demands() error {
	v.live = v.alive()
	v.drawn = v.drained(func(i int32) bool { return v.shut[i] != nil || v.standsShut(i) })
	var bores *bores
	if v.bored() {
		bores = v.newBores(v.work, 0)
	}
	listed := map[isolation.NodeID]isolation.SourceCut{}
	for _, s := range v.plan.Sources {
		listed[s.ID] = s
	}
	v.asked = map[int32]string{}
	found := 0
	for i := range v.plant.Nodes {
		n := &v.plant.Nodes[i]
		if n.Kind != isolation.Source {
			continue
		}
		if !v.reaches(int32(i)) {
			if comes, err := v.onlyToKept(int32(i), listed); err != nil {
				return err
			} else if comes {
				found++
			}
			continue
		}
		found++
		bore := 0.0
		if bores != nil {
			bore = bores.of(int32(i))
		}
		rule, err := v.atWork(v.presses(int32(i)), bore)
		if err != nil {
			return err
		}
		if d := v.job.Deviating(n.ID, rule.Demand); d != nil && v.edition >= 3 {
			if !v.says(isolation.UnprovedLess, n.ID, rule.Demand, d) {
				return fmt.Errorf("the job cuts %s by less than the rules ask for, and the plan does not say so with what is done "+
					"instead", n.ID)
			}
			rule.Demand = d.Demand
		}
		v.asked[int32(i)] = rule.Demand
		if s, has := listed[n.ID]; has && v.edition >= 3 && math.Abs(s.GaugeBar-v.presses(int32(i)).GaugeBar) > 1e-9 {
			return fmt.Errorf("the plan judges source %s at %g bar, and it presses with %g", n.ID, s.GaugeBar,
				v.presses(int32(i)).GaugeBar)
		}
		if s, has := listed[n.ID]; !has || s.Demand != rule.Demand || !s.Met {
			return fmt.Errorf("the plan must say of source %s that its demand is %s and met", n.ID, rule.Demand)
		}
		if err := v.met(int32(i), rule.Demand); err != nil {
			return err
		}
	}
	if found != len(v.plan.Sources) {
		return fmt.Errorf("the plan names %d sources, and %d can reach the work", len(v.plan.Sources), found)
	}
	return nil
}

// atWork returns the rule by which a source is cut from the work. Since edition 6 that of entry holds beside that of
// fire where the work is of both kinds, and the stricter wins.
func (v *prover) atWork(n *isolation.Node, bore float64) (isolation.DemandRule, error) {
	rule, err := v.rules.Demand(n, v.job.Exposure, bore)
	for _, k := range v.job.WorkKinds {
		more := isolation.HotWork
		if k == isolation.WorkEntry {
			more = isolation.Enter
		}
		if err != nil || v.edition < 6 || k != isolation.WorkHot && k != isolation.WorkEntry {
			continue
		}
		other, fault := v.rules.Demand(n, more, bore)
		if err = fault; isolation.DemandRank(other.Demand) > isolation.DemandRank(rule.Demand) {
			rule = other
		}
	}
	return rule, err
}

// says reports whether the plan tells of a deviation: which demand the rules make, and every measure taken instead.
func (v *prover) says(kind string, id isolation.NodeID, demand string, d *isolation.Deviation) bool {
	return slices.ContainsFunc(v.plan.Unproved, func(u isolation.Unproved) bool {
		return u.Kind == kind && u.Node == id && strings.Contains(u.Words, isolation.DemandWords(demand)) &&
			!slices.ContainsFunc(d.Measures, func(m string) bool { return !strings.Contains(u.Words, m) })
	})
}

// onlyToKept reports whether a source that cannot come to the work can come to what is kept off. The plan must name it
// with the demand for work at which nothing is opened; that it is cut keepsOff looks at.
func (v *prover) onlyToKept(source int32, listed map[isolation.NodeID]isolation.SourceCut) (bool, error) {
	id := v.plant.Nodes[source].ID
	var on []int32
	for _, h := range v.plan.Kept {
		if i := v.number(h.ID); i >= 0 && slices.Contains(h.Sources, id) {
			on = append(on, i)
		}
	}
	if len(on) == 0 {
		return false, nil
	}
	n, rule, err := v.atRest(source, on)
	if err != nil {
		return false, err
	}
	switch s, has := listed[id]; {
	case v.edition >= 5 && rule.Demand != isolation.DemandSingle:
		return false, fmt.Errorf("%s must be cut by %s from what is kept off, and one point was looked for there", n.Label(),
			isolation.DemandWords(rule.Demand))
	case !has || s.Demand != rule.Demand || !s.Met:
		return false, fmt.Errorf("the plan must say of source %s that its demand is %s and met", id, rule.Demand)
	case v.edition >= 5 && math.Abs(s.GaugeBar-n.GaugeBar) > 1e-9:
		return false, fmt.Errorf("the plan judges source %s at %g bar, and it presses with %g", id, s.GaugeBar, n.GaugeBar)
	}
	return true, nil
}

// met reports by an error that a source is not cut as demanded, with a way on which it is not.
func (v *prover) met(source int32, demand string) error {
	n := &v.plant.Nodes[source]
	bleed := demand == isolation.DemandDouble && n.Energy.Flows()
	whole := map[bool]int{true: 3, false: 2}[bleed]
	if demand == isolation.DemandSingle {
		whole = 1
	}
	at, got := v.leastMet(source, demand, bleed)
	if got >= whole {
		return nil
	}
	return fmt.Errorf("%s must be cut by %s, and the way %s has less", n.Label(), isolation.DemandWords(demand),
		strings.Join(v.wayBack(source, at), " – "))
}

// progress returns how far a demand is met after the step into a node, so having come before it with got. For single
// and double: the points crossed, blanks and spools not counted; where a bleed is asked for, one more for something
// between two points that can flow to an opening tagged open. For blank: 1 after a point that is none, 2 after a blank
// or spool behind it.
func (v *prover) progress(demand string, bleed bool, to int32, got int) int {
	s := v.shut[to]
	blank := s != nil && v.plant.Nodes[to].Kind.IsBlanking()
	switch {
	case s == nil && bleed && got == 1 && v.drawn[to]:
		return 2
	case s == nil,
		demand == isolation.DemandBlank && blank != (got == 1),
		demand != isolation.DemandBlank && blank,
		bleed && got == 1:
		return got
	}
	return got + 1
}

// leastMet finds the way from a source to the work on which the demand is met least, and returns its end, from which
// wayBack names it: a 0-1 breadth-first search with a queue at whose front the nodes reached without progress stand.
// Progress never falls along a way and never becomes less by having been more before, so the least over all walks is
// the least over all simple ways.
func (v *prover) leastMet(source int32, demand string, bleed bool) (end int32, least int) {
	best, came := v.search.best, v.search.came
	for i := range best {
		best[i] = math.MaxInt
	}
	best[source] = 0
	front, back := append(v.search.list[:0], source), v.search.later[:0]
	for len(front)+len(back) > 0 {
		if len(front) == 0 {
			front, back = back, front
		}
		at := front[len(front)-1]
		front = front[:len(front)-1]
		got := best[at]
		if v.work[at] {
			return at, got
		}
		for _, to := range v.next[at] {
			c := v.progress(demand, bleed, to, got)
			if best[to] <= c {
				continue
			}
			best[to], came[to] = c, at
			if c == got {
				front = append(front, to)
			} else {
				back = append(back, to)
			}
		}
	}
	return source, math.MaxInt
}

// wayBack names the nodes of the way by which the last leastMet came from a source to the work.
func (v *prover) wayBack(source, at int32) []string {
	back := []string{string(v.plant.Nodes[at].ID)}
	for at != source {
		at = v.search.came[at]
		back = append(back, string(v.plant.Nodes[at].ID))
	}
	slices.Reverse(back)
	return back
}

// alive marks what some source can come to while the drains are opened: without crossing a point of the plan that is
// shut by then. A blank or spool is not yet, so it holds nothing back.
func (v *prover) alive() []bool { return v.pressed(v.early) }

// early reports whether a step shuts a node before the drains are opened.
func (v *prover) early(i int32) bool {
	return v.shut[i] != nil && v.shut[i].Phase == isolation.PhaseIsolate
}
