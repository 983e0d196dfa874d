package sat

import (
	"math"
	"slices"
)

// Cost is what it costs if a literal is true; at least 1. The sum of all may not
// pass 1<<62.
type Cost struct {
	Lit    Lit
	Amount int64
}

// Least is what [Minimise] found.
type Least struct {
	// Found is false if no values were found; then Bound == math.MaxInt64 if it
	// is proven that there are none.
	Found bool
	// Cost is that of the values that Check saw last with success.
	Cost int64
	// Bound is proven: no values cost less. It equals Cost unless the solver's
	// limit stopped the search.
	Bound int64
	// Tight are assumptions under which only values that cost Bound satisfy the
	// clauses, and all of those; meaningless if Cost is greater.
	Tight []Lit
}

// Lazy looks at values that satisfy the clauses. It returns clauses that must
// hold too and don't under these values, or none if the values will do.
type Lazy func(value func(v int) bool) [][]Lit

// Minimise finds values of least cost that satisfy the clauses of s and those
// that lazy adds, which may be nil. seen is called with each set of values that
// is cheaper than the one before.
//
// All costs are assumed away at first. As long as that can't be, the core says
// which of them can't all be avoided: the bound rises by the least of them, and
// avoiding all but one is assumed from then on, counted by a totaliser
// (Morgado, Dodaro and Marques-Silva, "Core-guided MaxSAT with soft cardinality
// constraints", 2014; Bailleux and Boufkhad, "Efficient CNF encoding of Boolean
// cardinality constraints", 2003; both from memory). Great costs are assumed
// away before small ones, so that values are found early.
func Minimise(s *Solver, costs []Cost, lazy Lazy, seen func(value func(v int) bool)) Least {
	m := &minimising{s: s, costs: costs, best: Least{Cost: math.MaxInt64}, counter: map[Lit]next{}}
	m.at = map[Lit]int{}
	for _, c := range costs {
		m.charge(c.Lit, c.Amount)
	}
	// At first nothing is avoided: that there are values at all is settled early.
	floor := int64(math.MaxInt64)
	for {
		switch r := s.solveLazily(m.avoided(floor), lazy); r {
		case Stopped:
			return m.best
		case Satisfiable:
			m.keep(seen)
			// With all that still costs anything avoided, the cost is the bound.
			if m.best.Cost == m.best.Bound {
				m.best.Tight = m.avoided(1)
				return m.best
			}
			floor = m.lower(floor)
		case Unsatisfiable:
			core := m.trim(s.Core())
			if len(core) == 0 {
				m.best.Bound = math.MaxInt64
				return m.best
			}
			m.pay(core)
		}
	}
}

// solveLazily solves until lazy has nothing to add.
func (s *Solver) solveLazily(assumptions []Lit, lazy Lazy) Result {
	model := s.model
	for {
		r := s.Solve(assumptions...)
		if r != Satisfiable {
			s.model = model // what lazy did not take counts for nothing
			return r
		}
		if lazy == nil {
			return r
		}
		more := lazy(s.True)
		if len(more) == 0 {
			return r
		}
		for _, c := range more {
			s.AddClause(c...)
		}
	}
}

// minimising is one search for the least cost.
type minimising struct {
	s       *Solver
	costs   []Cost
	best    Least
	rest    []Cost       // what it still costs if a literal is true, above the bound
	at      map[Lit]int  // where a literal stands in rest
	counter map[Lit]next // per output of a totaliser: the output above
}

// next is the output of a totaliser above another.
type next struct {
	outputs []Lit // the further ones
}

// charge adds to what a literal costs.
func (m *minimising) charge(l Lit, amount int64) {
	i, known := m.at[l]
	if !known {
		i = len(m.rest)
		m.at[l] = i
		m.rest = append(m.rest, Cost{Lit: l})
	}
	m.rest[i].Amount += amount
}

// avoided lists the literals that cost at least floor, negated.
func (m *minimising) avoided(floor int64) []Lit {
	var out []Lit
	for _, c := range m.rest {
		if c.Amount >= floor {
			out = append(out, c.Lit.Not())
		}
	}
	return out
}

// lower returns the floor after this one: half the greatest cost below it, so
// that costs of about one size are taken together.
func (m *minimising) lower(floor int64) int64 {
	greatest := int64(1)
	for _, c := range m.rest {
		if c.Amount < floor {
			greatest = max(greatest, c.Amount)
		}
	}
	return (greatest + 1) / 2
}

// keep takes the values found if they are cheaper than the best before, and
// forbids what alone would cost more than they do.
func (m *minimising) keep(seen func(value func(v int) bool)) {
	cost := int64(0)
	for _, c := range m.costs {
		if m.s.True(int(c.Lit>>1)) == (c.Lit&1 == 0) {
			cost += c.Amount
		}
	}
	if m.best.Found && cost >= m.best.Cost {
		return
	}
	m.best.Found, m.best.Cost = true, cost
	if seen != nil {
		seen(m.s.True)
	}
	for i, c := range m.rest {
		if c.Amount > cost-m.best.Bound {
			m.s.AddClause(c.Lit.Not())
			m.rest[i].Amount = 0
		}
	}
}

// trim makes a core smaller by asking again with the core alone, as long as that
// helps.
func (m *minimising) trim(core []Lit) []Lit {
	for range 3 {
		slices.Reverse(core)
		if m.s.Solve(core...) != Unsatisfiable || len(m.s.Core()) >= len(core) {
			return core
		}
		core = m.s.Core()
	}
	return core
}

// pay raises the bound by the least cost in the core. What the others cost falls
// by as much, and from now on every further one of the core costs it.
func (m *minimising) pay(core []Lit) {
	least := int64(math.MaxInt64)
	for _, l := range core {
		least = min(least, m.rest[m.at[l.Not()]].Amount)
	}
	m.best.Bound += least
	paid := make([]Lit, 0, len(core))
	for _, l := range core {
		// One of the core costs its share for certain. If the literal says "more than
		// k of an earlier core", then "more than k+1" is now to be avoided in its place.
		paid = append(paid, l.Not())
		m.rest[m.at[l.Not()]].Amount -= least
		if above := m.counter[l.Not()].outputs; len(above) > 0 {
			m.counter[above[0]] = next{above[1:]}
			m.charge(above[0], least)
		}
	}
	m.s.AddClause(paid...)
	if outputs := m.s.total(paid); len(outputs) > 1 {
		m.counter[outputs[1]] = next{outputs[2:]}
		m.charge(outputs[1], least)
	}
}

// total returns literals of which the k-th, from 0, is true if more than k of
// the given ones are.
func (s *Solver) total(lits []Lit) []Lit {
	if len(lits) < 2 {
		return lits
	}
	// Halves are counted apart; more than i of one and j of the other is more than
	// i+j+1 of both. Only this direction is needed, as outputs are only avoided.
	a, b := s.total(lits[:len(lits)/2]), s.total(lits[len(lits)/2:])
	out := make([]Lit, len(lits))
	for i := range out {
		out[i] = Pos(s.NewVar())
	}
	for i := 0; i <= len(a); i++ {
		for j := 0; j <= len(b); j++ {
			if i+j == 0 {
				continue
			}
			c := []Lit{out[i+j-1]}
			if i > 0 {
				c = append(c, a[i-1].Not())
			}
			if j > 0 {
				c = append(c, b[j-1].Not())
			}
			s.AddClause(c...)
		}
	}
	return out
}

// Prefer finds values that satisfy everything under the assumptions, and goes
// through the wishes in order: each is made true if it can be, given those
// before it. Returns Satisfiable if all of that was done.
func (s *Solver) Prefer(assumptions, wishes []Lit, lazy Lazy) Result {
	if r := s.solveLazily(assumptions, lazy); r != Satisfiable {
		return r
	}
	// A wish that the values at hand fulfil anyway costs no search.
	hold := slices.Clone(assumptions)
	for _, l := range wishes {
		if s.True(int(l>>1)) != (l&1 == 0) {
			switch s.solveLazily(append(hold, l), lazy) {
			case Stopped:
				return Stopped
			case Unsatisfiable:
				continue
			}
		}
		hold = append(hold, l)
	}
	return Satisfiable
}
