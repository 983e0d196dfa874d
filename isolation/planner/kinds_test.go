package planner

import (
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/atmosphere"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
)

// TestPlanSaysOfWhichKindsTheWorkIs: the receiver is entered and welded, so its plan is of both kinds, asks every
// measure of both, looks at the adjoining spaces, and has the air tested at every level, the further gas included.
func TestPlanSaysOfWhichKindsTheWorkIs(t *testing.T) {
	plan := makeProved(t, readFile(t, demoPlant), "R1-weld", isolation.Circumstances{})
	if !slices.Equal(plan.Kinds, []isolation.WorkKind{isolation.WorkHot, isolation.WorkEntry}) {
		t.Errorf("Kinds = %v, want hot work and entry", plan.Kinds)
	}
	want := 2 // adjoining spaces
	for _, r := range plan.WorkRows() {
		want += len(r.Measures)
	}
	got := 0
	for _, c := range plan.Stored {
		if c.Stored.Kind == isolation.KindMeasure {
			got++
		}
	}
	if got != want {
		t.Errorf("%d measures are asked, want %d", got, want)
	}
	if plan.Air == nil || !slices.Equal(plan.Air.Levels, []string{"at the work", "top", "middle", "bottom"}) {
		t.Fatalf("Air = %+v, want four levels", plan.Air)
	}
	if !slices.ContainsFunc(plan.Air.Limits, func(l atmosphere.Limit) bool { return l.Gas == "NO2" && l.Most == 0.25 }) {
		t.Errorf("the air is judged by %+v, want half of the limit of NO2 among it", plan.Air.Limits)
	}
}

// TestEntryWithFireIsCutByTheStricterRule: the shipped rules ask for a blank against everything before entry; a company
// may ask for less there and for more before fire. Whoever does both is under both. Edition 5 took the exposure's rule
// alone.
func TestEntryWithFireIsCutByTheStricterRule(t *testing.T) {
	p := readFile(t, demoPlant)
	for name, asks := range map[string][2]string{"fire asks for more": {"blank", "double"},
		"entry asks for more": {"single", "blank"}} {
		r := companyRules(t, "  - {exposure: hot work, demand: "+asks[0]+", because: fire}\n"+
			"  - {exposure: enter, demand: "+asks[1]+", because: entry}\n")
		r.AirRules, r.AirEveryMin, r.AirBreakMin = "MSC.581(110)", 60, 30
		plan, err := Make(p, r, "R1-weld", isolation.Circumstances{})
		if err != nil {
			t.Fatal(err)
		}
		for _, s := range plan.Sources {
			if s.Demand != isolation.DemandBlank || !s.Met {
				t.Errorf("%s: %s is cut by %s, because %s; want a blank", name, s.ID, s.Demand, s.Because)
			}
		}
		if _, err := proof.Prove(p, r, plan, isolation.Circumstances{}); err != nil {
			t.Errorf("%s: Prove = %v", name, err)
		}
	}
	r := companyRules(t, "  - {exposure: hot work, demand: blank, because: fire}\n")
	r.AirRules, r.AirEveryMin, r.AirBreakMin = "MSC.581(110)", 60, 30
	job := p.Job("R1-weld")
	kinds := job.WorkKinds
	job.WorkKinds = nil
	weak, err := Make(p, r, "R1-weld", isolation.Circumstances{})
	if err != nil || weak.Locks != 3 {
		t.Fatalf("Make of the entry alone = %d locks, %v, want 3 valves", weak.Locks, err)
	}
	job.WorkKinds = kinds
	full := makeProved(t, p, "R1-weld", isolation.Circumstances{})
	weak.Kinds, weak.Stored, weak.Air = full.Kinds, append(weak.Stored, full.Stored...), full.Air
	if _, err := proof.Prove(p, r, weak, isolation.Circumstances{}); err == nil ||
		!strings.Contains(err.Error(), "its demand is blank") {
		t.Errorf("Prove of valves alone before fire = %v, want that a blank is asked for", err)
	}
	if _, err := proof.ProveAs(5, p, r, weak, isolation.Circumstances{}); err != nil {
		t.Errorf("edition 5 asks what edition 6 brought: %v", err)
	}
}

// TestWorkAbove1000VIsOfItsOwnKind: high voltage is above 1000 V (STCW, from memory).
func TestWorkAbove1000VIsOfItsOwnKind(t *testing.T) {
	p := readFile(t, demoPlant)
	for job, want := range map[string]isolation.WorkKind{"TH1-motor": isolation.WorkHighVoltage,
		"SW1-drive": isolation.WorkElectrical} {
		if plan := makeProved(t, p, job, isolation.Circumstances{}); !slices.Contains(plan.Kinds, want) {
			t.Errorf("%s is of the kinds %v, want %s among them", job, plan.Kinds, want)
		}
	}
}

// TestLiveWorkIsANamedDeviation: it has its reason, for which the officer and the chief engineer answer on every
// permit, and the master countersigns (EN 50110-1, second hand: live work only where it cannot be done dead).
func TestLiveWorkIsANamedDeviation(t *testing.T) {
	p := readFile(t, demoPlant)
	j := p.Job("SW1-drive")
	j.WorkKinds, j.LiveBecause = append(j.WorkKinds, isolation.WorkLive), "the fault shows only with the fan running"
	plan := makeProved(t, p, "SW1-drive", isolation.Circumstances{})
	i := slices.IndexFunc(plan.Unproved, func(u isolation.Unproved) bool { return u.Kind == isolation.UnprovedLive })
	if i < 0 || !strings.Contains(plan.Unproved[i].Words, "only with the fan running") {
		t.Fatalf("Unproved = %+v, want the reason of the live work", plan.Unproved)
	}
	if r, _ := isolation.WorkLive.Row(); !r.Master || !slices.Contains(plan.Kinds, isolation.WorkLive) {
		t.Errorf("the plan is of %v and the master countersigns: %t", plan.Kinds, r.Master)
	}
	plan.Unproved = slices.Delete(slices.Clone(plan.Unproved), i, i+1)
	if _, err := proof.Prove(p, plantfile.ShippedRules(), plan, isolation.Circumstances{}); err == nil {
		t.Error("a plan that says nothing of the live conductors was proved")
	}
}

// TestProofRefusesEntryBehindWhatOpeningAsksFor has a plan of a job that no plant file may hold, made before it was
// such. It is refused for what the sources are cut by, and also where the rules ask for the same of all work.
func TestProofRefusesEntryBehindWhatOpeningAsksFor(t *testing.T) {
	for _, kind := range []isolation.WorkKind{isolation.WorkEntry, isolation.WorkHot} {
		p := readFile(t, demoPlant)
		plan := makeProved(t, p, "S1-bowl", isolation.Circumstances{})
		p.Job("S1-bowl").WorkKinds = []isolation.WorkKind{kind}
		_, err := proof.Prove(p, plantfile.ShippedRules(), plan, isolation.Circumstances{})
		if err == nil || !strings.Contains(err.Error(), "its demand is blank") {
			t.Errorf("%s by exposure open: Prove = %v, want it refused", kind, err)
		}
		lax := companyRules(t, "")
		if plan, err = Make(p, lax, "S1-bowl", isolation.Circumstances{}); err != nil {
			t.Fatal(err)
		}
		if _, err = proof.Prove(p, lax, plan, isolation.Circumstances{}); err == nil ||
			!strings.Contains(err.Error(), "are cut as for work") {
			t.Errorf("%s by exposure open under one rule for all: Prove = %v, want it refused", kind, err)
		}
	}
}

// TestProofRefusesAPlanThatAsksLessThanItsKinds takes one thing after the other out of a good plan.
func TestProofRefusesAPlanThatAsksLessThanItsKinds(t *testing.T) {
	p := readFile(t, demoPlant)
	good := makeProved(t, p, "R1-weld", isolation.Circumstances{})
	spoilt := map[string]func(*isolation.Plan, *isolation.AirTest){
		"hot work is left out": func(q *isolation.Plan, _ *isolation.AirTest) { q.Kinds = q.Kinds[1:] },
		"a kind that nobody knows": func(q *isolation.Plan, _ *isolation.AirTest) {
			q.Kinds = append(slices.Clone(q.Kinds), "diving")
		},
		"no air test":       func(q *isolation.Plan, _ *isolation.AirTest) { q.Air = nil },
		"the milder set":    func(_ *isolation.Plan, a *isolation.AirTest) { a.RuleSet = "A.1050(27)" },
		"a level left out":  func(_ *isolation.Plan, a *isolation.AirTest) { a.Levels = a.Levels[:3] },
		"a gas left out":    func(_ *isolation.Plan, a *isolation.AirTest) { a.Limits = a.Limits[:4] },
		"tested less often": func(_ *isolation.Plan, a *isolation.AirTest) { a.EveryS = 3601 },
		"a longer break":    func(_ *isolation.Plan, a *isolation.AirTest) { a.BreakS = 1801 },
		"never again":       func(_ *isolation.Plan, a *isolation.AirTest) { a.EveryS = 0 },
		"less oxygen will do": func(_ *isolation.Plan, a *isolation.AirTest) {
			a.Limits = slices.Clone(a.Limits)
			a.Limits[0].Least = 19.5
		},
	}
	for name, spoil := range spoilt {
		bad := good
		air := *good.Air
		air.Limits = slices.Clone(air.Limits)
		bad.Air = &air
		spoil(&bad, &air)
		if _, err := proof.Prove(p, plantfile.ShippedRules(), bad, isolation.Circumstances{}); err == nil {
			t.Errorf("%s: the plan was proved", name)
		} else if _, err := proof.ProveAs(4, p, plantfile.ShippedRules(), bad, isolation.Circumstances{}); err == nil ||
			!strings.Contains(err.Error(), "entry permit") {
			t.Errorf("%s: by edition 4, ProveAs = %v, want what that edition asked of an entry", name, err)
		}
	}
}
