package proof

import (
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
)

// What a plan says of fewer points is held against the ways that it shows for it.
func TestProveRefusesABoundThatDoesNotHold(t *testing.T) {
	p := readPlant(t, steamLine)
	good := makeProved(t, p, "tubes", isolation.Circumstances{})
	if good.LowerBound != good.Cost || len(good.Bound.Ways) == 0 {
		t.Fatalf("bound %d of %d points, %+v; want one that reaches them", good.LowerBound, good.Cost, good.Bound)
	}
	for _, tc := range []struct {
		name, want string
		spoil      func(*isolation.Plan)
	}{
		{"a way counted twice", "it is worth", func(q *isolation.Plan) {
			q.Bound.Ways = append(q.Bound.Ways,
				q.Bound.Ways[0])
		}},
		{"a way that carries more", "it is worth", func(q *isolation.Plan) { q.Bound.Ways[0].Amount += 1 }},
		{"a way that carries less than nothing", "no way", func(q *isolation.Plan) { q.Bound.Ways[0].Amount = -1 }},
		{"a scale of nothing", "no bound", func(q *isolation.Plan) { q.Bound.Scale = 0 }},
		{"a smaller scale", "it is worth", func(q *isolation.Plan) { q.Bound.Scale /= 2 }},
		{"a way without its middle", "has no link", func(q *isolation.Plan) {
			w := &q.Bound.Ways[0]
			w.Nodes = []isolation.NodeID{w.Nodes[0], w.Nodes[len(w.Nodes)-1]}
			w.Rise = min(w.Rise, 1)
		}},
		{"a way from behind the points", "does not allow that", func(q *isolation.Plan) {
			w := &q.Bound.Ways[0]
			w.Nodes, w.Rise = w.Nodes[1:], -1
		}},
		{"a way that ends before the work", "not opened", func(q *isolation.Plan) {
			w := &q.Bound.Ways[0]
			w.Nodes = w.Nodes[:len(w.Nodes)-1]
			w.Rise = min(w.Rise, len(w.Nodes)-1)
		}},
		{"a way through what the plant lacks", "has no x", func(q *isolation.Plan) { q.Bound.Ways[0].Nodes[1] = "x" }},
		{"a valve counted with a supply", "no automatic valve", func(q *isolation.Plan) {
			q.Bound.With = []isolation.NodeID{
				"V1"}
		}},
		{"more than the ways show", "its bound shows", func(q *isolation.Plan) {
			q.Bound.Ways = q.Bound.Ways[:len(q.Bound.Ways)-1]
		}},
		{"no ways at all", "does not show why", func(q *isolation.Plan) { q.Bound = nil }},
		{"words that the bound does not bear out", "it must say", func(q *isolation.Plan) { q.Bound, q.LowerBound = nil, 0 }},
	} {
		t.Run(tc.name, func(t *testing.T) {
			bad := good
			b := *good.Bound
			b.Ways = slices.Clone(b.Ways)
			for i := range b.Ways {
				b.Ways[i].Nodes = slices.Clone(b.Ways[i].Nodes)
			}
			bad.Bound = &b
			tc.spoil(&bad)
			if _, err := Prove(p, plantfile.ShippedRules(), bad, isolation.Circumstances{}); err == nil ||
				!strings.Contains(err.Error(), tc.want) {
				t.Errorf("Prove = %v, want an error with %q", err, tc.want)
			}
		})
	}
}
