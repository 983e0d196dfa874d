package graph

import "stillwatch/isolation"

// Bores knows for every node the bore in mm by which the rules judge a source there: the largest of all links that lie
// on any simple way from it to the work, because a rule about wide lines must not be escaped through the narrow end of
// one. Links without a bore count as 0. A dead-end branch lies on no simple way, so a tank's wide filling line does not
// count.
//
// All simple ways from a node to the work go through the same biconnected parts of the plant, and pass from each to the
// next by the one node that joins them; between two nodes of a part every link of it lies on some simple way (Tarjan,
// "Depth-first search and linear graph algorithms", 1972, from memory). So the answer is the widest link of those
// parts. One-way links are taken both ways here: that can only widen the answer, never narrow it.
type Bores struct {
	parts []part
	in    []int32 // the part by which a node comes to the work; -1 for the work itself and for what never comes to it
}

// part is one biconnected part: its widest link, and its door, the node by which all the others come to the work.
type part struct {
	widest float64
	door   int32
}

// From returns the bore for a source at node s; 0 where no way leads to the work.
func (b *Bores) From(s int32) float64 {
	widest := 0.0
	for b.in[s] >= 0 {
		p := b.parts[b.in[s]]
		widest, s = max(widest, p.widest), p.door
	}
	return widest
}

// NewBores finds the parts. The ends of each link are node numbers, -1 for one that the plant does not have; work marks
// the nodes that are opened. O(nodes + links).
func NewBores(links []isolation.Link, ends [][2]int32, work []bool) *Bores {
	t := int32(len(work)) // the work, drawn together to one vertex
	drawn := func(i int32) int32 {
		if i >= 0 && work[i] {
			return t
		}
		return i
	}
	d := &partSearch{links: links, ends: make([][2]int32, len(ends)), order: make([]int32, t+1), low: make([]int32, t+1)}
	counts := make([]int32, t+1)
	for e := range ends {
		a, b := drawn(ends[e][0]), drawn(ends[e][1])
		d.ends[e] = [2]int32{a, b}
		if a >= 0 && b >= 0 && a != b {
			counts[a]++
			counts[b]++
		}
	}
	d.at = listsFor(counts)
	for e, ab := range d.ends {
		if a, b := ab[0], ab[1]; a >= 0 && b >= 0 && a != b {
			d.at[a], d.at[b] = append(d.at[a], int32(e)), append(d.at[b], int32(e))
		}
	}
	d.found.in = make([]int32, t+1)
	for i := range d.found.in {
		d.found.in[i] = -1
	}
	d.from(t)
	return &d.found
}

// partSearch finds the biconnected parts of an undirected multigraph without recursion.
type partSearch struct {
	links []isolation.Link
	ends  [][2]int32
	at    [][]int32 // links at a vertex
	order []int32
	low   []int32
	pile  []int32 // links not yet given to a part
	found Bores
}

// visit is one vertex on the way down, with the link it was entered by and the next link to look at.
type visit struct {
	v, link int32
	next    int
}

// from finds all parts that can be come to from root.
func (d *partSearch) from(root int32) {
	seen := int32(1)
	d.order[root], d.low[root] = seen, seen
	path := []visit{{v: root, link: -1}}
	for len(path) > 0 {
		top := &path[len(path)-1]
		if top.next < len(d.at[top.v]) {
			e := d.at[top.v][top.next]
			top.next++
			to := d.ends[e][0] + d.ends[e][1] - top.v
			switch {
			case e == top.link:
			case d.order[to] == 0:
				seen++
				d.order[to], d.low[to] = seen, seen
				d.pile = append(d.pile, e)
				path = append(path, visit{v: to, link: e})
			case d.order[to] < d.order[top.v]:
				d.pile = append(d.pile, e)
				d.low[top.v] = min(d.low[top.v], d.order[to])
			}
			continue
		}
		done := *top
		path = path[:len(path)-1]
		if len(path) == 0 {
			break
		}
		up := path[len(path)-1].v
		d.low[up] = min(d.low[up], d.low[done.v])
		if d.low[done.v] >= d.order[up] {
			d.cutOff(done.link, up)
		}
	}
}

// cutOff takes one finished part, down to and with link first, off the pile; door is its vertex nearest to the root.
func (d *partSearch) cutOff(first, door int32) {
	number, widest := int32(len(d.found.parts)), 0.0
	for e := int32(-1); e != first; {
		e = d.pile[len(d.pile)-1]
		d.pile = d.pile[:len(d.pile)-1]
		widest = max(widest, d.links[e].BoreMM)
		for _, v := range d.ends[e] {
			if v != door {
				d.found.in[v] = number
			}
		}
	}
	d.found.parts = append(d.found.parts, part{widest: widest, door: door})
}

// listsFor makes empty lists, list i with room for as many as counts[i] says, all cut from one piece of memory.
func listsFor(counts []int32) [][]int32 {
	total := int32(0)
	for _, c := range counts {
		total += c
	}
	lists, rest := make([][]int32, len(counts)), make([]int32, total)
	for i, c := range counts {
		lists[i], rest = rest[:0:c], rest[c:]
	}
	return lists
}
