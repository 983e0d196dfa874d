package proof

import (
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

const twoBreaks = `
plant: fan with a fused disconnector
nodes:
  - {id: board, kind: source, energy: electrical, volt: 6600}
  - {id: Q0, kind: disconnector}
  - {id: Q1, kind: breaker}
  - {id: F1, kind: fuse}
  - {id: fan, kind: consumer}
links:
  - {a: board, b: Q0}
  - {a: Q0, b: Q1}
  - {a: Q1, b: F1}
  - {a: F1, b: fan}
jobs:
  - {id: fan, opens: [fan]}
`

// The load is broken by the breaker, wherever it stands on the cable.
func TestProveRefusesADisconnectorOpenedUnderLoad(t *testing.T) {
	p := readPlant(t, twoBreaks)
	good := makeProved(t, p, "fan", isolation.Circumstances{})
	if len(good.Steps) != 2 || good.Steps[0].Point != "Q1" {
		t.Fatalf("steps = %+v, want the breaker Q1 first of two", good.Steps)
	}
	bad := good
	bad.Steps = []isolation.Step{good.Steps[1], good.Steps[0]}
	bad.Steps[0].N, bad.Steps[1].N = 1, 2
	if _, err := Prove(p, plantfile.ShippedRules(), bad, isolation.Circumstances{}); err == nil ||
		!strings.Contains(err.Error(), "alone may break the load") {
		t.Errorf("Prove with %s before Q1 = %v, want it refused", bad.Steps[0].Point, err)
	}
}

const earthed = `
plant: a motor that is earthed
nodes:
  - {id: board, kind: source, energy: electrical, volt: 690, earthed: true}
  - {id: Q1, kind: breaker}
  - {id: X1, kind: disconnector}
  - {id: E1, kind: earth}
  - {id: motor, kind: consumer}
links:
  - {a: board, b: Q1}
  - {a: Q1, b: X1}
  - {a: X1, b: motor}
  - {a: motor, b: E1}
jobs:
  - {id: motor, opens: [motor]}
`

// TestProveAsksForTheEarth takes from a good plan what makes its earth safe, one thing at a time. (The order of the
// five rules: EN 50110-1, second hand.)
func TestProveAsksForTheEarth(t *testing.T) {
	p := readPlant(t, earthed)
	good := makeProved(t, p, "motor", isolation.Circumstances{})
	if len(good.Steps) != 2 || good.Steps[1].Point != "E1" || good.Steps[1].Phase != isolation.PhaseEarth {
		t.Fatalf("steps = %+v, want Q1 and then the earth E1", good.Steps)
	}
	for _, c := range []struct {
		says  string
		spoil func(*isolation.Plan)
	}{
		{"nothing earths motor", func(b *isolation.Plan) { b.Steps = b.Steps[:1] }},
		{"nothing there is tested dead first", func(b *isolation.Plan) { b.Steps[1].First = nil }},
		{"must be a place for an earth", func(b *isolation.Plan) {
			b.Steps[1].Point, b.Steps[1].Kind = "X1", isolation.Disconnector
			b.Steps[1].Clearance = isolation.Closed
		}},
		{"and it isolates EARTH ON", func(b *isolation.Plan) { b.Steps[1].Position = isolation.Open }},
		{"out of its turn", func(b *isolation.Plan) {
			b.Steps[0], b.Steps[1] = b.Steps[1], b.Steps[0]
			b.Steps[0].N, b.Steps[1].N = 1, 2
		}},
	} {
		bad := good
		bad.Steps = slices.Clone(good.Steps)
		c.spoil(&bad)
		if _, err := Prove(p, plantfile.ShippedRules(), bad, isolation.Circumstances{}); err == nil ||
			!strings.Contains(err.Error(), c.says) {
			t.Errorf("Prove = %v, want it refused with %q", err, c.says)
		}
	}
}

// TestProveRefusesADisconnectorUnderLoad has a plan that opens the disconnector alone, as plans of edition 2 did: it is
// refused today, and a log of that day still holds it to be proved.
func TestProveRefusesADisconnectorUnderLoad(t *testing.T) {
	p := readPlant(t, strings.NewReplacer(", earthed: true", "").Replace(earthed))
	bad := makeProved(t, p, "motor", isolation.Circumstances{})
	bad.Steps = slices.Clone(bad.Steps)
	bad.Steps[0].Point, bad.Steps[0].Kind = "X1", isolation.Disconnector
	if _, err := Prove(p, plantfile.ShippedRules(), bad, isolation.Circumstances{}); err == nil ||
		!strings.Contains(err.Error(), "opens X1 under load") {
		t.Errorf("Prove = %v, want the disconnector under load refused", err)
	}
	if _, err := ProveAs(2, p, plantfile.ShippedRules(), bad, isolation.Circumstances{}); err != nil {
		t.Errorf("ProveAs(2) = %v, want it proved as it was then", err)
	}
}
