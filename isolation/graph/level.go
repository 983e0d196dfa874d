package graph

import (
	"math"

	"stillwatch/isolation"
)

// levels are what the plant file tells of heights, per node: the lowest and the highest of its own level, its top and
// the inverts of the pipes that end there; NaN for a node of which it tells none.
type levels struct{ low, high []float64 }

func (g *Graph) levels() levels {
	if g.heights.low == nil {
		l := levels{make([]float64, len(g.Plant.Nodes)), make([]float64, len(g.Plant.Nodes))}
		note := func(i int32, z float64) {
			if !(l.low[i] <= z) {
				l.low[i] = z
			}
			if !(l.high[i] >= z) {
				l.high[i] = z
			}
		}
		for i := range g.Plant.Nodes {
			l.low[i], l.high[i] = math.NaN(), math.NaN()
			n := &g.Plant.Nodes[i]
			if n.HasElevation && n.Kind != isolation.Source {
				note(int32(i), n.ElevationM)
				note(int32(i), max(n.ElevationM, n.TopM))
			}
		}
		for i, link := range g.Plant.Links {
			for end, node := range g.Ends[i] {
				if link.HasLevel && node >= 0 {
					note(node, link.InvertM[end])
				}
			}
		}
		g.heights = l
	}
	return g.heights
}

// BarPerMetre returns what a metre of the liquid of a node weighs, bar: as at 15 °C, water where no fluid is named.
func (g *Graph) BarPerMetre(i int32) float64 {
	density := g.Plant.Fluids[g.At(i).Fluid].Density15
	if density == 0 {
		density = 1000
	}
	return density * 9.81 / 1e5
}

// LevelOf returns the level above the base line up to which a source's liquid stands by itself: what the plant file
// tells of it, or else where its pipes begin; false where the file tells neither.
func (g *Graph) LevelOf(source int32) (float64, bool) {
	if n := g.At(source); n.HasElevation {
		return n.ElevationM, true
	}
	top := g.levels().high[source]
	return top, !math.IsNaN(top)
}

// CrestOf returns the highest place of some nodes of which the file tells the level; −Inf of none.
func (g *Graph) CrestOf(nodes []bool) float64 {
	crest := math.Inf(-1)
	for i, z := range g.levels().high {
		if nodes[i] && z > crest { // never of NaN
			crest = z
		}
	}
	return crest
}

// LowestOf returns the lowest place of some nodes; the ship's base line where the file tells of none of them.
func (g *Graph) LowestOf(nodes []int32) float64 {
	lowest := math.Inf(1)
	for _, i := range nodes {
		if z := g.levels().low[i]; z < lowest {
			lowest = z
		}
	}
	if math.IsInf(lowest, 1) {
		return 0
	}
	return lowest
}

// Head returns by how many bar a liquid presses more at some nodes than at its source because they lie lower: 0 for
// what is no liquid, and where nobody knows how high the source stands.
func (g *Graph) Head(source int32, at []int32) float64 {
	level, known := g.LevelOf(source)
	if !known || g.At(source).Energy.Nature() != isolation.Liquid {
		return 0
	}
	return g.BarPerMetre(source) * max(0, level-g.LowestOf(at))
}
