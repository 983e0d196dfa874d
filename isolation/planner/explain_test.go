package planner

import (
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

func TestWhySaysWhatAPointIsForAndWhatItWouldCostWithout(t *testing.T) {
	p := readPlant(t, `
plant: why
nodes:
  - {id: tank, kind: source, energy: fuel}
  - {id: F, kind: valve}
  - {id: V0, kind: valve}
  - {id: a, kind: junction}
  - {id: V1, kind: valve}
  - {id: V2, kind: valve}
  - {id: work, kind: vessel}
  - {id: NRV, kind: check-valve}
  - {id: V3, kind: valve}
  - {id: V4, kind: valve, lockable: false}
  - {id: D, kind: opening}
  - {id: S, kind: switch}
links:
  - {a: tank, b: F}
  - {a: F, b: V0}
  - {a: V0, b: a}
  - {a: a, b: V1}
  - {a: a, b: V2}
  - {a: V1, b: work}
  - {a: V2, b: work}
  - {a: work, b: NRV}
  - {a: NRV, b: V3}
  - {a: work, b: V4}
  - {a: work, b: D}
machines:
  - {id: M, name: Machine, nodes: [work], controls: [S]}
jobs:
  - {id: j, machine: M, opens: [work]}
`)
	for _, tc := range []struct {
		point   isolation.NodeID
		passing []isolation.NodeID
		want    string
	}{
		{"V0", nil, "is in the plan. Holds back fuel from tank. F in place of V0 would take as many points, but"},
		{"V0", []isolation.NodeID{"F"}, "Without it the plan would need 2 points instead of 1: V1 and V2 in place of V0"},
		{"V0", []isolation.NodeID{"F", "V1"}, "Without it there is no plan: tank cannot be isolated from work"},
		{"V1", nil, "Shutting it as well would save no other point: the plan would have 2 points instead of 1"},
		{"F", nil, "could take the place of V0 in a plan of 1 point"},
		{"V3", nil, "Shutting it as well would save no other point: the plan would have 2 points instead of 1"},
		{"V1", []isolation.NodeID{"V1"}, "recorded as passing"},
		{"NRV", nil, "a check valve does not isolate"},
		{"V4", nil, "takes no lock"},
		{"D", nil, "tagged OPEN in step 3"},
		{"S", nil, "a control is tagged but never isolates"},
		{"work", nil, "part of what is opened"},
		{"a", nil, "is a junction, which isolates nothing"},
	} {
		got, err := Why(p, plantfile.ShippedRules(), "j", isolation.Circumstances{Passing: tc.passing}, tc.point)
		if err != nil || !strings.Contains(got, tc.want) {
			t.Errorf("Why(%s, passing %v) = %q, %v; want %q in it", tc.point, tc.passing, got, err, tc.want)
		}
	}
	if _, err := Why(p, plantfile.ShippedRules(), "j", isolation.Circumstances{}, "nowhere"); err == nil {
		t.Error("Why(nowhere) = nil, want an error")
	}
	if _, err := Why(p, plantfile.ShippedRules(), "x", isolation.Circumstances{}, "V0"); err == nil {
		t.Error("Why of an unknown job = nil, want an error")
	}
}

func TestWhySaysThatThereIsNoPlanAtAll(t *testing.T) {
	p := readFile(t, "../../testdata/plants/infeasible.yaml")
	got, err := Why(p, plantfile.ShippedRules(), "seal", isolation.Circumstances{}, "V1")
	if err != nil || !strings.Contains(got, "There is no plan, with or without") {
		t.Errorf("Why(V1) = %q, %v; want it to say that there is no plan", got, err)
	}
}
