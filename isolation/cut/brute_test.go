package cut

import "math/bits"

// brute decides a small problem straight from the definition: it lists every
// simple path and tries every set of points.
type brute struct {
	p      Problem
	next   []uint32 // per vertex: where flow can go, one bit a vertex
	drain  []uint32 // per vertex: the neighbours to which it can be drained
	points uint32   // vertices that may be chosen
	zone   uint32
	source uint32
	open   uint32 // openings
	valves uint32 // points that count for single and double demands
	joints uint32
	paths  []brutePath
}

type brutePath struct {
	demand   Demand
	vertices []int32
	mask     uint32
}

// bruteBest is what exhaustive search finds: the least cost, all sets that have
// it, and whether any set is feasible.
type bruteBest struct {
	feasible bool
	cost     int64
	sets     []uint32
}

func newBrute(p Problem) *brute {
	b := &brute{p: p, next: make([]uint32, p.N), drain: make([]uint32, p.N)}
	for _, e := range p.Edges {
		b.next[e[0]] |= 1 << e[1]
		b.next[e[1]] |= 1 << e[0]
		b.drain[e[0]] |= 1 << e[1]
		b.drain[e[1]] |= 1 << e[0]
	}
	for _, e := range p.OneWay {
		b.next[e[0]] |= 1 << e[1]
		b.next[e[1]] |= 1 << e[0]
		b.drain[e[0]] |= 1 << e[1]
	}
	for _, e := range p.Gaps {
		b.next[e[0]] |= 1 << e[1]
		b.drain[e[0]] |= 1 << e[1]
	}
	for v := range p.N {
		if p.Cost[v] > 0 && (p.Counts == nil || p.Counts[v]&(Valve|Blank) != 0) {
			b.points |= 1 << v
		}
		if b.kind(int32(v))&Valve != 0 {
			b.valves |= 1 << v
		}
		if b.kind(int32(v))&Joint != 0 {
			b.joints |= 1 << v
		}
		if p.Openings != nil && p.Openings[v] {
			b.open |= 1 << v
		}
	}
	for _, z := range p.Zone {
		b.zone |= 1 << z
		b.points &^= 1 << z
	}
	for _, s := range p.Sources {
		b.points &^= 1 << s.Vertex
		b.source |= 1 << s.Vertex
	}
	for _, k := range p.Keeps {
		b.points &^= maskOf(k.From) | maskOf(k.To)
	}
	seen := map[Source]bool{}
	for _, s := range p.Sources {
		if !seen[s] && s.Demand != None {
			seen[s] = true
			b.list(s.Demand, []int32{s.Vertex}, 1<<s.Vertex, b.zone)
		}
	}
	for _, k := range p.Keeps {
		for _, v := range k.From {
			b.list(Single, []int32{v}, 1<<v, maskOf(k.To))
		}
	}
	return b
}

// list adds every simple path that begins with the given one and ends where it
// first meets one of the vertices in ends; a longer one has it as its beginning.
func (b *brute) list(d Demand, path []int32, used, ends uint32) {
	last := path[len(path)-1]
	if ends>>last&1 != 0 {
		b.paths = append(b.paths, brutePath{d, append([]int32(nil), path...), used & b.points})
		return
	}
	for to := b.next[last] &^ used; to != 0; to &= to - 1 {
		w := int32(bits.TrailingZeros32(to))
		b.list(d, append(path, w), used|1<<w, ends)
	}
}

// meets tells whether the set x meets every demand on every path, has what its
// points need, and breaks joints only in bled parts.
func (b *brute) meets(x uint32) bool {
	for i := range b.paths {
		counted := x
		if b.paths[i].demand != BlankBehind {
			counted &= b.valves
		}
		if bits.OnesCount32(b.paths[i].mask&counted) < b.paths[i].demand.layers() {
			b.paths[0], b.paths[i] = b.paths[i], b.paths[0] // fails first next time
			return false
		}
	}
	for _, n := range b.p.Needs {
		if x>>n.If&1 == 1 && x&maskOf(n.OneOf) == 0 {
			return false
		}
	}
	if b.p.Further != nil {
		var chosen []int32
		for v := range int32(b.p.N) {
			if x>>v&1 == 1 {
				chosen = append(chosen, v)
			}
		}
		if len(b.p.Further(chosen)) > 0 {
			return false
		}
	}
	for m := x & b.joints; m != 0; m &= m - 1 {
		if !b.isBled(bits.TrailingZeros32(m), x&^b.joints, x&^b.joints) {
			return false
		}
	}
	for i := range b.paths {
		if !b.meetsInDetail(&b.paths[i], x) {
			return false
		}
	}
	return true
}

// from is all that the ways lead to from v without crossing a closed vertex.
func from(v int, ways []uint32, closed uint32) uint32 {
	got := uint32(1) << v
	for front := got; front != 0; {
		u := bits.TrailingZeros32(front)
		front &= front - 1
		fresh := ways[u] &^ closed &^ got
		got |= fresh
		front |= fresh
	}
	return got
}

// isBled tells whether v can be drained to an opening, and no source comes to it
// with only the early points closed.
func (b *brute) isBled(v int, closed, early uint32) bool {
	live := uint32(0)
	for m := b.source; m != 0; m &= m - 1 {
		live |= from(bits.TrailingZeros32(m), b.next, early)
	}
	return live>>v&1 == 0 && from(v, b.drain, closed)&b.open&^live != 0
}

// meetsInDetail looks for two chosen points on the path that fit the demand, and
// between them, where it asks for that, for a bled part.
func (b *brute) meetsInDetail(bp *brutePath, x uint32) bool {
	last := Valve
	switch bp.demand {
	case Single, Double:
		return true
	case BlankBehind:
		last = Blank
	}
	is := func(v int32, kind Counts) bool { return x>>v&1 != 0 && b.kind(v)&kind != 0 }
	for i, v := range bp.vertices {
		if !is(v, Valve) {
			continue
		}
		bled := bp.demand != Bled
		for _, w := range bp.vertices[i+1:] {
			if bled && is(w, last) {
				return true
			}
			bled = bled || x>>w&1 == 0 && b.isBled(int(w), x, x&^b.joints)
		}
	}
	return false
}

func (b *brute) kind(v int32) Counts {
	if b.p.Counts == nil {
		return Valve
	}
	return b.p.Counts[v]
}

func (b *brute) cost(x uint32) int64 {
	sum := int64(0)
	for ; x != 0; x &= x - 1 {
		sum += b.p.Cost[bits.TrailingZeros32(x)]
	}
	return sum
}

// eachSet calls do with every subset of the points.
func (b *brute) eachSet(do func(x uint32)) {
	x := uint32(0)
	for {
		do(x)
		x = (x - b.points) & b.points
		if x == 0 {
			return
		}
	}
}

func (b *brute) best() bruteBest {
	var best bruteBest
	b.eachSet(func(x uint32) {
		c := b.cost(x)
		if best.feasible && c > best.cost || !b.meets(x) {
			return
		}
		if !best.feasible || c < best.cost {
			best = bruteBest{feasible: true, cost: c}
		}
		best.sets = append(best.sets, x)
	})
	return best
}

func maskOf(list []int32) uint32 {
	m := uint32(0)
	for _, v := range list {
		m |= 1 << v
	}
	return m
}
