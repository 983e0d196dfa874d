package planner

import (
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
		for _, n := range p.Nodes {
			if n.Kind.IsPoint() && !n.Kind.IsElectrical() && !n.Kind.IsBlanking() && n.Normal == n.Kind.Isolating() &&
				!shut[n.ID] && !e.live(n.ID, shut) {
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

// live reports whether a source can come to a node before any joint is broken.
func (e *exhaustion) live(id isolation.NodeID, shut map[isolation.NodeID]bool) bool {
	for source := range e.all() {
		if e.reach(source, e.early(shut))[id] {
			return true
		}
	}
	return false
}
