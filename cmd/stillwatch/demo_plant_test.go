package main

import (
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
)

func readDemoPlant(t *testing.T) *isolation.Plant {
	t.Helper()
	text, err := os.ReadFile("demo/plant.yaml")
	if err != nil {
		t.Fatal(err)
	}
	p, err := plantfile.Read("plant.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func demoPlan(t *testing.T, p *isolation.Plant, job string) *isolation.Plan {
	t.Helper()
	rules := plantfile.ShippedRules()
	plan, err := planner.Make(p, rules, job, isolation.Circumstances{})
	if err != nil {
		t.Fatalf("plan %s: %v", job, err)
	}
	if _, err := proof.Prove(p, rules, plan, isolation.Circumstances{}); err != nil {
		t.Fatalf("prove %s: %v", job, err)
	}
	return &plan
}

func TestDemoPlantIsAnEngineRoomWithAPlaceForEveryPoint(t *testing.T) {
	p := readDemoPlant(t)
	if got := len(p.Nodes); got < 150 {
		t.Errorf("the demo plant has %d nodes, want at least 150", got)
	}
	points := 0
	for _, n := range p.Points() {
		if n.Kind.IsPoint() {
			points++
		}
		if n.Place.IsZero() {
			t.Errorf("%s has no place", n.ID)
		}
		if n.Kind.IsPoint() && !n.Lockable && n.Measure == "" {
			t.Errorf("%s takes no lock and names no further measure", n.ID)
		}
	}
	if points < 60 {
		t.Errorf("the demo plant has %d points, want at least 60", points)
	}
}

func TestEveryDemoJobHasAProvedPlanAtItsLowerBound(t *testing.T) {
	p := readDemoPlant(t)
	for _, j := range p.Jobs {
		t.Run(j.ID, func(t *testing.T) {
			plan := demoPlan(t, p, j.ID)
			if plan.Cost != plan.LowerBound {
				t.Errorf("plan %s costs %d with the bound %d, want the bound reached", j.ID, plan.Cost, plan.LowerBound)
			}
			for _, s := range plan.Sections {
				if !s.Provable {
					t.Errorf("section %s cannot be proved empty: %s", s.Name, s.Why)
				}
			}
			if len(j.Hazards) == 0 || len(j.Precautions) == 0 || len(j.Protective) == 0 {
				t.Errorf("job %s says nothing of hazards, precautions or protective equipment", j.ID)
			}
		})
	}
}

// The order of the trade (common practice, no source): breakers; operating and displacement water; oil inlet and
// outlet; the sludge outlet when the bowl stands; then the drains of both oil lines.
func TestSeparatorPlansFollowTheTrade(t *testing.T) {
	p := readDemoPlant(t)
	for _, s := range []string{"S1", "S2", "L1"} {
		t.Run(s, func(t *testing.T) {
			plan := demoPlan(t, p, s+"-bowl")
			at := func(point string) int {
				i := slices.IndexFunc(plan.Steps, func(st isolation.Step) bool { return st.Point == isolation.NodeID(s+"-"+point) })
				if i < 0 {
					t.Fatalf("%s-%s is not in the plan", s, point)
				}
				return i
			}
			standby := s == "S2" // it stands: its feed pump does not run, and its heater is cold
			breakers := []string{"Q1", "Q2"}
			if standby {
				breakers = breakers[:1]
			}
			groups := [][]string{breakers, {"V6", "V7"}, {"V1", "V2", "V3"}, {"V8"}, {"D1", "D2"}}
			for i := 1; i < len(groups); i++ {
				for _, before := range groups[i-1] {
					for _, after := range groups[i] {
						if at(before) > at(after) {
							t.Errorf("%s comes after %s, want before it", before, after)
						}
					}
				}
			}
			at("V9") // control air
			if standby {
				return
			}
			for _, heat := range []string{"V11", "V12"} { // steam and condensate, before the oil stands still
				if at(heat) > at("V1") {
					t.Errorf("%s comes after V1, want the heat off first", heat)
				}
			}
		})
	}
}

func TestASeparatorsInletHoldsMoreThanItsOutlet(t *testing.T) {
	p := readDemoPlant(t)
	for _, s := range []string{"S1", "S2", "L1"} {
		trapped := map[bool]float64{}
		for _, sec := range demoPlan(t, p, s+"-bowl").Sections {
			for _, inlet := range []bool{true, false} {
				pipe := isolation.NodeID(s + "-outlet-pipe")
				if inlet {
					pipe = isolation.NodeID(s + "-inlet-pipe")
				}
				if slices.Contains(sec.Nodes, pipe) {
					trapped[inlet] += sec.TrappedL
				}
			}
		}
		if !(trapped[true] > 2*trapped[false] && trapped[false] > 0) {
			t.Errorf("%s: the inlet line holds %.1f L and the outlet line %.1f L, want far more in the inlet", s, trapped[true],
				trapped[false])
		}
	}
}

var barFigure = regexp.MustCompile(`([0-9.]+) bar`)

// mostBar returns the highest pressure that a text names; 0 where it names none.
func mostBar(t *testing.T, text string) float64 {
	t.Helper()
	most := 0.0
	for _, m := range barFigure.FindAllStringSubmatch(text, -1) {
		v, err := strconv.ParseFloat(m[1], 64)
		if err != nil {
			t.Fatal(err)
		}
		most = max(most, v)
	}
	return most
}

// TestPressuresOfAPointAgree holds what a step says that its point bears against what would come if the point passed:
// two figures for one valve on one paper are one too many. Where two stand in series the second lets nothing through,
// and where the others hold fewer sources may remain: never more is named than the step says.
func TestPressuresOfAPointAgree(t *testing.T) {
	p := readDemoPlant(t)
	for _, job := range p.Jobs {
		plan, same := demoPlan(t, p, job.ID), 0
		for _, pass := range plan.Passes {
			i := slices.IndexFunc(plan.Steps, func(s isolation.Step) bool { return s.Point == pass.Point })
			bears, comes := mostBar(t, plan.Steps[i].Why), mostBar(t, pass.Words)
			if comes > bears {
				t.Errorf("%s: %s bears %g bar by its step, and %g bar if it passed", job.ID, pass.Point, bears, comes)
			}
			if comes == bears {
				same++
			}
		}
		if same*2 < len(plan.Passes) {
			t.Errorf("%s: of %d points only %d have one pressure on the paper", job.ID, len(plan.Passes), same)
		}
	}
}

// TestFirstOfTwoSaysWhatItHoldsAlone reads the words of each outer point: a valve that is one of two against steam can
// be the only one against what comes back in the condensate main, and whoever shuts it must know.
func TestFirstOfTwoSaysWhatItHoldsAlone(t *testing.T) {
	p := readDemoPlant(t)
	seen := 0
	for _, job := range p.Jobs {
		plan := demoPlan(t, p, job.ID)
		for _, s := range plan.Steps {
			if !strings.HasPrefix(s.Why, "The first of two") {
				continue
			}
			alone := slices.ContainsFunc(plan.Sources, func(c isolation.SourceCut) bool {
				return c.Demand == isolation.DemandSingle && slices.Contains(s.Cuts, c.ID)
			})
			if alone != strings.Contains(s.Why, "Alone it holds back") {
				t.Errorf("%s: %s cuts %v and says %q", job.ID, s.Point, s.Cuts, s.Why)
			}
			seen++
		}
	}
	if seen == 0 {
		t.Error("no plan has two in series")
	}
}
