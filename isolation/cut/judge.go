package cut

import (
	"errors"
	"fmt"
	"slices"
)

// Verify checks that the chosen points meet every demand of p, with the joints
// and needs. Returns nil if they do, an [*Uncut] with a path that falls short,
// or another error that says what else is wrong. It doesn't judge the cost.
// Takes O(N + edges). It is held against the definition, path by path, in
// TestVerifyAgreesWithTheDefinition.
func Verify(p Problem, chosen []int32) error {
	if err := p.checkPlant(); err != nil {
		return fmt.Errorf("verify: %w", err)
	}
	if err := checkQuestion(p.N, p.Sources, p.Zone); err != nil {
		return fmt.Errorf("verify: %w", err)
	}
	j := newJudge(&p, p.Sources, p.Zone)
	for _, v := range chosen {
		switch {
		case v < 0 || int(v) >= p.N:
			return fmt.Errorf("verify: chosen point %d is no vertex", v)
		case j.fixed[v]:
			return fmt.Errorf("verify: chosen point %d is a source or in the zone", v)
		case !p.closable(v):
			return fmt.Errorf("verify: chosen point %d can't be closed", v)
		case j.closed[v]:
			return fmt.Errorf("verify: point %d is chosen twice", v)
		}
		j.closed[v] = true
	}
	return j.fault()
}

// judge says whether sets of closed points meet the demands of one question.
type judge struct {
	p       *Problem
	sources []Source
	inZone  []bool
	fixed   []bool // sources and zone: never closed
	closed  []bool
	next    lists   // where flow can go from each vertex
	drains  lists   // from where it can be drained to the vertex
	stage   []int8  // per vertex: least stage on any path, done if not reached
	parent  []int32 // per vertex: the vertex before it on such a path
	bled    []bool  // per vertex
}

// newJudge makes ready to judge sets for one question; nothing is closed yet.
func newJudge(p *Problem, sources []Source, zone []int32) *judge {
	j := &judge{p: p, sources: sources}
	j.inZone, j.fixed, j.closed = make([]bool, p.N), make([]bool, p.N), make([]bool, p.N)
	j.stage, j.parent = make([]int8, p.N), make([]int32, p.N)
	for _, s := range sources {
		j.fixed[s.Vertex] = true
	}
	for _, z := range zone {
		j.inZone[z], j.fixed[z] = true, true
	}
	for _, k := range p.Keeps {
		for _, v := range slices.Concat(k.From, k.To) {
			j.fixed[v] = true
		}
	}
	j.next = newLists(p.N, p.edges(), turned(p.Gaps))
	j.drains = j.next
	if len(p.OneWay)+len(p.Gaps) > 0 {
		j.drains = newLists(p.N, p.Edges, slices.Concat(p.OneWay, p.Gaps))
	}
	return j
}

// turned returns arcs with their ends exchanged.
func turned(arcs [][2]int32) [][2]int32 {
	out := make([][2]int32, len(arcs))
	for i, a := range arcs {
		out[i] = [2]int32{a[1], a[0]}
	}
	return out
}

// lists holds a list of vertices per vertex, one after the other.
type lists struct{ first, all []int32 }

// of is the list of vertex v.
func (l lists) of(v int32) []int32 { return l.all[l.first[v]:l.first[v+1]] }

// newLists lists, for each vertex, what edges join to it and from where arcs
// lead to it.
func newLists(n int, edges, arcs [][2]int32) lists {
	// Counted, then summed up, then filled from behind: first[v] ends as v's start.
	l := lists{first: make([]int32, n+1)}
	for _, e := range edges {
		l.first[e[0]]++
		l.first[e[1]]++
	}
	for _, a := range arcs {
		l.first[a[1]]++
	}
	sum := int32(0)
	for v := range l.first {
		sum += l.first[v]
		l.first[v] = sum
	}
	l.all = make([]int32, sum)
	put := func(v, u int32) {
		l.first[v]--
		l.all[l.first[v]] = u
	}
	for _, a := range arcs {
		put(a[1], a[0])
	}
	for _, e := range edges {
		put(e[0], e[1])
		put(e[1], e[0])
	}
	return l
}

// fault returns what the closed points fail, nil if nothing.
func (j *judge) fault() error {
	for _, n := range j.unmet() {
		return fmt.Errorf("point %d is closed, and none of %v, of which it needs one", n.If, n.OneOf)
	}
	j.markBled(false)
	if j.p.Counts != nil {
		early := j.bled
		j.markBled(true)
		early, j.bled = j.bled, early
		for v, closed := range j.closed {
			if closed && j.p.Counts[v]&Joint != 0 && !early[v] {
				return fmt.Errorf("the joint at point %d would be broken in a part that isn't bled", v)
			}
		}
	}
	if u := j.uncut(); u != nil {
		return u
	}
	return nil
}

// unmet returns needs that the closed points don't meet.
func (j *judge) unmet() []Need {
	isClosed := func(v int32) bool { return j.closed[v] }
	var out []Need
	for _, n := range j.p.Needs {
		if j.closed[n.If] && !slices.ContainsFunc(n.OneOf, isClosed) {
			out = append(out, n)
		}
	}
	if j.p.Further == nil {
		return out
	}
	var chosen []int32
	for v, closed := range j.closed {
		if closed {
			chosen = append(chosen, int32(v))
		}
	}
	return append(out, j.p.Further(chosen)...)
}

// uncut returns a path on which the closed points don't meet the demand, nil if
// there is none.
func (j *judge) uncut() *Uncut {
	for d := Single; d <= BlankBehind; d++ {
		var from []int32
		for _, s := range j.sources {
			if s.Demand == d {
				from = append(from, s.Vertex)
			}
		}
		if u := j.falls(d, from, func(v int32) bool { return j.inZone[v] }); u != nil {
			return u
		}
	}
	for _, k := range j.p.Keeps {
		if u := j.falls(Single, k.From, func(v int32) bool { return slices.Contains(k.To, v) }); u != nil {
			u.Kept = true
			return u
		}
	}
	return nil
}

// falls returns a path to where it ends that falls short of a demand, nil if there
// is none.
func (j *judge) falls(d Demand, from []int32, ends func(int32) bool) *Uncut {
	z := j.search(d, from, ends)
	if z < 0 {
		return nil
	}
	u := &Uncut{Need: d.layers(), Have: min(int(j.stage[z]), 1), Bleed: d == Bled}
	for ; z >= 0; z = j.parent[z] {
		u.Path = append(u.Path, z)
	}
	slices.Reverse(u.Path)
	return u
}

// markBled finds what is bled, or what is before the joints are broken.
func (j *judge) markBled(early bool) {
	bounds := func(v int32) bool { return j.closed[v] && (!early || j.counts(v)&Joint == 0) }
	j.bled = make([]bool, j.p.N)
	if j.p.Openings == nil {
		return
	}
	// Live is what a source comes to while openings are opened, before joints are
	// broken; an opening that is live would run for ever and shows nothing.
	live := make([]bool, j.p.N)
	var from []int32
	for _, s := range j.sources {
		from = append(from, s.Vertex)
	}
	j.next.flood(from, live, func(v int32) bool { return j.closed[v] && j.counts(v)&Joint == 0 })
	from = from[:0]
	for v, is := range j.p.Openings {
		if is && !live[v] {
			from = append(from, int32(v))
		}
	}
	j.drains.flood(from, j.bled, bounds)
	for v := range j.bled {
		j.bled[v] = j.bled[v] && !live[v]
	}
}

// close closes these points and no others.
func (j *judge) close(chosen []int32) {
	clear(j.closed)
	for _, v := range chosen {
		j.closed[v] = true
	}
}

// bledOf lists 1 for each of the vertices that is bled with these points closed,
// else 0.
func (j *judge) bledOf(list, chosen []int32) []int {
	j.close(chosen)
	j.markBled(false)
	out := make([]int, len(list))
	for i, v := range list {
		if j.bled[v] {
			out[i] = 1
		}
	}
	return out
}

// counts returns what v counts as when closed.
func (j *judge) counts(v int32) Counts { return j.p.counts(v) }

// flood marks what the lists lead to from the given vertices, short of bounds.
func (l lists) flood(from []int32, seen []bool, bounds func(int32) bool) {
	var stack []int32
	visit := func(v int32) {
		if !seen[v] && !bounds(v) {
			seen[v] = true
			stack = append(stack, v)
		}
	}
	for _, v := range from {
		visit(v)
	}
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for _, u := range l.of(v) {
			visit(u)
		}
	}
}

// Stages of a path. For a demand with a bleed, bledSeen means that a bled part
// was met since the first closed point.
const (
	atStart int8 = iota
	pastOne
	bledSeen
	done
)

// search labels vertices with their least stage, stage by stage, and returns a
// vertex where paths end that isn't done, or -1.
//
// One label a vertex suffices: a stage never falls along a path, and what is
// behind at one vertex is never ahead at the next, so the least stage at a
// vertex leads to the least stage everywhere after it. Each vertex has one
// parent, reached before it, so the parents lead back along a simple path.
func (j *judge) search(d Demand, from []int32, ends func(int32) bool) int32 {
	for v := range j.stage {
		j.stage[v] = done
	}
	var lists [done][]int32
	for _, s := range from {
		j.stage[s], j.parent[s] = atStart, -1
		lists[atStart] = append(lists[atStart], s)
	}
	for stage := atStart; stage < done; stage++ {
		for len(lists[stage]) > 0 {
			u := lists[stage][len(lists[stage])-1]
			lists[stage] = lists[stage][:len(lists[stage])-1]
			if j.stage[u] != stage {
				continue
			}
			if ends(u) {
				return u
			}
			for _, v := range j.next.of(u) {
				if next := j.pass(d, stage, v); next < j.stage[v] {
					j.stage[v], j.parent[v] = next, u
					lists[next] = append(lists[next], v)
				}
			}
		}
	}
	return -1
}

// pass is the stage after v.
func (j *judge) pass(d Demand, stage int8, v int32) int8 {
	if !j.closed[v] {
		if d == Bled && stage == pastOne && j.bled[v] {
			return bledSeen
		}
		return stage
	}
	wanted := Valve
	if d == BlankBehind && stage != atStart {
		wanted = Blank
	}
	switch {
	case j.counts(v)&wanted == 0:
		return stage
	case d == Single:
		return done
	case stage == atStart:
		return pastOne
	case d == Bled && stage == pastOne:
		return pastOne
	}
	return done
}

// uncut finds the path with too few usable points, when everything that can be
// closed is.
func (n *Network) uncut(sources []Source, zone []int32) *Uncut {
	most := slices.Clone(sources)
	for i := range most {
		if most[i].Demand == Bled {
			most[i].Demand = Double
		}
	}
	j := newJudge(&n.p, most, zone)
	for v := range j.closed {
		j.closed[v] = n.p.closable(int32(v)) && !j.fixed[v]
	}
	return j.uncut()
}

// errNoPath is returned where a cut can't be had and yet no path is to blame.
var errNoPath = errors.New("cut: no finite set, yet no path is short of points: broken invariant")
