package cut

import "math/bits"

// brute decides a small problem straight from the definition: it lists every
// simple path and tries every set of points.
type brute struct {
	p      Problem
	next   []uint32 // per vertex: where flow can go, one bit a vertex
	back   []uint32
	points uint32 // vertices that may be chosen
	zone   uint32
	vents  uint32
	valves uint32 // points that count for single and double demands
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
	b := &brute{p: p, next: make([]uint32, p.N), back: make([]uint32, p.N)}
	link := func(u, w int32) {
		b.next[u] |= 1 << w
		b.back[w] |= 1 << u
	}
	for _, e := range p.Edges {
		link(e[0], e[1])
		link(e[1], e[0])
	}
	for _, a := range p.Arcs {
		link(a[0], a[1])
	}
	for v := range p.N {
		if p.Cost[v] > 0 && (p.Counts == nil || p.Counts[v]&(Valve|Blank) != 0) {
			b.points |= 1 << v
		}
		if b.kind(int32(v))&Valve != 0 {
			b.valves |= 1 << v
		}
		if p.Vents != nil && p.Vents[v] {
			b.vents |= 1 << v
		}
	}
	for _, z := range p.Zone {
		b.zone |= 1 << z
		b.points &^= 1 << z
	}
	for _, s := range p.Sources {
		b.points &^= 1 << s.Vertex
	}
	seen := map[Source]bool{}
	for _, s := range p.Sources {
		if !seen[s] {
			seen[s] = true
			b.list(s.Demand, []int32{s.Vertex}, 1<<s.Vertex)
		}
	}
	return b
}

// list adds every simple path that begins with the given one and ends where it
// first meets the zone; a longer one has it as its beginning.
func (b *brute) list(d Demand, path []int32, used uint32) {
	last := path[len(path)-1]
	if b.zone>>last&1 != 0 {
		b.paths = append(b.paths, brutePath{d, append([]int32(nil), path...), used & b.points})
		return
	}
	for to := b.next[last] &^ used; to != 0; to &= to - 1 {
		w := int32(bits.TrailingZeros32(to))
		b.list(d, append(path, w), used|1<<w)
	}
}

// meets tells whether the set x meets every demand on every path.
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
	vented := b.reachVents(x)
	for i := range b.paths {
		if !b.meetsInDetail(&b.paths[i], x, vented) {
			return false
		}
	}
	return true
}

// reachVents is the set of open vertices from which an opening can be reached.
func (b *brute) reachVents(x uint32) uint32 {
	got := b.vents &^ x
	for front := got; front != 0; {
		v := bits.TrailingZeros32(front)
		front &= front - 1
		fresh := b.back[v] &^ x &^ got
		got |= fresh
		front |= fresh
	}
	return got
}

// meetsInDetail looks for one pair of chosen points on the path that fits.
func (b *brute) meetsInDetail(bp *brutePath, x, vented uint32) bool {
	if bp.demand == Single || bp.demand == Double && b.p.Vents == nil {
		return true
	}
	for i, v := range bp.vertices {
		if x>>v&1 == 0 || b.kind(v)&Valve == 0 {
			continue
		}
		opening := false
		for _, w := range bp.vertices[i+1:] {
			chosen := x>>w&1 != 0
			if chosen && bp.demand == Double && b.kind(w)&Valve == 0 {
				continue
			}
			if bp.demand == BlankBehind {
				if chosen && b.kind(w)&Blank != 0 {
					return true
				}
				continue
			}
			if chosen && opening {
				return true
			}
			if chosen {
				break
			}
			opening = opening || vented>>w&1 != 0
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
