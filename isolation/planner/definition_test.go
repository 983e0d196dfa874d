package planner

import (
	"maps"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"stillwatch/isolation"
	"stillwatch/isolation/proof"
)

// Prove must never pass a set of points that the definition does not: random sets are given to it as plans.
func TestProveAgreesWithTheDefinition(t *testing.T) {
	yes, no := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		p, r := smallPlant(t)
		plan, err := Make(p, r, "j", isolation.Circumstances{})
		if err != nil || !plan.Feasible {
			return
		}
		e := newExhaustion(p, r)
		var steps []isolation.Step
		shut := map[isolation.NodeID]bool{}
		plan.DeadTests = nil
		for _, n := range p.Nodes { // automatic valves last, so that their supplies come before
			if n.Kind.IsPoint() && n.Lockable && rapid.IntRange(0, 3).Draw(t, "take") > 0 {
				shut[n.ID] = true
				step := isolation.Step{
					Phase:     isolation.PhaseIsolate,
					Point:     n.ID,
					Kind:      n.Kind,
					Position:  n.Kind.Isolating(),
					Lock:      true,
					Clearance: n.Normal,
				}
				if e.broken(n.ID) {
					step.Phase = isolation.PhaseBlank
				}
				steps = append(steps, step)
				if n.Kind.IsElectrical() {
					plan.DeadTests = append(plan.DeadTests, isolation.DeadTest{ID: "dead-" + string(n.ID), Node: n.ID})
				}
			}
		}
		plan.Cost, plan.Locks, plan.LowerBound, plan.Sections, plan.Bound = int64(len(steps)), len(steps), 0, nil, nil
		plan.Words = plan.SayBound()
		cocks := e.cocks(shut)
		for _, n := range p.Nodes {
			if cocks[n.ID] {
				steps = append(steps, isolation.Step{Phase: isolation.PhaseDrain, Point: n.ID, Kind: n.Kind,
					Position: n.Kind.Passing(), Clearance: n.Normal})
			}
			if n.Kind == isolation.Opening && !e.live(n.ID, shut) {
				steps = append(
					steps,
					isolation.Step{
						Phase:     isolation.PhaseDrain,
						Point:     n.ID,
						Kind:      n.Kind,
						Position:  isolation.Open,
						Clearance: n.Normal,
					},
				)
				plan.Stored = append(
					plan.Stored,
					isolation.StoredCheck{ID: "dry-" + string(n.ID), Stored: isolation.Stored{Kind: isolation.KindDry}, Limit: 1},
				)
			}
		}
		slices.SortStableFunc(steps, func(a, b isolation.Step) int { return a.Phase.Rank() - b.Phase.Rank() })
		plan.Restore = []isolation.Restoring{{Kind: isolation.RestoreTell, Do: "Tell them."}}
		for i := range steps {
			steps[i].N = i + 1
			plan.Restore = slices.Insert(plan.Restore, 1, isolation.Restoring{Step: i + 1})
		}
		if len(steps) > 0 {
			plan.Restore = append(plan.Restore, isolation.Restoring{Kind: isolation.RestoreClose})
		}
		plan.Steps = steps
		_, err = proof.Prove(p, r, plan, isolation.Circumstances{})
		holds := e.holds(shut) && e.loose(shut)
		if (err == nil) != holds {
			t.Fatalf("Prove = %v, the definition says %v\n%s\n%s\n%v", err, holds, p.Text, r.Text, shut)
		}
		if holds {
			yes++
		} else {
			no++
		}
	})
	if t.Logf("%d hold, %d do not", yes, no); yes == 0 || no == 0 {
		t.Errorf("%d hold and %d do not, want some of each", yes, no)
	}
}

// cocks lists what stands shut, can be opened by hand without a source coming to it, and has on each side an opening
// that may be opened or a point of the set, or the work on one.
func (e *exhaustion) cocks(shut map[isolation.NodeID]bool) map[isolation.NodeID]bool {
	cocks := map[isolation.NodeID]bool{}
	stands := func(n isolation.Node) bool { return n.Kind.IsPoint() && n.Normal == n.Kind.Isolating() && !shut[n.ID] }
	for _, n := range e.p.Nodes {
		cocks[n.ID] = stands(n) && !n.Kind.IsElectrical() && !n.Kind.IsBlanking() && !e.live(n.ID, shut)
	}
	for changed := true; changed; {
		changed = false
		bars := e.early(shut)
		for _, n := range e.p.Nodes {
			bars[n.ID] = bars[n.ID] || !cocks[n.ID] && (stands(n) || n.HoldsUp() && !shut[n.ID])
		}
		for c, is := range cocks {
			if is && !e.serves(c, shut, bars) {
				cocks[c], changed = false, true
				break
			}
		}
	}
	return cocks
}

// serves reports whether each side of a cock has an opening or a point of the set, or one of them the work.
func (e *exhaustion) serves(cock isolation.NodeID, shut, bars map[isolation.NodeID]bool) bool {
	bars = maps.Clone(bars)
	bars[cock] = true
	work, bare := false, false
	for _, side := range slices.Concat(e.next[cock], e.before(cock)) {
		if bars[side] {
			continue
		}
		has := false
		for id := range e.along(e.next, side, bars) {
			work = work || slices.Contains(e.p.Jobs[0].Opens, id)
			has = has || e.p.Node(id).Kind == isolation.Opening && !e.live(id, shut) ||
				slices.ContainsFunc(e.next[id], func(next isolation.NodeID) bool { return shut[next] })
		}
		bare = bare || !has
	}
	return work || !bare
}

// before lists from where something can come to a node.
func (e *exhaustion) before(id isolation.NodeID) []isolation.NodeID {
	var out []isolation.NodeID
	for from, next := range e.next {
		if slices.Contains(next, id) {
			out = append(out, from)
		}
	}
	return out
}

// live reports whether a source can come to a node before any joint is broken.
func (e *exhaustion) live(id isolation.NodeID, shut map[isolation.NodeID]bool) bool {
	for source := range e.all() {
		if e.reach(source, e.early(shut))[id] {
			return true
		}
	}
	return false
}
