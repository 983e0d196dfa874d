package cut

import (
	"errors"
	"slices"

	"stillwatch/isolation/sat"
)

// A search says the question in clauses and minimises the cost of the points.
// Each demand follows its paths by stages: reach[g][s] is true if some path has
// come to section s with no more than g of its stages behind it. Paths spread
// on by themselves from there, through every point that isn't closed, so it is
// enough to say where they begin, how they go on, and that none may come to the
// work short of its last stage.
//
// That is exact: if a set meets the demands, the stages of the real paths
// satisfy the clauses; if the clauses are satisfied, no real path has fewer
// stages behind it than they say.

// search answers where the plain cut, which is in sol, falls short.
func (n *Network) search(j *judge, u *supply, fault error, sol Solution, withLabels bool) (Solution, error) {
	sources, zone := n.sources, n.zone
	e := newEncoding(j, u, zone)
	limit := n.p.Limit
	if limit <= 0 {
		limit = DefaultLimit
	}
	if e.points > AlwaysProven {
		e.s.Limit = limit
	}
	least := sat.Minimise(&e.s, e.costs(), e.lazy, func(value func(int) bool) { sol.Chosen = e.chosen(value) })
	switch {
	case !least.Found && e.s.Limit > 0 && e.s.Conflicts >= e.s.Limit:
		return Solution{}, ErrUndecided
	case !least.Found:
		return Solution{}, e.blame(fault)
	}
	sol.Bound.BySearch, sol.Searched, sol.Unique = least.Bound, true, false
	if least.Cost == least.Bound {
		e.choose(least.Tight, &sol, zone)
	}
	sol.Conflicts = e.s.Conflicts
	slices.Sort(sol.Chosen)
	e.price(u, &sol)
	n.describe(&sol, sources, zone, withLabels)
	return sol, nil
}

// encoding is a question in clauses.
type encoding struct {
	j      *judge
	k      *skeleton
	s      sat.Solver
	x      []sat.Lit // per point: it is closed
	points int       // how many it is worth closing for what they part
	live   []sat.Lit // per section: a source comes to it before joints are broken
	bled   []sat.Lit // per section: it is bled; nil if no demand asks

	supply *supply
	taken  []sat.Lit // per loss: it is taken
}

// newEncoding makes the clauses of a question: all that can be said outright. What
// speaks of being joined to something, as a bled part is to its opening, would
// take too many; lazy adds those that turn out to matter.
func newEncoding(j *judge, u *supply, zone []int32) *encoding {
	e := &encoding{j: j, supply: u, k: newSkeleton(j, zone)}
	e.x = e.literals(len(e.k.vertex))
	needed := map[int32]bool{}
	for _, n := range j.p.Needs {
		for _, v := range n.OneOf {
			needed[v] = true
		}
	}
	for i, v := range e.k.vertex {
		switch {
		case len(e.k.beside[i]) > 0:
			e.points++
		case !needed[v] && j.p.Further == nil:
			e.s.AddClause(e.x[i].Not())
		}
	}
	e.taken = e.literals(len(u.losses))
	for _, n := range j.p.Needs {
		if at := e.k.at[n.If]; at < 0 && at != absent {
			e.s.AddClause(e.need(n)...)
		}
	}
	byDemand := map[Demand][]int32{}
	for _, s := range j.sources {
		if at := e.k.at[s.Vertex]; at != absent {
			byDemand[s.Demand] = append(byDemand[s.Demand], at)
		}
	}
	if bled := len(byDemand[Bled]) > 0 || j.p.ZoneBled; bled || j.p.Counts != nil {
		e.parts(bled)
	}
	for d := Single; d <= BlankBehind; d++ {
		if len(byDemand[d]) > 0 {
			e.demand(d, byDemand[d], zone)
		}
	}
	for _, k := range j.p.Keeps {
		var from []int32
		for _, v := range k.From {
			if at := e.k.at[v]; at != absent {
				from = append(from, at)
			}
		}
		e.demand(Single, from, k.To)
	}
	return e
}

// need says that a point needs one of others.
func (e *encoding) need(n Need) []sat.Lit {
	c := []sat.Lit{e.x[^e.k.at[n.If]].Not()}
	for _, v := range n.OneOf {
		if at := e.k.at[v]; at < 0 && at != absent {
			c = append(c, e.x[^at])
		}
	}
	return c
}

// literals returns the literals of so many new variables.
func (e *encoding) literals(count int) []sat.Lit {
	out, first := make([]sat.Lit, count), e.s.NewVars(count)
	for i := range out {
		out[i] = sat.Pos(first + i)
	}
	return out
}

// perSection returns the literal of a new variable for each section.
func (e *encoding) perSection() []sat.Lit { return e.literals(len(e.k.holds)) }

// is tells whether join i is a point that counts as one of these.
func (e *encoding) is(i int, c Counts) bool {
	return e.k.isPoint(int32(i)) && e.j.p.counts(e.k.vertex[i])&c != 0
}

// spread says that what is true of a section is true of its neighbours across
// every join, unless it is closed and of a kind that stops it.
func (e *encoding) spread(what []sat.Lit, stops func(i int) bool) {
	for i := range e.k.beside {
		e.k.ways(i, func(a, b int32) {
			if stops(i) {
				e.s.AddClause(what[a].Not(), what[b], e.x[i])
			} else {
				e.s.AddClause(what[a].Not(), what[b])
			}
		})
	}
}

// parts says where sources come to before joints are broken, that joints are
// broken only elsewhere, and, if asked, that bled parts are elsewhere. That they
// have an opening is left to lazy.
func (e *encoding) parts(bled bool) {
	e.live = e.perSection()
	for s, is := range e.k.source {
		if is {
			e.s.AddClause(e.live[s])
		}
	}
	e.spread(e.live, func(i int) bool { return e.k.isPoint(int32(i)) && !e.is(i, Joint) })
	for i, beside := range e.k.beside {
		if !e.is(i, Joint) {
			continue
		}
		if len(beside) == 0 {
			e.s.AddClause(e.x[i].Not()) // joined to nothing, so to no opening
		}
		for _, s := range beside {
			e.s.AddClause(e.x[i].Not(), e.live[s].Not())
		}
	}
	if !bled {
		return
	}
	e.bled = e.perSection()
	for s := range e.bled {
		e.s.AddClause(e.bled[s].Not(), e.live[s].Not())
	}
	for _, b := range e.k.stubs { // there is nothing in it to be bled but the point itself
		e.s.AddClause(e.bled[b[0]].Not(), e.x[b[1]].Not())
	}
}

// demand says how a demand's paths go on, and that none comes to the work short
// of its last stage.
func (e *encoding) demand(d Demand, from, zone []int32) {
	valve := func(i int) bool { return e.is(i, Valve) }
	blank := func(i int) bool { return e.is(i, Blank) }
	reach := [][]sat.Lit{e.perSection()}
	e.spread(reach[0], valve)
	switch d {
	case Double, BlankBehind:
		reach = append(reach, e.perSection())
		e.step(reach[0], reach[1], nil)
		if d == BlankBehind {
			valve = blank
		}
		e.spread(reach[1], valve)
	case Bled:
		// reach[1] is with a first point behind, and nothing bled since: it goes on
		// through anything, a further closed point too, unless what lies beyond is
		// bled. reach[2] is with the bled part behind as well.
		reach = append(reach, e.perSection(), e.perSection())
		e.step(reach[0], reach[1], e.bled)
		e.step(reach[1], reach[1], e.bled)
		e.step(reach[1], reach[2], nil)
		e.spread(reach[2], valve)
	}
	for _, s := range from {
		for _, r := range reach {
			e.s.AddClause(r[s])
		}
	}
	for _, z := range zone {
		e.s.AddClause(reach[len(reach)-1][e.k.at[z]].Not())
	}
}

// step says that what is true of a section is followed, across any join, by
// something else beyond it, or by what it may be instead.
func (e *encoding) step(what, then, or []sat.Lit) {
	for s := range what {
		if &what[0] != &then[0] {
			e.s.AddClause(what[s].Not(), then[s])
		}
	}
	for i := range e.k.beside {
		e.k.ways(i, func(a, b int32) {
			if or == nil {
				e.s.AddClause(what[a].Not(), then[b])
			} else {
				e.s.AddClause(what[a].Not(), then[b], or[b])
			}
		})
	}
}

// lazy returns what is wrong with losses, further needs and openings. A section
// that counts as bled, and a joint, must run to an opening that no source comes
// to: if it doesn't, one of the points around what it runs to has to stay open,
// or one of the openings there must be cut off from the sources.
func (e *encoding) lazy(value func(v int) bool) [][]sat.Lit {
	e.j.close(e.chosen(value))
	out := e.lazyLosses(value)
	for _, n := range e.j.unmet() {
		out = append(out, e.need(n))
	}
	closed := func(i int32) bool { return value(int(e.x[i] >> 1)) }
	for s, bled := range e.bled {
		if value(int(bled >> 1)) {
			out = e.toOpening(out, value, bled, []int32{int32(s)}, closed)
		}
	}
	early := func(i int32) bool { return closed(i) && !e.is(int(i), Joint) }
	for i, x := range e.x {
		if closed(int32(i)) && e.is(i, Joint) {
			out = e.toOpening(out, value, x, e.k.beside[i], early)
		}
	}
	return out
}

// toOpening appends to clauses what keeps something from running to an opening.
func (e *encoding) toOpening(to [][]sat.Lit, value func(v int) bool, what sat.Lit, from []int32,
	closed func(i int32) bool) [][]sat.Lit {
	sections, around := e.k.drain(from, closed)
	clause := []sat.Lit{what.Not()}
	for _, s := range e.k.openings(sections) {
		if !value(int(e.live[s] >> 1)) {
			return to
		}
		clause = append(clause, e.live[s].Not())
	}
	for _, i := range around {
		clause = append(clause, e.x[i].Not())
	}
	return append(to, clause)
}

// costs lists what points and losses cost.
func (e *encoding) costs() []sat.Cost {
	var out []sat.Cost
	for i, v := range e.k.vertex {
		out = append(out, sat.Cost{Lit: e.x[i], Amount: e.j.p.Cost[v]})
	}
	for i, l := range e.supply.losses {
		out = append(out, sat.Cost{Lit: e.taken[i], Amount: l.Weight})
	}
	return out
}

// price says what a set costs, and what it takes from others.
func (e *encoding) price(u *supply, sol *Solution) {
	e.j.close(sol.Chosen)
	sol.Cost, sol.Toll, sol.Lost = 0, 0, u.lost(e.j.closed)
	for _, v := range sol.Chosen {
		sol.Cost += e.j.p.Cost[v]
	}
	for _, i := range sol.Lost {
		sol.Toll += u.losses[i].Weight
	}
}

// chosen lists the vertices of the closed points.
func (e *encoding) chosen(value func(v int) bool) []int32 {
	out := []int32{}
	for i, v := range e.k.vertex {
		if value(int(e.x[i] >> 1)) {
			out = append(out, v)
		}
	}
	return out
}

// choose takes one of the sets of least cost: the nearest to the work, unless
// that leaves less of the zone bled than another and this matters. It also tells
// whether there is only one such set. Where the limit stops it, the set at hand
// stays.
func (e *encoding) choose(tight []sat.Lit, sol *Solution, zone []int32) {
	var near, dry []sat.Lit
	for i := len(e.x) - 1; i >= 0; i-- { // the farthest point that can be done without is left out, then the next
		near = append(near, e.x[i].Not())
	}
	if e.s.Prefer(tight, near, e.lazy) != sat.Satisfiable {
		return
	}
	sol.Chosen = e.chosen(e.s.True)
	if is := e.j.bledOf(zone, sol.Chosen); e.j.p.ZoneBled && slices.Contains(is, 0) {
		for _, z := range zone {
			dry = append(dry, e.bled[e.k.at[z]])
		}
		if e.s.Prefer(tight, append(dry, near...), e.lazy) != sat.Satisfiable {
			return
		}
		if other := e.chosen(e.s.True); slices.Compare(e.j.bledOf(zone, other), is) > 0 {
			sol.Chosen, sol.ForBleed = other, true
		}
	}
	var other []sat.Lit // costs are above nothing, so another such set lacks one of these
	for _, v := range sol.Chosen {
		other = append(other, e.x[^e.k.at[v]].Not())
	}
	e.s.AddClause(other...)
	sol.Unique = e.s.Prefer(tight, nil, e.lazy) == sat.Unsatisfiable
}

// blame says why there is no set, by what the plain cut falls short of.
func (e *encoding) blame(fault error) error {
	var u *Uncut
	if !errors.As(fault, &u) {
		clear(e.j.closed)
		e.j.markBled(false)
		if u = e.j.uncut(); u == nil {
			return errNoPath
		}
	}
	u.Exhausted = !u.Bleed
	return u
}

// describe returns a set its layers and labels, by closing just these points in
// the network.
func (n *Network) describe(sol *Solution, sources []Source, zone []int32, withLabels bool) {
	n.pose(sources, zone)
	chosen := make(map[int32]bool)
	for _, v := range sol.Chosen {
		chosen[v] = true
	}
	for i, v := range n.vertex {
		switch {
		case chosen[v]:
			n.setState(int32(i), closed)
		case n.link[i].state == usual:
			n.setState(int32(i), open)
		}
	}
	n.maximise()
	_, sol.Outer, _ = n.closest()
	if withLabels {
		sol.Labels = n.vertexLabels()
	}
}
