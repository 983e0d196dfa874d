package drain

import (
	"math"
	"sort"
)

// spreadM3 is how far the volume that comes out may be off, m³. Bores err all
// alike (a nominal size is a nominal size) and add up; so do vessels and the fill;
// lengths err each its own way and add as squares; the four together as squares.
func (n *net) spreadM3(b basin) float64 {
	m := n.sec.Margin.filled()
	var bores, lengths2, vessels, all float64
	for _, p := range n.pieces {
		out := p.trapped - b.kept(p)
		all += out
		if p.link < 0 {
			vessels += m.Vessel * out
			continue
		}
		bores += 2 * m.Bore * out
		lengths2 += (m.Length * out) * (m.Length * out)
	}
	fill := m.Fill * all
	return math.Sqrt(bores*bores + lengths2 + vessels*vessels + fill*fill)
}

// behind lists, for every link on the way to a drain and for each drain, the
// liquid that has to pass it, largest first: what would be missing were it blocked.
func (n *net) behind(b basin) []Behind {
	at := make([]float64, len(n.level))
	for _, p := range n.pieces {
		if out := p.trapped - b.kept(p); out > 0 {
			at[n.leaves(b, p)] += out
		}
	}
	var list []Behind
	for i := len(b.order) - 1; i >= 0; i-- {
		node := b.order[i]
		name := ""
		if up := b.parent[node]; up >= 0 {
			at[up] += at[node]
			name = n.sec.Links[b.via[node]].label()
		} else {
			name = n.sec.Openings[b.drain[node]].what()
		}
		if at[node] > dust {
			list = append(list, Behind{name, at[node]})
		}
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].M3 > list[j].M3 })
	return list
}
