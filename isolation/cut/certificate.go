package cut

import (
	"cmp"
	"slices"
)

// Certificate is a flow from the sources to the work in the layered network,
// in terms of the plant's own vertices. Any set that meets the demands costs at
// least Value; [Certificate.Check] checks that from the problem alone.
//
// Why: let X meet the demands, and let d(v) be the fewest points of X, more
// exactly of layers, between the sources and v. Flow in layer l (0 outer) that
// has to get from where d <= l to the work, where d > l, must pass a point of X
// along that layer, where at most the point's cost can pass; a point bounds one
// layer only, since its way up from layer 0 to layer 1 is free to the flow.
type Certificate struct {
	// Layers is 1 if every demand is single, else 2.
	Layers int
	// Value is the bound that the flow proves.
	Value int64
	// Inflows are what enters at sources; they add up to Value.
	Inflows []Inflow
	// Legs are the flow on everything but the ways inside a section.
	Legs []Leg
}

// Inflow enters at a source in a layer: of two layers, single demands enter in
// layer 1 only.
type Inflow struct {
	Source int32
	Layer  uint8
	Amount int64
}

// Leg is flow from one spot to the next in a layer, or, if Up, from layer 0 to
// layer 1.
type Leg struct {
	From, To Spot
	Layer    uint8
	Up       bool
	Amount   int64
}

// Spot is a place that flow passes. With Side Whole it is either the section of
// a vertex that can't be closed (Other is -1), or the edge between two
// closable vertices (Other is the second). With Side Entry or Exit it is that
// side of a closable vertex.
type Spot struct {
	Vertex, Other int32
	Side          Side
}

// compare orders spots, for lists that are the same every time.
func (s Spot) compare(o Spot) int {
	return cmp.Or(cmp.Compare(s.Vertex, o.Vertex), cmp.Compare(s.Other, o.Other), cmp.Compare(s.Side, o.Side))
}

// Side tells the spots of one vertex apart.
type Side uint8

// The sides of a [Spot].
const (
	Whole Side = iota
	Entry
	Exit
)

// certificate reads the flow from the network.
func (n *Network) certificate() Certificate {
	c := Certificate{Layers: n.layers, Value: n.value}
	n.terminals(&c)
	slices.Sort(n.usedLinks)
	n.usedLinks = slices.Compact(n.usedLinks)
	c.Legs = slices.Grow(c.Legs, 3*len(n.usedLinks))
	for _, i := range n.usedLinks {
		for l, f := range n.link[i].along {
			if f > 0 {
				c.Legs = n.legs(c.Legs, i, 0, Leg{Layer: uint8(l), Amount: f})
			} else if f < 0 {
				c.Legs = n.legs(c.Legs, i, 1, Leg{Layer: uint8(l), Amount: -f})
			}
		}
		for side, f := range n.link[i].cross {
			if f > 0 {
				c.Legs = n.legs(c.Legs, i, side, Leg{Up: true, Amount: f})
			}
		}
	}
	return c
}

// legs appends the flow over link i, starting at its end side: one leg for a
// passage or a split point, three for a point that is a link.
func (n *Network) legs(to []Leg, i int32, side int, leg Leg) []Leg {
	e := &n.link[i]
	leg.From, leg.To = n.spot(e.ends[side]), n.spot(e.ends[1-side])
	if e.kind != between {
		return append(to, leg)
	}
	v := n.vertex[i]
	entry, exit := Spot{v, -1, Entry}, Spot{v, -1, Exit}
	out := leg.Layer
	if leg.Up {
		out++
	}
	return append(to,
		Leg{From: leg.From, To: entry, Layer: leg.Layer, Amount: leg.Amount},
		Leg{From: entry, To: exit, Layer: leg.Layer, Up: leg.Up, Amount: leg.Amount},
		Leg{From: exit, To: leg.To, Layer: out, Amount: leg.Amount})
}

// spot names a section by the plant's vertices.
func (n *Network) spot(s int32) Spot {
	switch r := n.rep[s]; {
	case r < 0:
		e := n.edges[^r]
		return Spot{min(e[0], e[1]), max(e[0], e[1]), Whole}
	case s < n.joints:
		return Spot{r, -1, Whole}
	case (s-n.joints)&1 == 0:
		return Spot{r, -1, Entry}
	default:
		return Spot{r, -1, Exit}
	}
}

// terminals adds up what was sent, by where it enters and where it arrives. Where a
// source or part of the work is a point, the flow has still to get from there
// to the section beside it, or back.
func (n *Network) terminals(c *Certificate) {
	owner := make(map[int32]int32, 2*len(n.sources)) // of a node
	for _, s := range n.sources {
		for l := range int32(n.layers) {
			if n.sourceRole(s.Demand)&(isSrc1<<l) != 0 {
				owner[2*n.exit(s.Vertex)+l] = s.Vertex
				owner[2*n.entry(s.Vertex)+l] = s.Vertex
			}
		}
	}
	work := make(map[int32]int32, 2*len(n.zone)) // of a section
	for _, z := range n.zone {
		work[n.exit(z)], work[n.entry(z)] = z, z
	}
	for _, z := range n.zone {
		if s := n.at[z]; s >= 0 {
			work[s] = z // flow that is there need go no further
		}
	}
	entered := make(map[Inflow]int64)
	moved := make(map[Leg]int64)
	for _, f := range n.sent {
		s, z := owner[f.from], work[f.to>>1]
		entered[Inflow{Source: s, Layer: uint8(f.from & 1)}] += f.amount
		if i := n.at[s]; i < 0 && n.link[^i].kind == between {
			moved[Leg{From: Spot{s, -1, Exit}, To: n.spot(f.from >> 1), Layer: uint8(f.from & 1)}] += f.amount
		}
		if i := n.at[z]; i < 0 && n.link[^i].kind == between {
			moved[Leg{From: n.spot(f.to >> 1), To: Spot{z, -1, Entry}, Layer: uint8(f.to & 1)}] += f.amount
		}
	}
	for in, amount := range entered {
		in.Amount = amount
		c.Inflows = append(c.Inflows, in)
	}
	legs := make([]Leg, 0, len(moved))
	for leg, amount := range moved {
		leg.Amount = amount
		legs = append(legs, leg)
	}
	slices.SortFunc(legs, func(a, b Leg) int {
		return cmp.Or(a.From.compare(b.From), a.To.compare(b.To), cmp.Compare(a.Layer, b.Layer))
	})
	c.Legs = append(c.Legs, legs...)
	slices.SortFunc(c.Inflows, func(a, b Inflow) int {
		return cmp.Or(cmp.Compare(a.Source, b.Source), cmp.Compare(a.Layer, b.Layer))
	})
}
