package cut

import "slices"

// skeleton is what matters to the work and to what points of it need, drawn
// together for a search: sections of vertices that this question can't close,
// and what joins them. It is not the network's drawing: there every point stays
// one, here those that are a source or part of the work belong to their
// sections.
type skeleton struct {
	at      []int32    // per vertex: its section, ^i for point i, or absent
	vertex  []int32    // per point: its vertex, nearest the work first
	beside  [][]int32  // per join: the sections that it touches
	gaps    int        // the joins are points first, then one-way edges, and from here on air gaps
	holds   [][]int32  // per section: the joins that touch it
	stubs   [][2]int32 // sections that hold no vertex but end at a point, with that point
	opening []bool     // per section
	source  []bool     // per section: a source is in it
}

// absent marks a vertex that does not matter.
const absent = int32(-1) << 31

// newSkeleton draws the plant of a question, outwards from the work up to the
// gates.
func newSkeleton(j *judge, zone []int32) *skeleton {
	k := &skeleton{at: slices.Repeat([]int32{absent}, j.p.N)}
	twoWay, joined := j.next, j.next
	if len(j.p.OneWay)+len(j.p.Gaps) > 0 {
		twoWay = newLists(j.p.N, j.p.Edges, nil)
		joined = newLists(j.p.N, slices.Concat(j.p.edges(), j.p.Gaps), nil)
	}
	inside := make([]bool, j.p.N)
	within := func(from ...int32) { j.within(joined, from, inside) }
	within(zone...)
	kept := j.p.kept()
	within(kept...)
	open := func(v int32) bool { return j.fixed[v] || !j.p.closable(v) }
	var met []int32 // vertices in the order in which they were met
	meet := func(v int32) {
		switch {
		case k.at[v] != absent || !inside[v]:
		case open(v):
			met = append(met, k.draw(j, v, twoWay, func(u int32) bool { return open(u) && inside[u] })...)
		default:
			k.at[v] = ^int32(len(k.vertex))
			k.vertex = append(k.vertex, v)
			met = append(met, v)
		}
	}
	for _, z := range slices.Concat(zone, kept) {
		meet(z)
	}
	head := 0
	goOn := func() {
		for ; head < len(met); head++ {
			for _, u := range joined.of(met[head]) {
				meet(u)
			}
		}
	}
	fetch := func(v int32) {
		switch {
		case k.at[v] != absent || open(v):
		case j.counts(v)&Joint != 0:
			within(v) // its part must be known
			meet(v)
			goOn()
		default:
			k.at[v] = ^int32(len(k.vertex)) // it parts nothing here
			k.vertex = append(k.vertex, v)
		}
	}
	goOn()
	for i := 0; i < len(k.vertex); i++ {
		for _, v := range j.needed(k.vertex[i]) {
			fetch(v)
		}
	}
	for v := range int32(j.p.N) {
		if j.p.Further != nil {
			fetch(v) // any point may turn out to be needed
		}
	}
	for _, s := range j.sources {
		if at := k.at[s.Vertex]; at != absent {
			k.source[at] = true
		}
	}
	k.join(j.p, twoWay)
	k.prune(j, slices.Concat(zone, kept))
	return k
}

// A source whose demand covers those of the sources behind it is a gate: what
// comes from them comes through it, and so is cut off as its own flow is; and
// where it doesn't come itself, they don't either. So nothing behind a gate need
// be known.

// within marks what is joined to the given vertices up to the gates, and those.
func (j *judge) within(joined lists, from []int32, inside []bool) {
	gate := make([]bool, j.p.N)
	demands := map[int32][]Demand{}
	for _, s := range j.sources {
		gate[s.Vertex] = true
		demands[s.Vertex] = append(demands[s.Vertex], s.Demand)
	}
	before, behind := make([]bool, j.p.N), make([]bool, j.p.N)
	met := func(b int32) bool {
		return gate[b] && slices.ContainsFunc(joined.of(b), func(v int32) bool { return before[v] })
	}
	// Every source is taken for a gate until one behind it turns out to demand what
	// it doesn't cover.
	for changed := true; changed; {
		changed = false
		clear(before)
		joined.flood(from, before, func(v int32) bool { return gate[v] })
		for b := range demands {
			if !met(b) {
				continue
			}
			clear(behind)
			joined.flood([]int32{b}, behind, func(v int32) bool { return before[v] })
			for h, asked := range demands {
				if behind[h] && (!cover(demands[b], asked) || !j.keepsCover(b, h)) {
					gate[b], changed = false, true
				}
			}
		}
	}
	for v := range before {
		inside[v] = inside[v] || before[v] || met(int32(v))
	}
}

// cover tells whether whoever meets all demands of the first list on a path meets
// those of the second too.
func cover(b, h []Demand) bool {
	return !slices.ContainsFunc(h, func(d Demand) bool {
		return d != None && !slices.ContainsFunc(b, func(c Demand) bool {
			return c == d || d == Single && c != None || d == Double && c == Bled
		})
	})
}

// keepsCover tells whether every further cut that keeps source h off keeps source
// b off too.
func (j *judge) keepsCover(b, h int32) bool {
	return !slices.ContainsFunc(j.p.Keeps, func(k Keep) bool {
		return slices.Contains(k.From, h) && !slices.Contains(k.From, b)
	})
}

// needed lists the points of which point v needs one.
func (j *judge) needed(v int32) []int32 {
	var out []int32
	for _, n := range j.p.Needs {
		if n.If == v {
			out = append(out, n.OneOf...)
		}
	}
	return out
}

// draw makes the section of a vertex and returns what belongs to it.
func (k *skeleton) draw(j *judge, v int32, twoWay lists, open func(int32) bool) []int32 {
	s := k.section()
	k.at[v] = s
	list := []int32{v}
	for head := 0; head < len(list); head++ {
		v := list[head]
		k.opening[s] = k.opening[s] || j.p.Openings != nil && j.p.Openings[v]
		for _, u := range twoWay.of(v) {
			if k.at[u] == absent && open(u) {
				k.at[u] = s
				list = append(list, u)
			}
		}
	}
	return list
}

// prune does away with dead ends: a point behind which there is neither a source
// nor the work is never worth closing, and an opening there is as good as one
// before it.
func (k *skeleton) prune(j *judge, zone []int32) {
	work := make([]bool, len(k.holds))
	for _, z := range zone {
		work[k.at[z]] = true
	}
	var ends []int32
	for s := range k.holds {
		ends = append(ends, int32(s))
	}
	for len(ends) > 0 {
		s := ends[len(ends)-1]
		ends = ends[:len(ends)-1]
		if len(k.holds[s]) != 1 || k.source[s] || work[s] {
			continue
		}
		i := k.holds[s][0]
		if !k.isPoint(i) || len(k.beside[i]) != 2 || j.counts(k.vertex[i])&Joint != 0 {
			continue
		}
		on := k.beside[i][0] + k.beside[i][1] - s
		k.opening[on] = k.opening[on] || k.opening[s]
		k.holds[on] = slices.DeleteFunc(k.holds[on], func(h int32) bool { return h == i })
		k.holds[s], k.beside[i] = nil, nil
		ends = append(ends, on)
	}
}

// section adds an empty section.
func (k *skeleton) section() int32 {
	k.holds, k.opening, k.source = append(k.holds, nil), append(k.opening, false), append(k.source, false)
	return int32(len(k.holds) - 1)
}

// join lists what touches which sections. An edge between two points is a
// section of its own, and so is each end at a point of an edge of the other
// kinds.
func (k *skeleton) join(p *Problem, twoWay lists) {
	k.beside = make([][]int32, len(k.vertex))
	for i, v := range k.vertex {
		for _, u := range twoWay.of(v) {
			at := k.at[u]
			switch {
			case at >= 0:
				k.touch(int32(i), at)
			case u < v && at != absent: // the other way about this edge is met too
				s := k.section()
				k.touch(int32(i), s)
				k.touch(^at, s)
			}
		}
	}
	for _, e := range p.OneWay {
		k.joinOneWay(e)
	}
	k.gaps = len(k.beside)
	for _, e := range p.Gaps {
		k.joinOneWay(e)
	}
}

// joinOneWay adds a join that leads from the first of its sections to the second.
func (k *skeleton) joinOneWay(e [2]int32) {
	if k.at[e[0]] == absent || k.at[e[1]] == absent || e[0] == e[1] {
		return
	}
	i := int32(len(k.beside))
	k.beside = append(k.beside, nil)
	for _, v := range e {
		s := k.at[v]
		if s < 0 {
			s = k.section()
			k.touch(^k.at[v], s)
			k.stubs = append(k.stubs, [2]int32{s, ^k.at[v]})
		}
		k.touch(i, s)
	}
}

// touch notes that a join touches a section.
func (k *skeleton) touch(i, s int32) {
	if !slices.Contains(k.beside[i], s) {
		k.beside[i] = append(k.beside[i], s)
		k.holds[s] = append(k.holds[s], i)
	}
}

// isPoint tells whether a join is a point; else it drains one way only, from its
// first section to its second.
func (k *skeleton) isPoint(i int32) bool { return int(i) < len(k.vertex) }

// ways calls do for each two sections between which a join leads.
func (k *skeleton) ways(i int, do func(a, b int32)) {
	for _, a := range k.beside[i] {
		for _, b := range k.beside[i] {
			if a != b && (i < k.gaps || a == k.beside[i][0]) {
				do(a, b)
			}
		}
	}
}

// drain goes from sections wherever they can be drained to, short of the closed
// points. It returns the sections met and the closed points around them.
func (k *skeleton) drain(from []int32, closed func(i int32) bool) (sections, around []int32) {
	seen := map[int32]bool{}
	met := map[int32]bool{}
	visit := func(s int32) {
		if !seen[s] {
			seen[s] = true
			sections = append(sections, s)
		}
	}
	for _, s := range from {
		visit(s)
	}
	for head := 0; head < len(sections); head++ {
		for _, i := range k.holds[sections[head]] {
			switch {
			case met[i] || !k.isPoint(i) && k.beside[i][0] != sections[head]:
				continue
			case k.isPoint(i) && closed(i):
				around = append(around, i)
			default:
				for _, t := range k.beside[i] {
					visit(t)
				}
			}
			met[i] = true
		}
	}
	return sections, around
}

// openings are those of the sections that have one.
func (k *skeleton) openings(sections []int32) []int32 {
	return slices.DeleteFunc(slices.Clone(sections), func(s int32) bool { return !k.opening[s] })
}
