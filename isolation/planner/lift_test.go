package planner

import (
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"

	"pgregory.net/rapid"
)

// TestOnlyWhatTheTestNeedsComesOff runs the drives of the demo's machines for a test. (29 CFR 1910.147(f)(1), read.)
func TestOnlyWhatTheTestNeedsComesOff(t *testing.T) {
	p := readFile(t, demoPlant)
	for _, tc := range []struct {
		job   string
		run   isolation.NodeID
		off   []isolation.NodeID // points, in the order in which they come off
		comes []isolation.NodeID
	}{
		{"S1-bowl", "S1-motor", []isolation.NodeID{"S1-Q1", "S1-S1", "S1-S2"}, nil},
		{"S1-bowl", "S1-pump-motor", []isolation.NodeID{"S1-Q2", "S1-S1", "S1-S2"}, nil},
		{"TH1-motor", "TH1-motor", []isolation.NodeID{"TH1-E2", "TH1-E1", "TH1-X1", "TH1-Q1", "TH1-S1"}, nil},
		{"TH1-motor", "TH1-heat", []isolation.NodeID{"TH1-Q2", "TH1-S1"}, nil},
	} {
		plan := makeProved(t, p, tc.job, isolation.Circumstances{})
		l, err := Lift(p, &plan, tc.run)
		if err != nil {
			t.Fatal(err)
		}
		var off, comes []isolation.NodeID
		for _, n := range l.Steps {
			off = append(off, plan.Steps[n-1].Point)
		}
		for _, c := range l.Comes {
			comes = append(comes, c.Node)
		}
		slices.Sort(off)
		want := slices.Sorted(slices.Values(tc.off))
		if !slices.Equal(off, want) || !slices.Equal(comes, tc.comes) {
			t.Errorf("%s: for %s come off %v with something at %v, want %v and %v", tc.job, tc.run, off, comes, want, tc.comes)
		}
		if err := proof.Lifted(p, &plan, l); err != nil {
			t.Errorf("%s: Lifted = %v", tc.job, err)
		}
	}
	plan := makeProved(t, p, "S1-bowl", isolation.Circumstances{})
	for _, run := range []isolation.NodeID{"S1-bowl", "nothing", "S1-actuator"} {
		if l, err := Lift(p, &plan, run); err == nil {
			t.Errorf("Lift(%s) = %v, want it refused", run, l)
		}
	}
}

// TestLiftingIsCheckedByItself spoils what comes off, one thing at a time, and wants the second algorithm to say so.
func TestLiftingIsCheckedByItself(t *testing.T) {
	p := readFile(t, demoPlant)
	plan := makeProved(t, p, "TH1-motor", isolation.Circumstances{})
	good, err := Lift(p, &plan, "TH1-motor")
	if err != nil {
		t.Fatal(err)
	}
	at := func(point isolation.NodeID) int {
		return 1 + slices.IndexFunc(plan.Steps, func(s isolation.Step) bool { return s.Point == point })
	}
	without := func(n int) []int {
		return slices.DeleteFunc(slices.Clone(good.Steps), func(m int) bool { return m == n })
	}
	with := func(n int) []int {
		more := append(slices.Clone(good.Steps), n)
		slices.Sort(more)
		slices.Reverse(more)
		return more
	}
	for name, tc := range map[string]struct {
		steps []int
		says  string
	}{
		"a breaker stays":       {without(at("TH1-Q1")), "no current comes"},
		"an earth stays":        {without(at("TH1-E2")), "the earth of step"},
		"the heater's goes too": {with(at("TH1-Q2")), "runs without that"},
		"the lowest first":      {slices.Sorted(slices.Values(good.Steps)), "out of its turn"},
		"a step of no plan":     {[]int{99}, "is none"},
	} {
		bad := good
		bad.Steps = tc.steps
		if err := proof.Lifted(p, &plan, bad); err == nil || !strings.Contains(err.Error(), tc.says) {
			t.Errorf("%s: Lifted = %v, want %q", name, err, tc.says)
		}
	}
}

// TestLiftingAgreesOnDrivenPlants holds the two algorithms against each other on random plants.
func TestLiftingAgreesOnDrivenPlants(t *testing.T) {
	lifted := 0
	rapid.Check(t, func(t *rapid.T) {
		text := drivenPlant(t)
		p, err := plantfile.Read("driven", []byte(text))
		if err != nil {
			t.Skip(err)
		}
		plan, err := Make(p, plantfile.ShippedRules(), "j", isolation.Circumstances{})
		if err != nil || !plan.Feasible {
			return
		}
		for _, run := range plan.Runs(p) {
			l, err := Lift(p, &plan, run)
			if err != nil {
				t.Fatalf("Lift(%s) = %v\n%s\n%s", run, err, text, plainly(plan))
			}
			if err := proof.Lifted(p, &plan, l); err != nil {
				t.Fatalf("Lifted(%s, %v) = %v\n%s\n%s", run, l, err, text, plainly(plan))
			}
			lifted++
		}
	})
	if lifted == 0 {
		t.Error("nothing was lifted")
	}
}
