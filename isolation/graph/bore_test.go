package graph

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

// The bore by which the rules judge is held against a walk of every simple way from the source to the work.
func TestBoreIsTheWidestOnAnySimpleWay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 6).Draw(t, "nodes")
		ids := []string{"s", "work"}
		text := "plant: bores\nnodes:\n  - {id: s, kind: source, energy: water}\n  - {id: work, kind: junction}\n"
		for i := range n {
			ids = append(ids, fmt.Sprintf("n%d", i))
			text += fmt.Sprintf("  - {id: n%d, kind: junction}\n", i)
		}
		text += "links:\n"
		for i := range rapid.IntRange(1, 2*n+2).Draw(t, "links") {
			a, b := rapid.SampledFrom(ids).Draw(t, "a"), rapid.SampledFrom(ids).Draw(t, "b")
			if a != b && !strings.Contains(text, fmt.Sprintf("a: %s, b: %s,", a, b)) &&
				!strings.Contains(text, fmt.Sprintf("a: %s, b: %s,", b, a)) {
				text += fmt.Sprintf("  - {a: %s, b: %s, bore_mm: %d}\n", a, b, 10+7*i)
			}
		}
		if strings.HasSuffix(text, "links:\n") {
			text += "  - {a: s, b: work, bore_mm: 99}\n"
		}
		p, err := plantfile.Read("bores", []byte(text+"jobs:\n  - {id: j, opens: [work]}\n"))
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		work := make([]bool, len(p.Nodes))
		work[1] = true
		if got, want := NewBores(p.Links, New(p).Ends, work).From(0), widestByWalking(p); got != want {
			t.Fatalf("From = %g mm, want %g mm\n%s", got, want, text)
		}
	})
}

func widestByWalking(p *isolation.Plant) float64 {
	widest := 0.0
	var walk func(path []isolation.NodeID, bore float64)
	walk = func(path []isolation.NodeID, bore float64) {
		at := path[len(path)-1]
		if at == "work" {
			widest = max(widest, bore)
			return
		}
		for _, l := range p.Links {
			for _, w := range [][2]isolation.NodeID{{l.A, l.B}, {l.B, l.A}} {
				if w[0] == at && !slices.Contains(path, w[1]) {
					walk(append(slices.Clone(path), w[1]), max(bore, l.BoreMM))
				}
			}
		}
	}
	walk([]isolation.NodeID{"s"}, 0)
	return widest
}
