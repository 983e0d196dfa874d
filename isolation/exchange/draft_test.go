package exchange

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

// TestWordsComeThroughUnchanged: whatever stands in a cell of words is what the plant holds, or it is refused.
func TestWordsComeThroughUnchanged(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		name := strings.TrimSpace(rapid.OneOf(rapid.String(), rapid.StringMatching(`[-:#{}\[\]'"&*!|>%@ a-c0-9.,~]{1,12}`),
			rapid.SampledFrom([]string{"true", "Null", "~", "no", "0x1f", "1e3", ".nan", "a: b", "a #b", "- a", "'", `"`, "\\n",
				"é\u0301", "12", "010"})).Draw(t, "name"))
		b := &book{file: "f", rows: map[string][]row{"nodes": {{at: "row 2", cells: map[string]cell{
			"id": {"V1", "A2"}, "kind": {"valve", "B2"}, "name": {name, "C2"},
		}}}}}
		if name == "" {
			delete(b.rows["nodes"][0].cells, "name")
		}
		p, err := b.plant()
		if err != nil {
			if !strings.Contains(err.Error(), "shows nothing") || !strings.Contains(err.Error(), "C2") {
				t.Fatalf("name %q: %v", name, err)
			}
			return
		}
		if got := p.Node("V1").Name; got != name {
			t.Fatalf("name %q came through as %q in\n%s", name, got, p.Text)
		}
	})
}

func TestListsAreSplitAsPeopleWriteThem(t *testing.T) {
	for _, tc := range []struct {
		cell      string
		sentences bool
		want      string
	}{
		{"a, b;c\nd  e", false, "[a, b, c, d, e]"},
		{"hot oil, under pressure; moving parts\r\n noise ", true, `["hot oil, under pressure; moving parts", noise]`},
		{" \n ", true, "[]"},
		{"12", false, `["12"]`},
	} {
		if got := listOf(tc.cell, tc.sentences); got != tc.want {
			t.Errorf("listOf(%q, %v) = %s, want %s", tc.cell, tc.sentences, got, tc.want)
		}
	}
}

func TestEveryColumnOfTheNodesIsUsedByAKind(t *testing.T) {
	kinds := []isolation.Kind{isolation.Source, isolation.Vessel, isolation.Consumer, isolation.Opening, isolation.Valve,
		isolation.AutomaticValve, isolation.Breaker}
	for _, c := range nodeSheet.columns {
		key := c.name
		if key == "deck" || key == "frame" || key == "side" {
			key = "place"
		}
		if !slices.ContainsFunc(kinds, func(k isolation.Kind) bool { return plantfile.Says(k, key) }) {
			t.Errorf("no kind of node has a use for column %s", c.name)
		}
	}
}
