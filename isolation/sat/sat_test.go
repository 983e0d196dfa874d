package sat

import (
	"math"
	"math/rand/v2"
	"testing"
)

// holds tells whether the values given as bits satisfy every clause.
func holds(clauses [][]Lit, x int) bool {
	for _, c := range clauses {
		ok := false
		for _, l := range c {
			ok = ok || (x>>(l>>1)&1 == 1) == (l&1 == 0)
		}
		if !ok {
			return false
		}
	}
	return true
}

func randomClauses(r *rand.Rand, vars, n int) [][]Lit {
	out := make([][]Lit, n)
	for i := range out {
		for range 1 + r.IntN(4) {
			out[i] = append(out[i], Lit(r.IntN(2*vars)))
		}
	}
	return out
}

func TestSolveAgreesWithTryingEverything(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(1, 2))
	tally := map[Result]int{}
	for range 20000 {
		vars := 1 + r.IntN(9)
		clauses := randomClauses(r, vars, r.IntN(5*vars))
		var s Solver
		for range vars {
			s.NewVar()
		}
		for _, c := range clauses {
			s.AddClause(c...)
		}
		for range 4 { // one solver is asked again and again
			var assumed []Lit
			for range r.IntN(4) {
				assumed = append(assumed, Lit(r.IntN(2*vars)))
			}
			got := s.Solve(assumed...)
			tally[got]++
			with := clauses
			for _, l := range assumed {
				with = append(with, []Lit{l})
			}
			if got == Satisfiable {
				x := 0
				for v := range vars {
					if s.True(v) {
						x |= 1 << v
					}
				}
				if !holds(with, x) {
					t.Fatalf("Solve(%v) = %b, which fails %v", assumed, x, with)
				}
				continue
			}
			core := clauses
			for _, l := range s.Core() {
				core = append(core, []Lit{l})
			}
			for x := range 1 << vars {
				if holds(with, x) || holds(core, x) {
					t.Fatalf("Solve(%v) = %v, core %v, and %b satisfies %v", assumed, got, s.Core(), x, with)
				}
			}
		}
	}
	if tally[Satisfiable] < 5000 || tally[Unsatisfiable] < 5000 {
		t.Errorf("results = %v, want a fair share of both", tally)
	}
}

func TestMinimiseAgreesWithTryingEverything(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 4))
	found, dear := 0, 0
	for range 20000 {
		vars := 1 + r.IntN(9)
		clauses := randomClauses(r, vars, r.IntN(4*vars))
		late := randomClauses(r, vars, r.IntN(4))
		var s Solver
		var costs []Cost
		for v := range vars {
			s.NewVar()
			if r.IntN(4) > 0 {
				costs = append(costs, Cost{Pos(v) ^ Lit(r.IntN(2)), 1 + r.Int64N([]int64{1, 3, 1000}[r.IntN(3)])})
			}
		}
		for _, c := range clauses {
			s.AddClause(c...)
		}
		bits := func(value func(int) bool) int {
			x := 0
			for v := range vars {
				if value(v) {
					x |= 1 << v
				}
			}
			return x
		}
		lazy := func(value func(int) bool) (out [][]Lit) {
			for _, c := range late {
				if !holds([][]Lit{c}, bits(value)) {
					out = append(out, c)
				}
			}
			return out
		}
		last := -1
		got := Minimise(&s, costs, lazy, func(value func(int) bool) { last = bits(value) })
		least, sets := int64(math.MaxInt64), map[int]bool{}
		price := func(x int) int64 {
			sum := int64(0)
			for _, c := range costs {
				if holds([][]Lit{{c.Lit}}, x) {
					sum += c.Amount
				}
			}
			return sum
		}
		for x := range 1 << vars {
			if !holds(clauses, x) || !holds(late, x) {
				continue
			}
			if p := price(x); p < least {
				least, sets = p, map[int]bool{x: true}
			} else if p == least {
				sets[x] = true
			}
		}
		if got.Found != (len(sets) > 0) || got.Bound != least {
			t.Fatalf("Minimise = %+v, want %d; clauses %v, %v, costs %v", got, least, clauses, late, costs)
		}
		if !got.Found {
			continue
		}
		found++
		if least > 0 {
			dear++
		}
		if got.Cost != least || !sets[last] {
			t.Fatalf("Minimise = %+v with %b, want %d by one of %v", got, last, least, sets)
		}
		// Preferring true in order leads to the greatest, read with the first variable as its first digit.
		var wishes []Lit
		for v := range vars {
			wishes = append(wishes, Pos(v))
		}
		s.Prefer(got.Tight, wishes, lazy)
		best := -1
		for x := range sets {
			if best < 0 {
				best = x
				continue
			}
			for v := range vars {
				if x>>v&1 != best>>v&1 {
					if x>>v&1 == 1 {
						best = x
					}
					break
				}
			}
		}
		if bits(s.True) != best {
			t.Fatalf("Prefer leads to %b, want %b of %v", bits(s.True), best, sets)
		}
	}
	if found < 5000 || dear < 3000 {
		t.Errorf("found = %d, with a cost %d, want a fair share", found, dear)
	}
}

// Pigeons in one hole too few: true by counting, long by resolution. The limit
// must stop it, and say so.
func TestLimitStopsTheSearch(t *testing.T) {
	t.Parallel()
	s := Solver{Limit: 200}
	const holes = 9
	var at [holes + 1][holes]Lit
	for p := range at {
		for h := range at[p] {
			at[p][h] = Pos(s.NewVar())
		}
		s.AddClause(at[p][:]...)
		for q := range p {
			for h := range at[p] {
				s.AddClause(at[p][h].Not(), at[q][h].Not())
			}
		}
	}
	if got := s.Solve(); got != Stopped || s.Conflicts != 200 {
		t.Errorf("Solve = %v after %d conflicts, want to be stopped after 200", got, s.Conflicts)
	}
}

func TestSmallPigeonholesAreProvedFull(t *testing.T) {
	t.Parallel()
	for holes := 1; holes < 7; holes++ {
		var s Solver
		at := make([][]Lit, holes+1)
		for p := range at {
			for range holes {
				at[p] = append(at[p], Pos(s.NewVar()))
			}
			s.AddClause(at[p]...)
			for q := range p {
				for h := range at[p] {
					s.AddClause(at[p][h].Not(), at[q][h].Not())
				}
			}
		}
		if got := s.Solve(); got != Unsatisfiable || len(s.Core()) > 0 {
			t.Errorf("Solve(%d pigeons, %d holes) = %v, core %v, want unsatisfiable whatever is assumed", holes+1, holes, got,
				s.Core())
		}
	}
}
