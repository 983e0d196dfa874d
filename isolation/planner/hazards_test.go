package planner

import (
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

// hazard is one adversarial plant with what its plan must contain and must never say.
type hazard struct {
	file  string   // in testdata/plants/hazards
	steps []string // as shown writes them; nil: there is no plan
	says  []string // words that stand somewhere in the plan
	never []string // words that stand nowhere in it
}

var hazards = []hazard{
	{"01-check-valve-alone", nil, []string{"a check valve does not isolate"}, []string{"nothing to isolate"}},
	{"01-air-gap", []string{"lock V1 closed"}, nil, []string{"Live header"}},
}

// Each plant's own head says in words what is expected and why.
func TestHazardsThatTheGraphDoesNotShow(t *testing.T) {
	covered := map[string]bool{}
	for _, h := range hazards {
		covered[h.file] = true
		t.Run(h.file, func(t *testing.T) {
			p := readFile(t, "../../testdata/plants/hazards/"+h.file+".yaml")
			for _, j := range p.Jobs {
				h.hold(t, p, j.ID)
			}
		})
	}
	files, err := filepath.Glob("../../testdata/plants/hazards/*.yaml")
	if err != nil || len(files) == 0 {
		t.Fatalf("found %d plants, %v", len(files), err)
	}
	for _, f := range files {
		if !covered[strings.TrimSuffix(filepath.Base(f), ".yaml")] {
			t.Errorf("nothing is expected of %s", f)
		}
	}
}

// hold makes the plan of a job, has it proved, and holds it against what is expected.
func (h hazard) hold(t *testing.T, p *isolation.Plant, job string) {
	t.Helper()
	plan, err := Make(p, plantfile.ShippedRules(), job, isolation.Circumstances{})
	if err != nil {
		t.Fatal(err)
	}
	if plan.Feasible != (h.steps != nil) {
		t.Fatalf("Make(%s) feasible %v, want %v: %s", job, plan.Feasible, h.steps != nil, plan.Words)
	}
	if plan.Feasible {
		plan = makeProved(t, p, job, isolation.Circumstances{})
		if got := shown(plan); !slices.Equal(got, h.steps) {
			t.Errorf("Make(%s) steps\n%s\nwant\n%s", job, strings.Join(got, "\n"), strings.Join(h.steps, "\n"))
		}
	}
	all := plainly(plan)
	for _, w := range h.says {
		if !strings.Contains(all, w) {
			t.Errorf("Make(%s) does not say %q:\n%s", job, w, all)
		}
	}
	for _, w := range h.never {
		if strings.Contains(all, w) {
			t.Errorf("Make(%s) says %q:\n%s", job, w, all)
		}
	}
}
