package main

import (
	"bytes"
	"encoding/json"
	"os"
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
)

const plants = "../../testdata/plants/"

func TestPlanAnswersByItsExitStatus(t *testing.T) {
	tiny := []string{"--plant", plants + "tiny.yaml", "--job", "P1-seal"}
	for _, tc := range []struct {
		name        string
		args        []string
		status      int
		out, errOut string // parts of what is printed
	}{
		{"a plan", tiny, 0, "No plan with fewer exists", ""},
		{"a plan as JSON", append(slices.Clone(tiny), "--json"), 0, `"feasible": true`, ""},
		{"why a point", append(slices.Clone(tiny), "--why", "V1"), 0, "is in the plan", ""},
		{"why no point", append(slices.Clone(tiny), "--why", "nowhere"), 1, "", "no such node"},
		{"no way to cut", []string{"--plant", plants + "infeasible.yaml", "--job", "seal"}, 2, "tank-b – NRV – pump", ""},
		{"no way to cut, as JSON", []string{"--plant", plants + "infeasible.yaml", "--job", "seal", "--json"}, 2,
			`"feasible": false`, ""},
		{"a passing point", append(slices.Clone(tiny), "--passing", "V1"), 2, "recorded as passing", ""},
		{"a passing point that is not there", append(slices.Clone(tiny), "--passing", "V1,V77"), 1, "", "no node V77"},
		{"an unknown job", []string{"--plant", plants + "tiny.yaml", "--job", "x"}, 1, "", "no such job; it has P1-seal"},
		{"a broken plant", []string{"--plant", plants + "broken-dangling.yaml", "--job", "x"}, 1, "",
			"broken-dangling.yaml:"},
		{"no plant", []string{"--plant", plants + "none.yaml", "--job", "x"}, 1, "", "none.yaml"},
		{"no rules", append(slices.Clone(tiny), "--rules", "none.yaml"), 1, "", "read rules"},
		{"no job", []string{"--plant", plants + "tiny.yaml"}, 1, "", "--job ID"},
		{"an unknown flag", []string{"--plan"}, 1, "", "--help"},
		{"a word too many", append(slices.Clone(tiny), "now"), 1, "", `"now" is not understood`},
		{"help", []string{"--help"}, 0, "stillwatch plan [flags]", ""},
	} {
		t.Run(tc.name, func(t *testing.T) {
			var out, errOut bytes.Buffer
			status := run(append([]string{"plan"}, tc.args...), &out, &errOut)
			if status != tc.status || !strings.Contains(out.String(), tc.out) || !strings.Contains(errOut.String(), tc.errOut) {
				t.Errorf("plan %v = %d, %q, %q; want %d with %q and %q", tc.args, status, out.String(), errOut.String(), tc.status,
					tc.out, tc.errOut)
			}
			if (status == 1) != (errOut.Len() > 0) {
				t.Errorf("plan %v = %d with %q on stderr, want words there with status 1 only", tc.args, status, errOut.String())
			}
		})
	}
}

func TestPlanPrintsOneJSONObject(t *testing.T) {
	var out, errOut bytes.Buffer
	if status := run([]string{"plan", "--plant", plants + "infeasible.yaml", "--job", "seal", "--json"}, &out,
		&errOut); status != 2 {
		t.Fatalf("plan = %d, %s; want 2", status, errOut.String())
	}
	var plan isolation.Plan
	if err := json.Unmarshal(out.Bytes(), &plan); err != nil {
		t.Fatal(err)
	}
	if want := []isolation.NodeID{"tank-b", "NRV", "pump"}; plan.Feasible || !slices.Equal(plan.Uncut, want) ||
		len(plan.Steps) != 0 {
		t.Errorf("feasible %v, uncut %v, %d steps; want no plan and the way %v", plan.Feasible, plan.Uncut, len(plan.Steps),
			want)
	}
	for _, list := range []string{`"steps": []`, `"lost": []`, `"sections": []`} {
		if !strings.Contains(out.String(), list) {
			t.Errorf("plan prints %s, want %s in it, not null", out.String(), list)
		}
	}
}

func TestDrainForetellsASection(t *testing.T) {
	var out, errOut bytes.Buffer
	if status := run([]string{"drain", "--plant", plants + "tiny.yaml", "--job", "P1-seal"}, &out, &errOut); status != 0 ||
		!strings.Contains(out.String(), "held 5.68 L") {
		t.Errorf("drain = %d, %q, %q; want 0 with 5.68 L held", status, out.String(), errOut.String())
	}
	out.Reset()
	args := []string{"drain", "--plant", plants + "infeasible.yaml", "--job", "seal"}
	if status := run(args, &out, &errOut); status != 2 {
		t.Errorf("drain of a job without a plan = %d, want 2", status)
	}
}

// What another permit holds is shared, and what stands behind it is left alone.
func TestPlanSharesWhatIsHeld(t *testing.T) {
	plant := t.TempDir() + "/line.yaml"
	text := "plant: line\nnodes:\n  - {id: tank, kind: source, energy: fuel}\n  - {id: W, kind: valve}\n  - {id: P, " +
		"kind: valve}\n  - {id: casing, kind: vessel}\n" +
		"links:\n  - {a: tank, b: W}\n  - {a: W, b: P}\n  - {a: P, b: casing}\njobs:\n  - {id: seal, opens: [casing]}\n"
	if err := os.WriteFile(plant, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, tc := range []struct {
		held   string
		status int
		want   string
	}{
		{"12:W", 0, "Permit 12 also holds W SHUT"},
		{"W", 1, "lacks the permit's number"},
		{"12:X", 1, "no node X"},
	} {
		var out bytes.Buffer
		if status := run([]string{"plan", "--plant", plant, "--job", "seal", "--held", tc.held}, &out,
			&out); status != tc.status || !strings.Contains(out.String(), tc.want) {
			t.Errorf("plan --held %s = %d, %q; want %d with %q", tc.held, status, out.String(), tc.status, tc.want)
		}
	}
}
