package isolation

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
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
		p, err := Read("bores", []byte(text+"jobs:\n  - {id: j, opens: [work]}\n"))
		if err != nil {
			t.Fatalf("%v\n%s", err, text)
		}
		k := &task{ways: newWays(p), job: p.Job("j"), inZone: make([]bool, len(p.Nodes))}
		k.inZone[1] = true
		if got, want := k.boreFrom(0), widestByWalking(p); got != want {
			t.Fatalf("boreFrom = %g mm, want %g mm\n%s", got, want, text)
		}
	})
}

func widestByWalking(p *Plant) float64 {
	widest := 0.0
	var walk func(path []NodeID, bore float64)
	walk = func(path []NodeID, bore float64) {
		at := path[len(path)-1]
		if at == "work" {
			widest = max(widest, bore)
			return
		}
		for _, l := range p.Links {
			for _, w := range [][2]NodeID{{l.A, l.B}, {l.B, l.A}} {
				if w[0] == at && !slices.Contains(path, w[1]) {
					walk(append(slices.Clone(path), w[1]), max(bore, l.BoreMM))
				}
			}
		}
	}
	walk([]NodeID{"s"}, 0)
	return widest
}

// A rule about wide lines must not be escaped through the narrow end of one, nor caught by a dead end beside the way.
func TestRuleAboutBoresSeesTheWideEnd(t *testing.T) {
	p := readPlant(t, `
plant: narrow end
nodes:
  - {id: s, kind: source, energy: water}
  - {id: V1, kind: valve}
  - {id: j, kind: junction}
  - {id: D, kind: opening}
  - {id: V2, kind: valve}
  - {id: work, kind: vessel}
  - {id: stump, kind: junction}
links:
  - {a: s, b: V1, bore_mm: 80}
  - {a: V1, b: j, bore_mm: 80}
  - {a: j, b: D, bore_mm: 10}
  - {a: j, b: stump, bore_mm: 400}
  - {a: j, b: V2, bore_mm: 15}
  - {a: V2, b: work, bore_mm: 15}
jobs:
  - {id: j, opens: [work]}
`)
	for _, tc := range []struct {
		above string
		cost  int64
	}{{"79", 2}, {"80", 1}} {
		r, err := ReadRules("bores", []byte("rules:\n  - {above_bore_mm: "+tc.above+", demand: double, because: wide}\n  - "+
			"{demand: single, because: narrow}\n"))
		if err != nil {
			t.Fatal(err)
		}
		plan, err := Make(p, r, "j", Circumstances{})
		if err != nil || plan.Cost != tc.cost {
			t.Errorf("above %s mm: cost %d, %v; want %d", tc.above, plan.Cost, err, tc.cost)
		}
		if _, err := Prove(p, r, plan, Circumstances{}); err != nil {
			t.Errorf("above %s mm: Prove = %v, want proved", tc.above, err)
		}
	}
}
