package diagram

import "sort"

// net is a graph to be laid out in layers from left to right: nodes 0..n-1, the undirected edges, and the nodes where
// energy comes in, which stand leftmost.
type net struct {
	n     int
	edges [][2]int
	roots []int
}

// laid is a finished layout. Bends are the places between the two ends of an edge where it passes a layer.
type laid struct {
	layer  []int
	row    []float64 // in rows, from 0 downward
	layers int
	rows   float64
	bends  [][]Point // per edge: X is the layer, Y the row
}

// layout places a net: layers by longest path in the order in which a breadth-first search from the roots meets the
// nodes (so that no edge stays inside a layer), order inside a layer by barycentres (Sugiyama, Tagawa & Toda, 1981,
// from memory), rows by moving each node towards its neighbours as far as the order lets it. Cost O(sweeps · edges ·
// layers passed).
func (g net) layout() laid {
	l := laid{layer: g.depths()}
	h := g.proper(l.layer)
	h.order()
	h.settle()
	l.row = h.y[:g.n]
	l.bends = make([][]Point, len(g.edges))
	for e, chain := range h.chains {
		for _, v := range chain {
			l.bends[e] = append(l.bends[e], Point{float64(h.layer[v]), h.y[v]})
		}
	}
	for v, d := range h.layer {
		l.layers = max(l.layers, d+1)
		l.rows = max(l.rows, h.y[v]+1)
	}
	return l
}

// depths returns each node its layer.
func (g net) depths() []int {
	near := make([][]int, g.n)
	for _, e := range g.edges {
		near[e[0]] = append(near[e[0]], e[1])
		near[e[1]] = append(near[e[1]], e[0])
	}
	met := make([]int, g.n) // 1 + when the search met the node
	var queue []int
	visit := func(v int) {
		if met[v] == 0 {
			queue = append(queue, v)
			met[v] = len(queue)
		}
	}
	for _, v := range g.roots {
		visit(v)
	}
	for start, i := 0, 0; ; start++ {
		for ; i < len(queue); i++ {
			for _, w := range near[queue[i]] {
				visit(w)
			}
		}
		if start >= g.n {
			break
		}
		visit(start)
	}
	layer := make([]int, g.n)
	for _, v := range queue {
		for _, w := range near[v] {
			if met[w] < met[v] {
				layer[v] = max(layer[v], layer[w]+1)
			}
		}
	}
	return layer
}

// proper is a net whose every edge joins neighbouring layers: longer ones are cut by dummy nodes.
type proper struct {
	layer       []int
	left, right [][]int
	byLayer     [][]int
	chains      [][]int // the dummies of each edge of the net, from its first end to its second
	y           []float64
}

func (g net) proper(layer []int) *proper {
	h := &proper{layer: append([]int(nil), layer...), left: make([][]int, g.n), right: make([][]int, g.n),
		chains: make([][]int, len(g.edges))}
	for e, ends := range g.edges {
		a, b := ends[0], ends[1]
		turned := layer[a] > layer[b]
		if turned {
			a, b = b, a
		}
		prev := a
		for d := layer[a] + 1; d < layer[b]; d++ {
			v := len(h.layer)
			h.layer, h.left, h.right = append(h.layer, d), append(h.left, nil), append(h.right, nil)
			h.join(prev, v)
			h.chains[e] = append(h.chains[e], v)
			prev = v
		}
		h.join(prev, b)
		if turned {
			reverse(h.chains[e])
		}
	}
	for v, d := range h.layer {
		for len(h.byLayer) <= d {
			h.byLayer = append(h.byLayer, nil)
		}
		h.byLayer[d] = append(h.byLayer[d], v)
	}
	h.y = make([]float64, len(h.layer))
	return h
}

func reverse(s []int) {
	for i, j := 0, len(s)-1; i < j; i, j = i+1, j-1 {
		s[i], s[j] = s[j], s[i]
	}
}

func (h *proper) join(a, b int) {
	h.right[a] = append(h.right[a], b)
	h.left[b] = append(h.left[b], a)
}

// order sorts the layers by barycentres, to and fro.
func (h *proper) order() {
	h.number()
	for sweep := 0; sweep < 12; sweep++ {
		if sweep%2 == 0 {
			for d := 1; d < len(h.byLayer); d++ {
				h.sortBy(d, h.left)
			}
		} else {
			for d := len(h.byLayer) - 2; d >= 0; d-- {
				h.sortBy(d, h.right)
			}
		}
	}
}

func (h *proper) number() {
	for _, vs := range h.byLayer {
		for i, v := range vs {
			h.y[v] = float64(i)
		}
	}
}

func (h *proper) sortBy(d int, side [][]int) {
	vs := h.byLayer[d]
	want := make(map[int]float64, len(vs))
	for _, v := range vs {
		want[v] = h.mean(v, side)
	}
	sort.SliceStable(vs, func(i, j int) bool { return want[vs[i]] < want[vs[j]] })
	for i, v := range vs {
		h.y[v] = float64(i)
	}
}

// mean is the mean row of a node's neighbours on one side, or its own row if it has none.
func (h *proper) mean(v int, side [][]int) float64 {
	if len(side[v]) == 0 {
		return h.y[v]
	}
	sum := 0.0
	for _, w := range side[v] {
		sum += h.y[w]
	}
	return sum / float64(len(side[v]))
}

// settle returns rows: each node goes towards its neighbours, and neighbours in a layer stay one row apart (half a row
// between two dummies).
func (h *proper) settle() {
	dummyFrom := len(h.layer)
	for _, c := range h.chains {
		for _, v := range c {
			dummyFrom = min(dummyFrom, v)
		}
	}
	gap := func(a, b int) float64 {
		if a >= dummyFrom && b >= dummyFrom {
			return 0.35
		}
		return 1
	}
	for pass := 0; pass < 30; pass++ {
		for i := range h.byLayer {
			d, side := i, h.left
			if pass%2 == 1 {
				d, side = len(h.byLayer)-1-i, h.right
			}
			h.spread(h.byLayer[d], side, gap)
		}
	}
	lowest := 0.0
	for _, y := range h.y {
		lowest = min(lowest, y)
	}
	for v := range h.y {
		h.y[v] -= lowest
	}
}

// spread moves the nodes of a layer to their neighbours' mean with the given gaps, by pooling those that would
// overlap (least squares under an order, as in isotonic regression).
func (h *proper) spread(vs []int, side [][]int, gap func(a, b int) float64) {
	type pool struct {
		sum   float64
		count int
	}
	var pools []pool
	offset := make([]float64, len(vs))
	for i, v := range vs {
		if i > 0 {
			offset[i] = offset[i-1] + gap(vs[i-1], v)
		}
		pools = append(pools, pool{h.mean(v, side) - offset[i], 1})
		for n := len(pools); n > 1 &&
			pools[n-2].sum/float64(pools[n-2].count) >= pools[n-1].sum/float64(pools[n-1].count); n-- {
			pools[n-2].sum += pools[n-1].sum
			pools[n-2].count += pools[n-1].count
			pools = pools[:n-1]
		}
	}
	i := 0
	for _, p := range pools {
		for range p.count {
			h.y[vs[i]] = p.sum/float64(p.count) + offset[i]
			i++
		}
	}
}
