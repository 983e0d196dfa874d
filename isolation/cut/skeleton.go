package cut

import "slices"

// skeleton is what is joined to the work, and to what points of it need, drawn
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

// absent marks a vertex that nothing joins to the work.
const absent = int32(-1) << 31

// newSkeleton draws the plant of a question, outwards from the work.
func newSkeleton(j *judge, zone []int32) *skeleton {
	k := &skeleton{at: slices.Repeat([]int32{absent}, j.p.N)}
	twoWay, joined := j.next, j.next
	if len(j.p.OneWay)+len(j.p.Gaps) > 0 {
		twoWay = newLists(j.p.N, j.p.Edges, nil)
		joined = newLists(j.p.N, slices.Concat(j.p.edges(), j.p.Gaps), nil)
	}
	open := func(v int32) bool { return j.fixed[v] || !j.p.closable(v) }
	var met []int32 // vertices in the order in which they were met
	meet := func(v int32) {
		switch {
		case k.at[v] != absent:
		case open(v):
			met = append(met, k.draw(j, v, twoWay, open)...)
		default:
			k.at[v] = ^int32(len(k.vertex))
			k.vertex = append(k.vertex, v)
			met = append(met, v)
		}
	}
	for _, z := range zone {
		meet(z)
	}
	for head := 0; head < len(met); head++ {
		for _, u := range joined.of(met[head]) {
			meet(u)
		}
		for _, n := range j.p.Needs {
			for _, v := range n.OneOf {
				if n.If == met[head] {
					meet(v)
				}
			}
		}
	}
	for _, s := range j.sources {
		if at := k.at[s.Vertex]; at != absent {
			k.source[at] = true
		}
	}
	k.join(j.p, twoWay)
	return k
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
			case u < v: // the other way about this edge is met too
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
	if k.at[e[0]] == absent || e[0] == e[1] {
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
