package proof

import (
	"os"
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

// TestProveWantsTheDeviationSaid takes from a plan with one steam valve the words that tell of it, and one of the
// measures taken instead.
func TestProveWantsTheDeviationSaid(t *testing.T) {
	text, err := os.ReadFile("../../testdata/plants/hazards/15-one-steam-valve.yaml")
	if err != nil {
		t.Fatal(err)
	}
	p := readPlant(t, string(text))
	good := makeProved(t, p, "tubes", isolation.Circumstances{})
	for name, unproved := range map[string][]isolation.Unproved{
		"nothing": nil,
		"no measure": {{Kind: isolation.UnprovedLess, Node: "main",
			Words: strings.ReplaceAll(good.Unproved[0].Words, "Vent watched", "Vent seen")}},
		"another source": {{Kind: isolation.UnprovedLess, Node: "V1", Words: good.Unproved[0].Words}},
	} {
		bad := good
		bad.Unproved = slices.Clone(unproved)
		if _, err := Prove(p, plantfile.ShippedRules(), bad, isolation.Circumstances{}); err == nil ||
			!strings.Contains(err.Error(), "by less than the rules ask for") {
			t.Errorf("with %s said: Prove = %v, want it refused", name, err)
		}
	}
}
