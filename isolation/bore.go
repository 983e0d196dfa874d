package isolation

// usesBore reports whether any rule asks for a bore; if none does, nobody need look for one.
func (k *task) usesBore() bool {
	for _, d := range k.rules.Demands {
		if d.AboveBoreMM != nil {
			return true
		}
	}
	return false
}

// boreFrom gives the bore in mm by which the rules judge a source: the largest of all links that lie on any simple way
// from the source to the work, because a rule about wide lines must not be escaped through the narrow end of one. Links
// without a bore count as 0. A dead-end branch lies on no simple way, so a tank's wide filling line does not count.
//
// A link lies on a simple way from s to the work exactly when it is in the same biconnected part as an edge drawn from
// the work back to s (Tarjan, "Depth-first search and linear graph algorithms", 1972, from memory). One-way links are
// taken both ways here: that can only widen the answer, never narrow it. O(nodes + links).
func (k *task) boreFrom(s int32) float64 {
	t := int32(len(k.plant.Nodes)) // the work, drawn together to one vertex
	d := newBlocks(len(k.plant.Nodes) + 1)
	for _, l := range k.plant.Links {
		a, b := k.drawn(l.A, t), k.drawn(l.B, t)
		if a >= 0 && b >= 0 && a != b {
			d.add(a, b, l.BoreMM)
		}
	}
	d.add(t, s, 0)
	return d.widestWithLast(t)
}

func (k *task) drawn(id NodeID, work int32) int32 {
	i := k.number(id)
	if i >= 0 && k.inZone[i] {
		return work
	}
	return i
}

// blocks finds biconnected parts of an undirected multigraph without recursion.
type blocks struct {
	ends  [][2]int32
	bore  []float64
	at    [][]int32 // edges at a vertex
	order []int32
	low   []int32
}

func newBlocks(n int) *blocks {
	return &blocks{at: make([][]int32, n), order: make([]int32, n), low: make([]int32, n)}
}

func (d *blocks) add(a, b int32, bore float64) {
	e := int32(len(d.ends))
	d.ends = append(d.ends, [2]int32{a, b})
	d.bore = append(d.bore, bore)
	d.at[a] = append(d.at[a], e)
	d.at[b] = append(d.at[b], e)
}

// visit is one vertex on the way down, with the edge it was entered by and the next edge to look at.
type visit struct {
	v, edge int32
	next    int
}

// widestWithLast gives the largest bore in the biconnected part that holds the edge added last, found from its end root.
func (d *blocks) widestWithLast(root int32) float64 {
	last := int32(len(d.ends) - 1)
	var pile []int32 // edges not yet given to a part
	seen := int32(1)
	d.order[root], d.low[root] = seen, seen
	path := []visit{{v: root, edge: -1}}
	for len(path) > 0 {
		top := &path[len(path)-1]
		if top.next < len(d.at[top.v]) {
			e := d.at[top.v][top.next]
			top.next++
			to := d.ends[e][0] + d.ends[e][1] - top.v
			switch {
			case e == top.edge:
			case d.order[to] == 0:
				seen++
				d.order[to], d.low[to] = seen, seen
				pile = append(pile, e)
				path = append(path, visit{v: to, edge: e})
			case d.order[to] < d.order[top.v]:
				pile = append(pile, e)
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
		if d.low[done.v] < d.order[up] {
			continue
		}
		var widest float64
		var has bool
		if pile, widest, has = d.cutOff(pile, done.edge, last); has {
			return widest
		}
	}
	return 0
}

// cutOff takes one finished part, down to and with edge first, off the pile.
func (d *blocks) cutOff(pile []int32, first, wanted int32) (rest []int32, widest float64, has bool) {
	for {
		e := pile[len(pile)-1]
		pile = pile[:len(pile)-1]
		widest = max(widest, d.bore[e])
		has = has || e == wanted
		if e == first {
			return pile, widest, has
		}
	}
}
