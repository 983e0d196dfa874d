package diagram

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func randomNet(t *rapid.T) net {
	g := net{n: rapid.IntRange(0, 30).Draw(t, "n")}
	if g.n == 0 {
		return g
	}
	node := rapid.IntRange(0, g.n-1)
	for range rapid.IntRange(0, 45).Draw(t, "edges") {
		a, b := node.Draw(t, "a"), node.Draw(t, "b")
		if a != b {
			g.edges = append(g.edges, [2]int{a, b})
		}
	}
	g.roots = rapid.SliceOfN(node, 0, 4).Draw(t, "roots")
	return g
}

func TestNoTwoNodesShareAPlace(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := randomNet(t)
		l := g.layout()
		for v := range g.n {
			for w := range v {
				if l.layer[v] == l.layer[w] && math.Abs(l.row[v]-l.row[w]) < 0.69 {
					t.Fatalf("nodes %d and %d stand in layer %d at rows %.2f and %.2f", v, w, l.layer[v], l.row[v], l.row[w])
				}
			}
			if l.layer[v] < 0 || l.layer[v] >= l.layers || l.row[v] < 0 || l.row[v] > l.rows-1+1e-9 {
				t.Fatalf("node %d stands at %d, %.2f outside %d layers and %.2f rows", v, l.layer[v], l.row[v], l.layers, l.rows)
			}
		}
	})
}

func TestEdgesRunThroughEveryLayerBetweenTheirEnds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := randomNet(t)
		l := g.layout()
		for e, ends := range g.edges {
			a, b := l.layer[ends[0]], l.layer[ends[1]]
			if a == b {
				t.Fatalf("edge %v stays in layer %d", ends, a)
			}
			dir := 1
			if a > b {
				dir = -1
			}
			if want := (b-a)*dir - 1; len(l.bends[e]) != want {
				t.Fatalf("edge %v has %d bends, want %d", ends, len(l.bends[e]), want)
			}
			for i, p := range l.bends[e] {
				if want := float64(a + (i+1)*dir); p.X != want {
					t.Fatalf("bend %d of edge %v stands in layer %g, want %g", i, ends, p.X, want)
				}
			}
		}
	})
}

func TestAChainIsDrawnStraight(t *testing.T) {
	l := net{n: 4, edges: [][2]int{{2, 0}, {3, 1}, {0, 3}}, roots: []int{2}}.layout()
	for i, v := range []int{2, 0, 3, 1} {
		if l.layer[v] != i || l.row[v] != 0 {
			t.Errorf("node %d of the chain stands at layer %d, row %g, want %d, 0", v, l.layer[v], l.row[v], i)
		}
	}
}
