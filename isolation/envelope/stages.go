package envelope

import (
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/graph"
)

// Need is how many points, one after the other, a demand asks for.
func Need(demand string) int {
	if demand == isolation.DemandSingle {
		return 1
	}
	return 2
}

// counts reports whether a shut node of this kind counts towards a demand of which so many points are crossed already.
// A blank or a removed spool counts for a blank demand alone, and there only behind a point that is none.
func counts(demand string, kind isolation.Kind, crossed int) bool {
	if demand == isolation.DemandBlank {
		return kind.IsBlanking() == (crossed == 1)
	}
	return !kind.IsBlanking()
}

// Stages marks, for a number of points crossed that is less than the demand of w asks for, the nodes to which something
// from its source can come having crossed so many that count, the node itself not counted and the work not passed. A
// node may be marked for both. O(nodes + links).
func (k *Work) Stages(w Wanted, shut []bool) [2][]bool {
	n := len(k.Plant.Nodes)
	at, left := [2][]bool{make([]bool, n), make([]bool, n)}, [2][]bool{make([]bool, n), make([]bool, n)}
	type stand struct {
		node    int32
		crossed int
	}
	at[0][w.Node], left[0][w.Node] = true, true
	list := []stand{{w.Node, 0}}
	for len(list) > 0 {
		s := list[len(list)-1]
		list = list[:len(list)-1]
		if k.InZone[s.node] {
			continue
		}
		for _, j := range k.Out[s.node] {
			at[s.crossed][j] = true
			c := s.crossed
			if shut[j] && counts(w.Rule.Demand, k.At(j).Kind, c) {
				c++
			}
			if c < Need(w.Rule.Demand) && !left[c][j] {
				left[c][j] = true
				list = append(list, stand{j, c})
			}
		}
	}
	return at
}

// CutBy gives, for each chosen point, the sources that it keeps from the work, or from what is kept off: those that can
// come to it while it still counts towards their demand.
func (k *Work) CutBy(points []int32) map[int32][]int32 {
	cuts := map[int32][]int32{}
	shut := k.Marks(points)
	for _, w := range k.Sources {
		at := k.Stages(w, shut)
		for _, i := range points {
			for c := range Need(w.Rule.Demand) {
				if at[c][i] && counts(w.Rule.Demand, k.At(i).Kind, c) {
					cuts[i] = append(cuts[i], w.Node)
					break
				}
			}
		}
	}
	for _, h := range k.Keeps {
		stop := func(i int32) bool { return shut[i] }
		back := graph.Flood(k.In, []int32{h.Node}, stop)
		for _, s := range h.From {
			out := graph.Flood(k.Out, []int32{s}, stop)
			for _, i := range points {
				if out[i] && back[i] && !slices.Contains(cuts[i], s) {
					cuts[i] = append(cuts[i], s)
				}
			}
		}
	}
	return cuts
}

// Between marks what stands behind the first and before the second of the two points that cut a source.
func (k *Work) Between(w Wanted, shut []bool) []bool {
	at := k.Stages(w, shut)
	for i := range at[1] {
		at[1][i] = at[1][i] && !at[0][i] && !shut[i]
	}
	return at[1]
}
