package planner

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
)

const twoInLine = `
plant: two valves before a casing
nodes:
  - {id: tank, kind: source, energy: fuel}
  - {id: W, kind: valve}
  - {id: P, kind: valve}
  - {id: casing, kind: vessel}
links:
  - {a: tank, b: W}
  - {a: W, b: P}
  - {a: P, b: casing}
jobs:
  - {id: seal, opens: [casing]}
`

// Nothing presses on P while another permit holds W, so nothing proves P: the plan shares W.
func TestPointBehindAnothersBoundaryDoesNotCount(t *testing.T) {
	p := readPlant(t, twoInLine)
	if got := shown(makeProved(t, p, "seal", isolation.Circumstances{})); !slices.Equal(got, []string{"lock P closed"}) {
		t.Fatalf("steps = %v, want P, which is nearest", got)
	}
	alone := makeProved(t, p, "seal", isolation.Circumstances{})
	held := isolation.Circumstances{Held: []isolation.Held{{Point: "W", Position: isolation.Closed, Permit: "12"}}}
	plan := makeProved(t, p, "seal", held)
	if got := shown(plan); !slices.Equal(got, []string{"lock W closed"}) || plan.LowerBound != 1 {
		t.Errorf("steps = %v, bound %d; want W, shared, and 1", got, plan.LowerBound)
	}
	if !strings.Contains(strings.Join(plan.Prepare, " "), "Permit 12 also holds W SHUT") {
		t.Errorf("prepare = %q, want that permit 12 holds W too", plan.Prepare)
	}
	if _, err := proof.Prove(p, plantfile.ShippedRules(), alone, held); err == nil ||
		!strings.Contains(err.Error(), "behind the boundary of another permit") {
		t.Errorf("Prove of the plan with P = %v, want an error about it", err)
	}
	if words, err := Why(p, plantfile.ShippedRules(), "seal", held, "P"); err != nil ||
		!strings.Contains(words, "behind W, which permit 12 holds") {
		t.Errorf("Why(P) = %q, %v; want that it stands behind W", words, err)
	}
	open := isolation.Circumstances{Held: []isolation.Held{{Point: "W", Position: isolation.Open, Permit: "12"}}}
	if got := shown(makeProved(t, p, "seal", open)); !slices.Equal(got, []string{"lock P closed"}) {
		t.Errorf("with W held open: steps = %v, want P", got)
	}
}

// Where a double needs points on both sides of the other's boundary, the plan holds that boundary too.
func TestDoubleSharesTheBoundaryAndOnePointBehindIt(t *testing.T) {
	text := strings.NewReplacer("  - {id: V1,", "  - {id: V0, kind: valve}\n  - {id: V1,", "{a: main, b: V1}",
		"{a: main, b: V0}\n  - {a: V0, b: V1}").Replace(steamLine)
	p := readPlant(t, text)
	held := isolation.Circumstances{Held: []isolation.Held{{Point: "V0", Position: isolation.Closed, Permit: "3"}}}
	plan := makeProved(t, p, "tubes", held)
	if got, want := shown(plan), []string{"lock V0 closed", "lock V2 closed", "tag D1 open"}; !slices.Equal(got, want) ||
		plan.LowerBound != 2 {
		t.Errorf("steps = %v, bound %d; want %v and 2", got, plan.LowerBound, want)
	}
	held.Passing = []isolation.NodeID{"V0"}
	if plan, err := Make(p, plantfile.ShippedRules(), "tubes", held); err != nil || plan.Feasible ||
		!strings.Contains(plan.Words, "another permit's boundary") {
		t.Errorf("with V0 passing: Make = %v, feasible %v, words %q; want no plan because of the boundary", err,
			plan.Feasible, plan.Words)
	}
}

// Whatever others hold: a plan that is made is proved, and is the least that exhaustion finds.
func TestPlansAmongOtherPermitsAgreeWithExhaustion(t *testing.T) {
	plans, changed := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		p, r := smallPlant(t)
		var c isolation.Circumstances
		e := newExhaustion(p, r)
		e.held = map[isolation.NodeID]bool{}
		for _, n := range p.Nodes {
			if n.Kind.IsPoint() && rapid.IntRange(0, 3).Draw(t, "held") == 0 {
				c.Held = append(c.Held, isolation.Held{Point: n.ID, Position: n.Kind.Isolating(), Permit: "1"})
				e.held[n.ID] = true
			}
		}
		plan, err := Make(p, r, "j", c)
		if err != nil {
			t.Fatalf("Make = %v\n%s", err, p.Text)
		}
		lost, least, _ := e.least()
		switch {
		case !plan.Feasible && least >= 0:
			t.Fatalf("Make finds no plan (%s), and %d points do\n%s\n%s\n%v", plan.Words, least, p.Text, r.Text, c.Held)
		case plan.Feasible:
			plans++
			if _, err := proof.Prove(p, r, plan, c); err != nil {
				t.Fatalf("Prove = %v\n%s\n%s\n%v", err, p.Text, r.Text, c.Held)
			}
			if _, err := proof.Prove(p, r, plan, isolation.Circumstances{}); err != nil {
				t.Fatalf("Prove without the others = %v\n%s", err, p.Text)
			}
			if alone, err := Make(p, r, "j", isolation.Circumstances{}); err == nil && !slices.Equal(shown(alone), shown(plan)) {
				changed++
			}
			if len(plan.Lost) != lost || plan.Cost != int64(least) || plan.SearchBound != plan.Cost {
				t.Fatalf("Make: %d lost, %d points, bound of the search %d; exhaustion: %d lost, %d points\n%s\n%s\n%v",
					len(plan.Lost), plan.Cost,
					plan.SearchBound, lost, least, p.Text, r.Text, c.Held)
			}
		}
	})
	t.Logf("%d plans, %d of them changed by what others hold", plans, changed)
}

// pressed reports whether no point of a set is kept from every source by what others hold and the set does not.
func (e *exhaustion) pressed(shut map[isolation.NodeID]bool) bool {
	others, work := map[isolation.NodeID]bool{"work": true}, map[isolation.NodeID]bool{"work": true}
	for id := range e.held {
		others[id] = !shut[id]
	}
	seen, ever := map[isolation.NodeID]bool{}, map[isolation.NodeID]bool{}
	for source := range e.all() {
		for id := range e.reach(source, others) {
			seen[id] = true
		}
		for id := range e.reach(source, work) {
			ever[id] = true
		}
	}
	for id := range shut {
		if !e.held[id] && ever[id] && !seen[id] {
			return false
		}
	}
	return true
}
