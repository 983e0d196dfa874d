package drain

import (
	"math"
	"sort"
)

// Pocket is liquid that stays after everything that can run off has.
type Pocket struct {
	Name      string   // its deepest node
	LevelM    float64  // where its surface stays
	DepthM    float64  // over its deepest node
	VolumeM3  float64  // what it keeps
	Pieces    []string // links and vessels that hold it, largest share first
	Undrained bool     // joined to no open drain at all
}

// pockets groups what is kept: nodes with one level joined by a link whose weir
// lies under it hold one pocket.
func (n *net) pockets(b basin) []Pocket {
	group := n.pools(b)
	type share struct {
		name string
		m3   float64
	}
	shares := map[int][]share{}
	for _, p := range n.pieces {
		if kept := b.kept(p); kept > dust {
			g := group(n.home(b, p))
			shares[g] = append(shares[g], share{p.name, kept})
		}
	}
	found := map[int]*Pocket{}
	for i := range n.level {
		depth := math.Min(b.level[i], n.fill()) - n.level[i]
		g := group(i)
		if len(shares[g]) == 0 && depth <= 1e-6 {
			continue
		}
		p := found[g]
		if p == nil {
			p = &Pocket{DepthM: -1}
			found[g] = p
		}
		if depth > p.DepthM {
			p.Name, p.DepthM, p.LevelM = n.sec.Nodes[i].Name, depth, math.Min(b.level[i], n.fill())
			p.Undrained = math.IsInf(b.level[i], 1)
		}
	}
	var list []Pocket
	for g, p := range found {
		sort.Slice(shares[g], func(i, j int) bool {
			a, c := shares[g][i], shares[g][j]
			return a.m3 > c.m3 || (a.m3 == c.m3 && a.name < c.name)
		})
		for _, s := range shares[g] {
			p.VolumeM3 += s.m3
			p.Pieces = append(p.Pieces, s.name)
		}
		p.DepthM = math.Max(0, p.DepthM)
		list = append(list, *p)
	}
	sort.Slice(list, func(i, j int) bool {
		a, c := list[i], list[j]
		return a.VolumeM3 > c.VolumeM3 || (a.VolumeM3 == c.VolumeM3 && a.Name < c.Name)
	})
	return list
}

// home is the node to whose pocket the liquid kept in a piece belongs.
func (n *net) home(b basin, p piece) int {
	if p.oneWay && b.level[p.a] > b.level[p.b] {
		return p.a
	} else if p.oneWay {
		return p.b
	}
	return p.low
}

// pools joins nodes that stand in one pool and returns the finder of a pool's
// first node.
func (n *net) pools(b basin) func(int) int {
	up := make([]int, len(n.level))
	for i := range up {
		up[i] = i
	}
	find := func(i int) int {
		for up[i] != i {
			up[i] = up[up[i]]
			i = up[i]
		}
		return i
	}
	for i, ways := range n.ways {
		for _, w := range ways {
			if b.level[i] == b.level[w.to] && b.level[i] > w.weir {
				up[find(i)] = find(w.to)
			}
		}
	}
	return find
}
