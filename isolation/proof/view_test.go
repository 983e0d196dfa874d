package isolation

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// The prover walks the plant by number. A plant that was not read from a file could have names that lead astray; then
// no way over them is seen, and nothing is proved.
func TestProveRefusesAPlantWhoseNamesLeadAstray(t *testing.T) {
	for _, tc := range []struct {
		name, want string
		spoil      func(*Plant)
	}{
		{"a link to nowhere", "joins V1 and x", func(p *Plant) { p.Links = append(p.Links, Link{A: "V1", B: "x"}) }},
		{"a link from nowhere", "joins x and V1", func(p *Plant) { p.Links = append(p.Links, Link{A: "x", B: "V1"}) }},
		{"two nodes of one name", "does not lead to its own node",
			func(p *Plant) { p.Nodes = append(p.Nodes, *p.Node("tank")) }},
		{"a name that leads to another node", "does not lead to its own node",
			func(p *Plant) { p.node["tank"] = p.node["V1"] }},
		{"a node that no name leads to", "does not lead to its own node", func(p *Plant) { delete(p.node, "tank") }},
	} {
		t.Run(tc.name, func(t *testing.T) {
			p := readPlant(t, pump)
			plan := makeProved(t, p, "seal", Circumstances{})
			tc.spoil(p)
			if _, err := Prove(p, ShippedRules(), plan, Circumstances{}); err == nil || !strings.Contains(err.Error(), tc.want) {
				t.Errorf("Prove = %v, want an error with %q", err, tc.want)
			}
		})
	}
}

// A drain behind the second valve bleeds nothing between the two, although a line leads to it: the shut valve stands in
// between.
func TestProveCountsNoBleedThroughAShutPoint(t *testing.T) {
	p := readPlant(t, strings.NewReplacer("  - {id: V2,", "  - {id: D2, kind: opening}\n  - {id: V2,",
		"{a: V2, b: heater}", "{a: V2, b: heater}\n  - {a: heater, b: D2}").Replace(steamLine))
	plan := makeProved(t, p, "tubes", Circumstances{})
	at := func(id NodeID) int { return slices.IndexFunc(plan.Steps, func(s Step) bool { return s.Point == id }) }
	if at("D1") < 0 || at("D2") < 0 {
		t.Fatalf("steps = %v, want both drains open", shown(plan))
	}
	if _, err := Prove(p, ShippedRules(), without(plan, at("D1")), Circumstances{}); err == nil ||
		!strings.Contains(err.Error(), "and the way main – V1 – leg – V2 – heater has less") {
		t.Errorf("Prove without D1 = %v, want that the way has less", err)
	}
}

// One search finds the bores of all nodes at once, whatever the work is; each is held against a walk of every simple
// way.
func TestBoresOfAllNodesAreTheWidestOnAnySimpleWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 7).Draw(t, "nodes")
		p, work := &Plant{node: map[NodeID]int{}}, make([]bool, n)
		for i := range n {
			id := NodeID(fmt.Sprint(i))
			p.Nodes, p.node[id] = append(p.Nodes, Node{ID: id}), i
			work[i] = i == 0 || rapid.IntRange(0, 4).Draw(t, "work") == 0
		}
		for i := range rapid.IntRange(1, 2*n).Draw(t, "links") { // some of them side by side
			a, b := rapid.IntRange(0, n-1).Draw(t, "a"), rapid.IntRange(0, n-1).Draw(t, "b")
			p.Links = append(p.Links, Link{A: NodeID(fmt.Sprint(a)), B: NodeID(fmt.Sprint(b)), BoreMM: float64(1 + i)})
		}
		v := &prover{plant: p}
		if err := v.links(); err != nil {
			t.Fatal(err)
		}
		all := newBores(p.Links, v.ends, work)
		for s := range int32(n) {
			if got, want := all.from(s), widestBetween(v, []int32{s}, work); !work[s] && got != want {
				t.Fatalf("from(%d) = %g mm, want %g mm; work %v, links %v %v", s, got, want, work, v.ends, p.Links)
			}
		}
	})
}

// widestBetween goes every simple way on from path and returns the widest link that lies on one that ends at the work.
func widestBetween(v *prover, path []int32, work []bool) float64 {
	widest := 0.0
	at := path[len(path)-1]
	for e, ends := range v.ends {
		to, bore := ends[0]+ends[1]-at, v.plant.Links[e].BoreMM
		switch {
		case ends[0] != at && ends[1] != at || slices.Contains(path, to):
		case work[to]:
			widest = max(widest, bore)
		default:
			if further := widestBetween(v, append(slices.Clone(path), to), work); further > 0 {
				widest = max(widest, further, bore)
			}
		}
	}
	return widest
}
