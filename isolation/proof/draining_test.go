package proof

import (
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

// cockedLine is a steam line whose drain between the two valves stands behind a cock that is normally shut.
var cockedLine = strings.NewReplacer("  - {id: V2,", "  - {id: C1, kind: valve, normal: closed}\n  - {id: V2,",
	"{a: leg, b: D1}", "{a: leg, b: C1}\n  - {a: C1, b: D1}").Replace(steamLine)

// A drain behind a shut cock bleeds nothing: the cock is opened and tagged, or the two valves have no bleed between
// them.
func TestProveCountsNoBleedThroughACockThatStandsShut(t *testing.T) {
	p := readPlant(t, cockedLine)
	good := makeProved(t, p, "tubes", isolation.Circumstances{})
	at := slices.IndexFunc(good.Steps, func(s isolation.Step) bool { return s.Point == "C1" })
	if at < 0 || good.Steps[at].Phase != isolation.PhaseDrain || good.Steps[at].Position != isolation.Open ||
		good.Steps[at].Clearance != isolation.Closed {
		t.Fatalf("steps = %+v, want C1 opened with the drains and shut again after", good.Steps)
	}
	if _, err := Prove(p, plantfile.ShippedRules(), without(good, at), isolation.Circumstances{}); err == nil ||
		!strings.Contains(err.Error(), "has less") {
		t.Errorf("Prove without C1 = %v, want that the way has less", err)
	}
	bad := good
	bad.Steps = slices.Clone(good.Steps)
	bad.Steps[at].Position = isolation.Closed
	if _, err := Prove(p, plantfile.ShippedRules(), bad, isolation.Circumstances{}); err == nil ||
		!strings.Contains(err.Error(), "normally shut valve on the way") {
		t.Errorf("Prove with C1 tagged shut = %v, want it refused", err)
	}
}

// A reading proves nothing of what stands behind a shut cock, seen from the drain.
func TestProveRefusesASectionThatStandsBehindAShutCock(t *testing.T) {
	text := string(readFile(t, "../../testdata/plants/tiny.yaml").Text)
	p := readPlant(t, strings.NewReplacer("  - {id: D1, kind: opening,", "  - {id: C1, kind: valve, normal: closed}\n"+
		"  - {id: C2, kind: valve, normal: closed}\n  - {id: D1, kind: opening,",
		"  - {a: pump, b: D1, bore_mm: 15, length_m: 0.2, invert_m: [1.2, 1.1]}",
		"  - {a: pump, b: C1, bore_mm: 15, length_m: 0.1, invert_m: [1.2, 1.15]}\n"+
			"  - {a: C1, b: D1, bore_mm: 15, length_m: 0.1, invert_m: [1.15, 1.1]}",
		"  - {a: pump, b: A1, bore_mm: 15, length_m: 0.2, invert_m: [1.5, 1.6]}",
		"  - {a: pump, b: C2, bore_mm: 15, length_m: 0.1, invert_m: [1.5, 1.55]}\n"+
			"  - {a: C2, b: A1, bore_mm: 15, length_m: 0.1, invert_m: [1.55, 1.6]}").Replace(text))
	good := makeProved(t, p, "P1-seal", isolation.Circumstances{})
	if len(good.Sections) == 0 || !good.Sections[0].Provable {
		t.Fatalf("sections = %+v, want one that can be proved", good.Sections)
	}
	for _, cock := range []isolation.NodeID{"C1", "C2"} {
		at := slices.IndexFunc(good.Steps, func(s isolation.Step) bool { return s.Point == cock })
		if at < 0 {
			t.Fatalf("steps = %+v, want %s opened", good.Steps, cock)
		}
		if _, err := Prove(p, plantfile.ShippedRules(), without(good, at), isolation.Circumstances{}); err == nil ||
			!strings.Contains(err.Error(), "behind what is shut") {
			t.Errorf("Prove without %s = %v, want it refused", cock, err)
		}
	}
}

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
