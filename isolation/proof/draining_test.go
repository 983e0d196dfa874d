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
