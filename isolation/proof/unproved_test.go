package proof

import (
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

// What the file is silent about the plan must speak of. The machine has a second drive on another board, a pocket that
// no drain reaches, and a pump that nothing feeds.
const silent = `
plant: gearbox and pump
nodes:
  - {id: board, kind: source, energy: electrical, volt: 440}
  - {id: control, kind: source, energy: electrical, volt: 230}
  - {id: tank, kind: source, energy: lube, gauge_bar: 2}
  - {id: Q1, kind: breaker}
  - {id: motor, kind: consumer}
  - {id: gearbox, kind: junction}
  - {id: V1, kind: valve}
  - {id: casing, kind: vessel}
  - {id: Q2, kind: breaker}
  - {id: brake, kind: consumer}
  - {id: lonely, kind: vessel}
links:
  - {a: board, b: Q1}
  - {a: Q1, b: motor}
  - {a: motor, b: gearbox}
  - {a: gearbox, b: casing}
  - {a: tank, b: V1, bore_mm: 25}
  - {a: V1, b: casing, bore_mm: 25}
  - {a: control, b: Q2}
  - {a: Q2, b: brake}
machines:
  - {id: G, nodes: [casing, motor, brake]}
jobs:
  - {id: seal, machine: G, opens: [casing], live: [{id: brake, because: It holds the load}]}
  - {id: lid, opens: [lonely]}
`

func TestProveRefusesAPlanThatIsSilent(t *testing.T) {
	p := readPlant(t, silent)
	for _, tc := range []struct {
		job, kind, want string
		node            isolation.NodeID
	}{
		{"seal", isolation.UnprovedDrive, "keeps its supply", "brake"},
		{"seal", isolation.UnprovedWayOut, "nothing drains or vents casing", "casing"},
		{"lid", isolation.UnprovedSource, "proves nothing", ""},
	} {
		good := makeProved(t, p, tc.job, isolation.Circumstances{})
		at := slices.IndexFunc(good.Unproved, func(u isolation.Unproved) bool {
			return u.Kind == tc.kind &&
				u.Node == tc.node
		})
		if at < 0 {
			t.Errorf("%s: unproved %+v, want %s of %q", tc.job, good.Unproved, tc.kind, tc.node)
			continue
		}
		bad := good
		bad.Unproved = slices.Delete(slices.Clone(good.Unproved), at, at+1)
		if _, err := Prove(p, plantfile.ShippedRules(), bad, isolation.Circumstances{}); err == nil ||
			!strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s without what it says of %q: Prove = %v, want an error with %q", tc.job, tc.node, err, tc.want)
		}
	}
}

// The motor is no part of the work: it stands behind the gearbox, and is tested dead all the same.
func TestProveWantsEveryElectricalCutTestedDead(t *testing.T) {
	p := readPlant(t, silent)
	good := makeProved(t, p, "seal", isolation.Circumstances{})
	if len(good.DeadTests) != 1 || good.DeadTests[0].Node != "motor" || good.DeadTests[0].Volt != 440 {
		t.Fatalf("dead tests = %+v, want the motor at 440 V", good.DeadTests)
	}
	for _, tc := range []struct {
		name, want string
		tests      []isolation.DeadTest
	}{
		{"none", "nothing behind it is tested dead", nil},
		{"of another circuit", "current comes to it", []isolation.DeadTest{{ID: "x", Node: "brake"}}},
		{"of nothing", "does not have it", []isolation.DeadTest{{ID: "x", Node: "x"}}},
		{"of a pipe", "nothing behind it is tested dead", []isolation.DeadTest{{ID: "x", Node: "V1"}}},
	} {
		bad := good
		bad.DeadTests = tc.tests
		if _, err := Prove(p, plantfile.ShippedRules(), bad, isolation.Circumstances{}); err == nil ||
			!strings.Contains(err.Error(), tc.want) {
			t.Errorf("a test %s: Prove = %v, want an error with %q", tc.name, err, tc.want)
		}
	}
}
