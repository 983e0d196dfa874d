package cut

// layered is the network of the layered cut written out in full, without any
// drawing together, for programs that know nothing of plants: two nodes for
// each point in each layer, one for each other vertex.
type layered struct {
	nodes        int
	source, sink int
	arcs         []capacityArc
}

type capacityArc struct {
	from, to int
	capacity int64
}

// writeOut makes the network for a problem with single and double demands.
func writeOut(p Problem) layered {
	layers := 1
	for _, s := range p.Sources {
		layers = max(layers, s.Demand.layers())
	}
	fixed := make([]bool, p.N)
	for _, z := range p.Zone {
		fixed[z] = true
	}
	for _, s := range p.Sources {
		fixed[s.Vertex] = true
	}
	unpaid := int64(1)
	for _, c := range p.Cost {
		unpaid += c
	}
	net := layered{nodes: 2 * layers * p.N, source: 2 * layers * p.N, sink: 2*layers*p.N + 1}
	net.nodes += 2
	in := func(v int32, l int) int { return 2 * (l*p.N + int(v)) }
	out := func(v int32, l int) int {
		if p.Cost[v] > 0 && !fixed[v] {
			return in(v, l) + 1
		}
		return in(v, l)
	}
	arc := func(from, to int, c int64) { net.arcs = append(net.arcs, capacityArc{from, to, c}) }
	for l := range layers {
		for v := range int32(p.N) {
			split := out(v, l) != in(v, l)
			if split {
				arc(in(v, l), out(v, l), p.Cost[v])
			}
			if l+1 < layers {
				arc(in(v, l), out(v, l+1), unpaid)
				if split {
					arc(in(v, l), in(v, l+1), unpaid)
					arc(out(v, l), out(v, l+1), unpaid)
				}
			}
		}
		for _, e := range p.Edges {
			arc(out(e[0], l), in(e[1], l), unpaid)
			arc(out(e[1], l), in(e[0], l), unpaid)
		}
		for _, e := range p.Gaps {
			arc(out(e[0], l), in(e[1], l), unpaid)
		}
	}
	for _, s := range p.Sources {
		arc(net.source, in(s.Vertex, layers-s.Demand.layers()), unpaid)
	}
	for _, z := range p.Zone {
		arc(in(z, layers-1), net.sink, unpaid)
	}
	return net
}
