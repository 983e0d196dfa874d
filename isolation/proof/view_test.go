package proof

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

// The prover walks the plant by number. A plant that was not read from a file could have names that lead astray; then
// no way over them is seen, and nothing is proved.
func TestProveRefusesAPlantWhoseNamesLeadAstray(t *testing.T) {
	for _, tc := range []struct {
		name, want string
		spoil      func(*isolation.Plant)
	}{
		{"a link to nowhere", "joins V1 and x", func(p *isolation.Plant) {
			p.Links = append(p.Links, isolation.Link{A: "V1",
				B: "x"})
		}},
		{"a link from nowhere", "joins x and V1", func(p *isolation.Plant) {
			p.Links = append(p.Links, isolation.Link{A: "x",
				B: "V1"})
		}},
		{"two nodes of one name", "does not lead to its own node",
			func(p *isolation.Plant) { p.Nodes = append(p.Nodes, *p.Node("tank")) }},
		{"names that lead to one another", "does not lead to its own node",
			func(p *isolation.Plant) { p.Nodes[0], p.Nodes[1] = p.Nodes[1], p.Nodes[0] }},
		{"a node that no name leads to", "does not lead to its own node",
			func(p *isolation.Plant) { p.Nodes[0].ID = "nobody" }},
	} {
		t.Run(tc.name, func(t *testing.T) {
			p := readPlant(t, pump)
			plan := makeProved(t, p, "seal", isolation.Circumstances{})
			tc.spoil(p)
			if _, err := Prove(p, plantfile.ShippedRules(), plan, isolation.Circumstances{}); err == nil ||
				!strings.Contains(err.Error(), tc.want) {
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
	plan := makeProved(t, p, "tubes", isolation.Circumstances{})
	at := func(id isolation.NodeID) int {
		return slices.IndexFunc(plan.Steps, func(s isolation.Step) bool { return s.Point == id })
	}
	if at("D1") < 0 || at("D2") < 0 {
		t.Fatalf("steps = %v, want both drains open", plan.Steps)
	}
	if _, err := Prove(p, plantfile.ShippedRules(), without(plan, at("D1")), isolation.Circumstances{}); err == nil ||
		!strings.Contains(err.Error(), "and the way main – V1 – leg – V2 – heater has less") {
		t.Errorf("Prove without D1 = %v, want that the way has less", err)
	}
}

// The bore of every node is held against a walk of every simple way, whatever the work is.
func TestBoresOfAllNodesAreTheWidestOnAnySimpleWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 7).Draw(t, "nodes")
		p, work := &isolation.Plant{}, make([]bool, n)
		for i := range n {
			id := isolation.NodeID(fmt.Sprint(i))
			p.AddNode(isolation.Node{ID: id})
			work[i] = i == 0 || rapid.IntRange(0, 4).Draw(t, "work") == 0
		}
		for i := range rapid.IntRange(1, 2*n).Draw(t, "links") { // some of them side by side
			a, b := rapid.IntRange(0, n-1).Draw(t, "a"), rapid.IntRange(0, n-1).Draw(t, "b")
			p.Links = append(
				p.Links,
				isolation.Link{A: isolation.NodeID(fmt.Sprint(a)), B: isolation.NodeID(fmt.Sprint(b)), BoreMM: float64(1 + i)},
			)
		}
		v := &prover{plant: p, work: work}
		if err := v.links(); err != nil {
			t.Fatal(err)
		}
		all := v.newBores(v.work, 0)
		for s := range int32(n) {
			if got, want := all.of(s), widestBetween(v, []int32{s}, work); !work[s] && got != want {
				t.Fatalf("of(%d) = %g mm, want %g mm; work %v, links %v %v", s, got, want, work, v.ends, p.Links)
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
