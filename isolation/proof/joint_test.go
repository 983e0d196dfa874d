package proof

import (
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

func TestProveRefusesAJointUnderPressure(t *testing.T) {
	p := readPlant(t, entryLine("b"))
	good := makeProved(t, p, "inside", isolation.Circumstances{})
	if _, err := Prove(p, plantfile.ShippedRules(), without(good, 1), isolation.Circumstances{}); err == nil ||
		!strings.Contains(err.Error(), "lets its line down") {
		t.Errorf("Prove without the vent = %v, want that nothing lets the line down", err)
	}
	for _, tc := range []struct {
		name, want string
		spoil      func([]isolation.Step) []isolation.Step
	}{
		{"the spool out with the valves", "a joint must be broken there", func(s []isolation.Step) []isolation.Step {
			s[2].Phase = isolation.PhaseIsolate
			return []isolation.Step{s[0], s[2], s[1]}
		}},
		{"the spool out before the vent is open", "out of its turn",
			func(s []isolation.Step) []isolation.Step { return []isolation.Step{s[0], s[2], s[1]} }},
		{"the valve shut in the phase of the spools", "a joint must be broken there",
			func(s []isolation.Step) []isolation.Step {
				s[0].Phase = isolation.PhaseBlank
				return []isolation.Step{s[1], s[0], s[2]}
			}},
		{"a valve called a blank", "calls V2",
			func(s []isolation.Step) []isolation.Step { s[0].Kind = isolation.Blank; return s }},
	} {
		bad := good
		bad.Steps = tc.spoil(slices.Clone(good.Steps))
		for i := range bad.Steps {
			bad.Steps[i].N = i + 1
		}
		if _, err := Prove(p, plantfile.ShippedRules(), bad, isolation.Circumstances{}); err == nil ||
			!strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: Prove = %v, want an error with %q", tc.name, err, tc.want)
		}
	}
}

// entryLine is one line of air into a tank that people enter, with a place for one drain or vent.
func entryLine(at string) string {
	text := `
plant: air to a tank
nodes:
  - {id: main, kind: source, energy: air, gauge_bar: 7}
  - {id: V1, kind: valve}
  - {id: a, kind: junction}
  - {id: V2, kind: valve}
  - {id: b, kind: junction}
  - {id: B1, kind: spool}
  - {id: tank, kind: vessel}
links:
  - {a: main, b: V1}
  - {a: V1, b: a}
  - {a: a, b: V2}
  - {a: V2, b: b}
  - {a: b, b: B1}
  - {a: B1, b: tank}
jobs:
  - {id: inside, opens: [tank], exposure: enter}
`
	if at == "" {
		return text
	}
	return strings.NewReplacer("links:\n",
		"  - {id: D1, kind: opening, role: vent}\nlinks:\n  - {a: D1, b: "+at+"}\n").Replace(text)
}
