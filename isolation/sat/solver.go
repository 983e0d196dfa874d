package sat

import "slices"

// Lit is a variable or its negation: 2v for variable v, 2v+1 for not v.
type Lit int32

// Pos is the literal that is true if variable v is.
func Pos(v int) Lit { return Lit(2 * v) }

// Neg is the literal that is true if variable v is false.
func Neg(v int) Lit { return Lit(2*v + 1) }

// Not returns the negation of the literal.
func (l Lit) Not() Lit { return l ^ 1 }

// Result is how a search ended. The zero value is [Stopped].
type Result uint8

// The results.
const (
	Stopped       Result = iota // the limit was reached first
	Satisfiable                 // [Solver.True] reads the values found
	Unsatisfiable               // [Solver.Core] says because of which assumptions
)

// Solver holds clauses and searches for values that satisfy them all: decide,
// propagate, learn a clause from each conflict and go back as far as it says
// (Marques-Silva and Sakallah, "GRASP: a search algorithm for propositional
// satisfiability", 1999; in the shape of Eén and Sörensson, "An extensible
// SAT-solver", 2003; both from memory). The zero value has no variables and is
// ready. It isn't safe for use by several goroutines at once.
type Solver struct {
	// Limit is the number of conflicts after which Solve stops; 0 means none.
	Limit int
	// Conflicts counts those met so far, over all calls.
	Conflicts int

	watches [][]*clause // per literal: clauses that watch its negation
	learnt  []*clause
	value   []int8 // per literal: 1 true, -1 false, 0 open
	level   []int32
	reason  []*clause
	phase   []bool // per variable: its last value
	trail   []Lit
	starts  []int // per decision level: where it begins in the trail
	head    int   // what of the trail has been propagated

	order    activityHeap
	chosen   []bool // per variable: a search chooses its value, see leave
	bump     float64
	seen     []bool
	core     []Lit
	model    []bool
	hopeless bool // the clauses contradict each other
	room     int  // learnt clauses to keep before some are dropped
}

type clause struct {
	lits    []Lit
	learnt  bool
	dropped bool
	levels  int // decision levels when learnt: few is good
}

// NewVar adds a variable and returns its number. Searches try false first.
func (s *Solver) NewVar() int { return s.NewVars(1) }

// NewVars adds variables and returns the number of the first.
func (s *Solver) NewVars(count int) int {
	first := len(s.level)
	n := first + count
	s.watches, s.value = grown(s.watches, 2*n, nil), grown(s.value, 2*n, 0)
	s.level, s.reason = grown(s.level, n, 0), grown(s.reason, n, nil)
	s.phase, s.seen, s.chosen = grown(s.phase, n, false), grown(s.seen, n, false), grown(s.chosen, n, false)
	s.order.activity, s.order.at = grown(s.order.activity, n, 0), grown(s.order.at, n, -1)
	return first
}

// grown makes a list n long, with a value in each new place.
func grown[T any](list []T, n int, value T) []T {
	list = slices.Grow(list, n-len(list))
	for len(list) < n {
		list = append(list, value)
	}
	return list
}

// AddClause demands that one of the literals be true. Clauses may be added
// between searches.
func (s *Solver) AddClause(lits ...Lit) {
	// Literals decided for good count at once; a literal beside its negation makes
	// the clause idle.
	s.backTo(0)
	kept := make([]Lit, 0, len(lits))
next:
	for _, l := range lits {
		if s.value[l] > 0 {
			return
		}
		if s.value[l] < 0 {
			continue
		}
		for _, k := range kept {
			if k == l {
				continue next
			}
			if k == l.Not() {
				return
			}
		}
		kept = append(kept, l)
	}
	switch len(kept) {
	case 0:
		s.hopeless = true
	case 1:
		s.assign(kept[0], nil)
		s.hopeless = s.hopeless || s.propagate() != nil
	default:
		s.leave(kept)
		s.watch(&clause{lits: kept})
	}
}

// leave sees to it that a clause leaves at most one of the variables that it
// wants true to the others: the search chooses the value of the rest. Where every
// clause does so, what it forces is true, all else may be false, and the clauses
// hold (Horn, "On sentences which are true of direct unions of algebras", 1951,
// from memory): whoever asks what follows from a few choices has only those
// chosen.
func (s *Solver) leave(lits []Lit) {
	left := false
	for _, l := range lits {
		v := int32(l >> 1)
		switch {
		case l&1 != 0 || s.chosen[v]:
		case !left:
			left = true
		default:
			s.chosen[v] = true
			s.order.push(v)
		}
	}
}

// watch lists a clause under its first two literals.
func (s *Solver) watch(c *clause) {
	for _, l := range c.lits[:2] {
		s.watches[l.Not()] = append(s.watches[l.Not()], c)
	}
}

// True reports the value of variable v in the values found last.
func (s *Solver) True(v int) bool { return s.model[v] }

// Core is a set of assumptions that can't all hold, after [Unsatisfiable]:
// empty if there are no values whatever is assumed.
func (s *Solver) Core() []Lit { return s.core }

// Solve searches for values under which every clause and every assumption
// holds.
func (s *Solver) Solve(assumptions ...Lit) Result {
	s.core = nil
	if s.hopeless {
		return Unsatisfiable
	}
	s.backTo(0)
	s.room = max(s.room, 2000)
	for restart, pause := 0, 0; ; {
		if s.Limit > 0 && s.Conflicts >= s.Limit {
			return Stopped
		}
		if conflict := s.propagate(); conflict != nil {
			// A conflict without any decision can't be mended: the clauses alone bring it.
			s.Conflicts++
			pause++
			if len(s.starts) == 0 {
				s.hopeless = true
				return Unsatisfiable
			}
			s.learn(conflict)
			continue
		}
		// Now and then begin anew with what was learnt: early decisions were made
		// knowing least.
		if pause >= 64*luby(restart) {
			restart, pause = restart+1, 0
			s.backTo(0)
			s.forget()
		}
		if done, r := s.decide(assumptions); done {
			return r
		}
	}
}

// decide takes the next assumption, or else the busiest open variable of those
// that are chosen.
func (s *Solver) decide(assumptions []Lit) (done bool, r Result) {
	for len(s.starts) < len(assumptions) {
		l := assumptions[len(s.starts)]
		if s.value[l] < 0 {
			s.core = s.blame(l)
			return true, Unsatisfiable
		}
		s.starts = append(s.starts, len(s.trail))
		if s.value[l] == 0 {
			s.assign(l, nil)
			return false, 0
		}
	}
	// All assumptions hold. Any other variable gets the value that it had last: the
	// search stays where it was good.
	for len(s.order.list) > 0 {
		v := s.order.pop()
		if s.value[2*v] == 0 {
			s.starts = append(s.starts, len(s.trail))
			l := Neg(int(v))
			if s.phase[v] {
				l = Pos(int(v))
			}
			s.assign(l, nil)
			return false, 0
		}
	}
	s.model = make([]bool, len(s.level))
	for v := range s.model {
		s.model[v] = s.value[2*v] > 0
	}
	return true, Satisfiable
}

// assign makes a literal true, for the reason of a clause in which all others are
// false and it stands first, or nil if it was decided.
func (s *Solver) assign(l Lit, why *clause) {
	v := l >> 1
	s.value[l], s.value[l.Not()] = 1, -1
	s.level[v], s.reason[v] = int32(len(s.starts)), why
	s.trail = append(s.trail, l)
}

// backTo takes back all decisions above a level.
func (s *Solver) backTo(level int) {
	if len(s.starts) <= level {
		return
	}
	from := s.starts[level]
	for _, l := range s.trail[from:] {
		v := l >> 1
		s.value[l], s.value[l.Not()] = 0, 0
		s.phase[v] = l&1 == 0
		if s.chosen[v] && s.order.at[v] < 0 {
			s.order.push(int32(v))
		}
	}
	s.trail, s.starts, s.head = s.trail[:from], s.starts[:level], from
}

// propagate assigns what the clauses force, and returns one that can't hold.
//
// Each clause watches two of its literals, both open or one true: only when a
// watched one becomes false must the clause be looked at (Moskewicz and others,
// "Chaff: engineering an efficient SAT solver", 2001, from memory).
func (s *Solver) propagate() *clause {
	for s.head < len(s.trail) {
		l := s.trail[s.head]
		s.head++
		list := s.watches[l]
		kept := list[:0]
		for i, c := range list {
			if c.dropped {
				continue
			}
			if c.lits[0] == l.Not() {
				c.lits[0], c.lits[1] = c.lits[1], c.lits[0]
			}
			if s.value[c.lits[0]] > 0 {
				kept = append(kept, c)
				continue
			}
			if s.moveWatch(c) {
				continue
			}
			kept = append(kept, c)
			if s.value[c.lits[0]] < 0 {
				kept = append(kept, list[i+1:]...)
				s.watches[l] = kept
				return c
			}
			s.assign(c.lits[0], c)
		}
		s.watches[l] = kept
	}
	return nil
}

// moveWatch has the clause watch another literal in place of its second.
func (s *Solver) moveWatch(c *clause) bool {
	for k := 2; k < len(c.lits); k++ {
		if n := c.lits[k]; s.value[n] >= 0 {
			c.lits[1], c.lits[k] = n, c.lits[1]
			s.watches[n.Not()] = append(s.watches[n.Not()], c)
			return true
		}
	}
	return false
}

// learn adds the clause that the conflict teaches, and goes back to where it
// forces a value.
func (s *Solver) learn(conflict *clause) {
	lits := s.firstUIP(conflict)
	// The clause forces its first literal as soon as all others are false, which
	// was so from the second highest decision level on: go back to there. The second
	// watch belongs to that level, so that going back further frees both.
	back := 0
	for i, l := range lits {
		if i > 0 && int(s.level[l>>1]) > back {
			back = int(s.level[l>>1])
			lits[1], lits[i] = lits[i], lits[1]
		}
	}
	levels := map[int32]bool{}
	for _, l := range lits {
		levels[s.level[l>>1]] = true
	}
	s.backTo(back)
	if len(lits) == 1 {
		s.assign(lits[0], nil)
		return
	}
	c := &clause{lits: lits, learnt: true, levels: len(levels)}
	s.watch(c)
	s.learnt = append(s.learnt, c)
	s.assign(lits[0], c)
}

// firstUIP resolves the conflict with the reasons of its literals until one of
// the last decision level is left; that one, negated, comes first.
func (s *Solver) firstUIP(conflict *clause) []Lit {
	lits := []Lit{0} // room for the one that is forced
	open, at := 0, len(s.trail)-1
	for c, skip := conflict, 0; ; skip = 1 {
		for _, l := range c.lits[skip:] {
			v := l >> 1
			if s.seen[v] || s.level[v] == 0 {
				continue
			}
			s.seen[v] = true
			s.busier(v)
			if int(s.level[v]) == len(s.starts) {
				open++
			} else {
				lits = append(lits, l)
			}
		}
		// The latest one met is resolved away next: all its reasons lie before it.
		for !s.seen[s.trail[at]>>1] {
			at--
		}
		l := s.trail[at]
		s.seen[l>>1] = false
		if open--; open == 0 {
			lits[0] = l.Not()
			break
		}
		c = s.reason[l>>1]
		at--
	}
	all := lits
	lits = s.shorten(lits)
	for _, l := range all {
		s.seen[l>>1] = false
	}
	s.bump *= 1 / 0.95 // to raise the later ones more is to let the earlier fade
	return lits
}

// shorten drops literals that the others imply by one clause.
func (s *Solver) shorten(lits []Lit) []Lit {
	kept := []Lit{lits[0]}
next:
	for _, l := range lits[1:] {
		c := s.reason[l>>1]
		if c == nil {
			kept = append(kept, l)
			continue
		}
		for _, k := range c.lits[1:] {
			if !s.seen[k>>1] && s.level[k>>1] > 0 {
				kept = append(kept, l)
				continue next
			}
		}
	}
	return kept
}

// blame returns the assumptions because of which literal l is false, with l.
func (s *Solver) blame(l Lit) []Lit {
	core := []Lit{l}
	if s.level[l>>1] == 0 {
		return core
	}
	// All decisions so far are assumptions; those that l's value goes back to are
	// to blame.
	s.seen[l>>1] = true
	for at := len(s.trail) - 1; at >= s.starts[0]; at-- {
		v := s.trail[at] >> 1
		if !s.seen[v] {
			continue
		}
		s.seen[v] = false
		if c := s.reason[v]; c != nil {
			for _, k := range c.lits[1:] {
				s.seen[k>>1] = s.seen[k>>1] || s.level[k>>1] > 0
			}
		} else if s.trail[at] != l {
			core = append(core, s.trail[at])
		}
	}
	return core
}

// busier raises a variable's activity: those met in conflicts are decided first.
func (s *Solver) busier(v Lit) {
	if s.bump == 0 {
		s.bump = 1
	}
	s.order.activity[v] += s.bump
	if s.order.activity[v] > 1e100 {
		for i := range s.order.activity {
			s.order.activity[i] *= 1e-100
		}
		s.bump *= 1e-100
	}
	if at := s.order.at[v]; at >= 0 {
		s.order.up(int(at), int32(v))
	}
}

// forget drops the half of the learnt clauses that span the most decision
// levels, where there are too many (Audemard and Simon, "Predicting learnt
// clauses quality in modern SAT solvers", 2009, from memory).
func (s *Solver) forget() {
	if len(s.learnt) < s.room {
		return
	}
	s.room += s.room / 10
	spread := map[int]int{}
	for _, c := range s.learnt {
		spread[c.levels]++
	}
	most, sum := 0, 0
	for sum < len(s.learnt)/2 {
		most++
		sum += spread[most]
	}
	kept := s.learnt[:0]
	for _, c := range s.learnt {
		if c.levels <= most || s.reason[c.lits[0]>>1] == c {
			kept = append(kept, c)
		} else {
			c.dropped = true
		}
	}
	s.learnt = kept
}

// luby is the sequence 1 1 2 1 1 2 4 ... of pauses between restarts (Luby,
// Sinclair and Zuckerman, "Optimal speedup of Las Vegas algorithms", 1993, from
// memory).
func luby(i int) int {
	for size := 1; ; size = 2*size + 1 {
		if i == size-1 {
			return (size + 1) / 2
		}
		if i < size-1 {
			return luby(i - (size-1)/2)
		}
	}
}
