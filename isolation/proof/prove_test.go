package isolation

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// without returns the plan with one step taken out, and everything that a plan says of itself made to agree.
func without(plan Plan, i int) Plan {
	out := plan
	out.Steps = nil
	out.Locks, out.Cost = 0, 0
	for j, s := range plan.Steps {
		if j == i {
			continue
		}
		s.N = len(out.Steps) + 1
		out.Steps = append(out.Steps, s)
		if s.Lock {
			out.Locks++
		}
		if s.Isolates() {
			out.Cost++
		}
	}
	out.LowerBound = min(plan.LowerBound, out.Cost)
	return out
}

// A least plan has no step to spare: without any one of its points it must fail, whatever else the plan says.
func TestProveMissesEveryPointThatIsTakenOut(t *testing.T) {
	p := readFile(t, demoPlant)
	for _, j := range p.Jobs {
		plan := makeProved(t, p, j.ID, Circumstances{})
		for i, s := range plan.Steps {
			if !s.Isolates() {
				continue
			}
			if _, err := Prove(p, ShippedRules(), without(plan, i), Circumstances{}); err == nil {
				t.Errorf("Prove(%s without %s) = proved, want an error", j.ID, s.Point)
			}
		}
	}
}

// A control that nobody puts to off would let somebody start the machine.
func TestProveMissesAControlThatIsTakenOut(t *testing.T) {
	p := readFile(t, demoPlant)
	plan := makeProved(t, p, "S1-bowl", Circumstances{})
	if plan.Steps[0].Phase != PhaseStop {
		t.Fatalf("first step = %v, want a control", plan.Steps[0])
	}
	if _, err := Prove(p, ShippedRules(), without(plan, 0), Circumstances{}); err == nil ||
		!strings.Contains(err.Error(), "puts "+string(plan.Steps[0].Point)+" to off") {
		t.Errorf("Prove without %s = %v, want an error about it", plan.Steps[0].Point, err)
	}
}

// Without the drain between them two valves are no double.
func TestProveMissesTheDrainBetween(t *testing.T) {
	p := readPlant(t, steamLine)
	plan := makeProved(t, p, "tubes", Circumstances{})
	i := slices.IndexFunc(plan.Steps, func(s Step) bool { return s.Point == "D1" })
	if _, err := Prove(p, ShippedRules(), without(plan, i), Circumstances{}); err == nil ||
		!strings.Contains(err.Error(), "drain or bleed") {
		t.Errorf("Prove without the drain = %v, want an error about it", err)
	}
}

func TestProveRefusesWhatIsWrongInAPlan(t *testing.T) {
	p := readPlant(t, strings.Replace(pump, "{id: V1, kind: valve}", "{id: V1, kind: valve}\n  - {id: D9, kind: opening}",
		1)+"")
	p = readPlant(t, strings.Replace(string(p.Text), "links:\n", "links:\n  - {a: tank, b: D9}\n", 1))
	good := makeProved(t, p, "seal", Circumstances{})
	for _, tc := range []struct {
		name, want string
		spoil      func(*Plan)
	}{
		{"another plant file", "another plant file", func(q *Plan) { q.PlantSHA256 = "00" }},
		{"other rules", "other rules", func(q *Plan) { q.RulesSHA256 = "00" }},
		{"another job", "no such job", func(q *Plan) { q.Job = "x" }},
		{"no plan", "no plan", func(q *Plan) { q.Feasible = false }},
		{"other work", "other work", func(q *Plan) { q.Opens = []NodeID{"motor"} }},
		{"a number out of turn", "stands in place", func(q *Plan) { q.Steps[1].N = 7 }},
		{"a phase out of turn", "out of its turn", func(q *Plan) { q.Steps[1].Phase = PhaseStop }},
		{"a valve that claims to be a control", "control of the machine",
			func(q *Plan) { q.Steps[0].Phase, q.Steps[0].Clearance = PhaseStop, q.Steps[0].Position }},
		{"a cut of no source", "no source of the plan", func(q *Plan) { q.Steps[0].Cuts = []NodeID{"motor"} }},
		{"an unknown phase", "out of its turn", func(q *Plan) { q.Steps[0].Phase = "later" }},
		{"an unknown point", "does not have", func(q *Plan) { q.Steps[0].Point = "x" }},
		{"a point twice", "two steps", func(q *Plan) { q.Steps[1].Point = q.Steps[0].Point }},
		{"a valve left open", "isolates SHUT", func(q *Plan) { q.Steps[1].Position = Open }},
		{"a breaker left closed", "isolates OFF", func(q *Plan) { q.Steps[0].Position = Closed }},
		{"another clearance", "the plant needs it", func(q *Plan) { q.Steps[1].Clearance = Closed }},
		{"a control put back to on", "left off", func(q *Plan) {
			q.Steps = append([]Step{{N: 1, Phase: PhaseStop, Point: "Q1", Kind: Breaker, Position: Open, Clearance: Closed}},
				q.Steps[1:]...)
		}},
		{"a lock forgotten", "lock is false", func(q *Plan) { q.Steps[1].Lock = false; q.Locks-- }},
		{"a check valve relied on", "does not isolate",
			func(q *Plan) { q.Steps[2].Point = "NRV"; q.Steps[2].Clearance = "" }},
		{"a point of the work", "part of what is opened", func(q *Plan) { q.Steps[2].Point = "casing" }},
		{"a cost that is wrong", "counts", func(q *Plan) { q.Cost = 2 }},
		{"locks that are wrong", "counts", func(q *Plan) { q.Locks = 1 }},
		{"a bound above the cost", "at least 4", func(q *Plan) { q.LowerBound = 4 }},
		{"a source not named", "must say of source", func(q *Plan) { q.Sources = q.Sources[1:] }},
		{"a source too many", "names 4 sources", func(q *Plan) { q.Sources = append(q.Sources, SourceCut{ID: "x"}) }},
		{"a demand made mild", "must say of source", func(q *Plan) { q.Sources[0].Demand = "none" }},
		{"a live drain opened", "a source can come to it", func(q *Plan) {
			q.Steps = append(q.Steps, Step{N: 4, Phase: PhaseDrain, Point: "D9", Kind: Opening, Position: Open,
				Clearance: Closed})
		}},
		{"a section that counts on a shut drain", "no step tags open",
			func(q *Plan) { q.Sections = []Section{{ID: "s", Drains: []NodeID{"D9"}}} }},
	} {
		t.Run(tc.name, func(t *testing.T) {
			bad := good
			bad.Steps, bad.Sources = slices.Clone(good.Steps), slices.Clone(good.Sources)
			tc.spoil(&bad)
			proved, err := Prove(p, ShippedRules(), bad, Circumstances{})
			if err == nil || !strings.Contains(err.Error(), tc.want) || !proved.IsZero() {
				t.Errorf("Prove = %v (zero %v), want an error with %q and no plan", err, proved.IsZero(), tc.want)
			}
		})
	}
}

// Prove must never pass a set of points that the definition does not: random sets are given to it as plans.
func TestProveAgreesWithTheDefinition(t *testing.T) {
	yes, no := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		p, r := smallPlant(t)
		plan, err := Make(p, r, "j", Circumstances{})
		if err != nil || !plan.Feasible {
			return
		}
		e := newExhaustion(p, r)
		var steps []Step
		shut := map[NodeID]bool{}
		for _, n := range p.Nodes { // automatic valves last, so that their supplies come before
			if n.Kind.IsPoint() && n.Lockable && rapid.IntRange(0, 3).Draw(t, "take") > 0 {
				shut[n.ID] = true
				step := Step{Phase: PhaseIsolate, Point: n.ID, Kind: n.Kind, Position: n.Kind.Isolating(), Lock: true,
					Clearance: n.Normal}
				if e.broken(n.ID) {
					step.Phase = PhaseBlank
				}
				steps = append(steps, step)
			}
		}
		plan.Cost, plan.Locks, plan.LowerBound, plan.Sections = int64(len(steps)), len(steps), 0, nil
		for _, n := range p.Nodes {
			if n.Kind == Opening && !e.live(n.ID, shut) {
				steps = append(steps, Step{Phase: PhaseDrain, Point: n.ID, Kind: n.Kind, Position: Open, Clearance: n.Normal})
				plan.Stored = append(plan.Stored, StoredCheck{ID: "dry-" + string(n.ID), Stored: Stored{Kind: KindDry}, Limit: 1})
			}
		}
		slices.SortStableFunc(steps, func(a, b Step) int { return phaseRank(a.Phase) - phaseRank(b.Phase) })
		for i := range steps {
			steps[i].N = i + 1
		}
		plan.Steps = steps
		_, err = Prove(p, r, plan, Circumstances{})
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
func (e *exhaustion) live(id NodeID, shut map[NodeID]bool) bool {
	for source := range e.all() {
		if e.reach(source, e.early(shut))[id] {
			return true
		}
	}
	return false
}
