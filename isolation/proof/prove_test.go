package proof

import (
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

// without returns the plan with one step taken out, and everything that a plan says of itself made to agree.
func without(plan isolation.Plan, i int) isolation.Plan {
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
	out.LowerBound, out.Bound = 0, nil
	out.Words = out.SayBound()
	return out
}

// A least plan has no step to spare: without any one of its points it must fail, whatever else the plan says.
func TestProveMissesEveryPointThatIsTakenOut(t *testing.T) {
	p := readFile(t, demoPlant)
	for _, j := range p.Jobs {
		plan := makeProved(t, p, j.ID, isolation.Circumstances{})
		for i, s := range plan.Steps {
			if !s.Isolates() {
				continue
			}
			if _, err := Prove(p, plantfile.ShippedRules(), without(plan, i), isolation.Circumstances{}); err == nil {
				t.Errorf("Prove(%s without %s) = proved, want an error", j.ID, s.Point)
			}
		}
	}
}

// A control that nobody puts to off would let somebody start the machine.
func TestProveMissesAControlThatIsTakenOut(t *testing.T) {
	p := readFile(t, demoPlant)
	plan := makeProved(t, p, "S1-bowl", isolation.Circumstances{})
	if plan.Steps[0].Phase != isolation.PhaseStop {
		t.Fatalf("first step = %v, want a control", plan.Steps[0])
	}
	if _, err := Prove(p, plantfile.ShippedRules(), without(plan, 0), isolation.Circumstances{}); err == nil ||
		!strings.Contains(err.Error(), "puts "+string(plan.Steps[0].Point)+" to off") {
		t.Errorf("Prove without %s = %v, want an error about it", plan.Steps[0].Point, err)
	}
}

// Without the drain between them two valves are no double.
func TestProveMissesTheDrainBetween(t *testing.T) {
	p := readPlant(t, steamLine)
	plan := makeProved(t, p, "tubes", isolation.Circumstances{})
	i := slices.IndexFunc(plan.Steps, func(s isolation.Step) bool { return s.Point == "D1" })
	if _, err := Prove(p, plantfile.ShippedRules(), without(plan, i), isolation.Circumstances{}); err == nil ||
		!strings.Contains(err.Error(), "drain or bleed") {
		t.Errorf("Prove without the drain = %v, want an error about it", err)
	}
}

func TestProveRefusesWhatIsWrongInAPlan(t *testing.T) {
	p := readPlant(t, strings.Replace(pump, "{id: V1, kind: valve}", "{id: V1, kind: valve}\n  - {id: D9, kind: opening}",
		1)+"")
	p = readPlant(t, strings.Replace(string(p.Text), "links:\n", "links:\n  - {a: tank, b: D9}\n", 1))
	good := makeProved(t, p, "seal", isolation.Circumstances{})
	for _, tc := range []struct {
		name, want string
		spoil      func(*isolation.Plan)
	}{
		{"another plant file", "another plant file", func(q *isolation.Plan) { q.PlantSHA256 = "00" }},
		{"other rules", "other rules", func(q *isolation.Plan) { q.RulesSHA256 = "00" }},
		{"another job", "no such job", func(q *isolation.Plan) { q.Job = "x" }},
		{"no plan", "no plan", func(q *isolation.Plan) { q.Feasible = false }},
		{"other work", "other work", func(q *isolation.Plan) { q.Opens = []isolation.NodeID{"motor"} }},
		{"a number out of turn", "stands in place", func(q *isolation.Plan) { q.Steps[1].N = 7 }},
		{"a phase out of turn", "out of its turn", func(q *isolation.Plan) { q.Steps[1].Phase = isolation.PhaseStop }},
		{"a valve that claims to be a control", "control of the machine",
			func(q *isolation.Plan) {
				q.Steps[0].Phase, q.Steps[0].Clearance = isolation.PhaseStop, q.Steps[0].Position
			}},
		{"a cut of no source", "no source of the plan", func(q *isolation.Plan) {
			q.Steps[0].Cuts = []isolation.NodeID{
				"motor"}
		}},
		{"an unknown phase", "out of its turn", func(q *isolation.Plan) { q.Steps[0].Phase = "later" }},
		{"an unknown point", "does not have", func(q *isolation.Plan) { q.Steps[0].Point = "x" }},
		{"a point twice", "two steps", func(q *isolation.Plan) { q.Steps[1].Point = q.Steps[0].Point }},
		{"a valve left open", "isolates SHUT", func(q *isolation.Plan) { q.Steps[1].Position = isolation.Open }},
		{"a breaker left closed", "isolates OFF", func(q *isolation.Plan) { q.Steps[0].Position = isolation.Closed }},
		{"another clearance", "the plant needs it", func(q *isolation.Plan) { q.Steps[1].Clearance = isolation.Closed }},
		{"a control put back to on", "left off", func(q *isolation.Plan) {
			q.Steps = append([]isolation.Step{{N: 1, Phase: isolation.PhaseStop, Point: "Q1", Kind: isolation.Breaker,
				Position: isolation.Open, Clearance: isolation.Closed}},
				q.Steps[1:]...)
		}},
		{"a lock forgotten", "lock is false", func(q *isolation.Plan) { q.Steps[1].Lock = false; q.Locks-- }},
		{"a check valve relied on", "does not isolate",
			func(q *isolation.Plan) { q.Steps[2].Point = "NRV"; q.Steps[2].Clearance = "" }},
		{"a point of the work", "part of what is opened", func(q *isolation.Plan) { q.Steps[2].Point = "casing" }},
		{"a cost that is wrong", "counts", func(q *isolation.Plan) { q.Cost = 2 }},
		{"locks that are wrong", "counts", func(q *isolation.Plan) { q.Locks = 1 }},
		{"a bound above the cost", "at least 4", func(q *isolation.Plan) { q.LowerBound = 4 }},
		{"a source not named", "must say of source", func(q *isolation.Plan) { q.Sources = q.Sources[1:] }},
		{"a source too many", "names 4 sources", func(q *isolation.Plan) {
			q.Sources = append(q.Sources,
				isolation.SourceCut{ID: "x"})
		}},
		{"a demand made mild", "must say of source", func(q *isolation.Plan) { q.Sources[0].Demand = "none" }},
		{"a live drain opened", "a source can come to it", func(q *isolation.Plan) {
			q.Steps = append(q.Steps, isolation.Step{N: 4, Phase: isolation.PhaseDrain, Point: "D9", Kind: isolation.Opening,
				Position:  isolation.Open,
				Clearance: isolation.Closed})
		}},
		{"a section that counts on a shut drain", "no step tags open",
			func(q *isolation.Plan) { q.Sections = []isolation.Section{{ID: "s", Drains: []isolation.NodeID{"D9"}}} }},
	} {
		t.Run(tc.name, func(t *testing.T) {
			bad := good
			bad.Steps, bad.Sources = slices.Clone(good.Steps), slices.Clone(good.Sources)
			tc.spoil(&bad)
			proved, err := Prove(p, plantfile.ShippedRules(), bad, isolation.Circumstances{})
			if err == nil || !strings.Contains(err.Error(), tc.want) || !proved.IsZero() {
				t.Errorf("Prove = %v (zero %v), want an error with %q and no plan", err, proved.IsZero(), tc.want)
			}
		})
	}
}
