package drain

import "math"

// CapillaryLength returns √(σ/(Δρ·g)) in metres, for a surface tension in N/m
// and a density difference to air in kg/m³ (both positive, else 0).
func CapillaryLength(tensionNM, densityKgM3 float64) float64 {
	if tensionNM <= 0 || densityKgM3 <= 0 {
		return 0
	}
	return math.Sqrt(tensionNM / (densityKgM3 * Gravity))
}

const (
	// bubbleBores: in a sealed upright tube narrower than this many capillary
	// lengths a long bubble does not rise (Bretherton, J. Fluid Mech. 10 (1961) 166).
	bubbleBores = 1.835
	// heldBores: an unvented bore under this many capillary lengths holds its
	// liquid. The pinned-meniscus limit is 7.66 (from memory).
	heldBores = 7.7
)

// Breath says how air gets to a place. Only the first proves anything.
type Breath uint8

const (
	// Breathes: from an open vent without ever having to rise through liquid.
	Breathes Breath = iota
	// Gulps: air has to rise through liquid in a bore wide enough for it, which
	// may or may not happen. Unpredictable, so no proof.
	Gulps
	// Holds: air has to rise through a bore so narrow that the liquid hangs in it.
	Holds
	// Sealed: no open vent or drain is joined to it.
	Sealed
)

// String returns the finding as half a sentence.
func (b Breath) String() string {
	switch b {
	case Breathes:
		return "air gets in from a vent"
	case Gulps:
		return "no vent; air may gulp in through the drain, which proves nothing"
	case Holds:
		return "no vent and too narrow for air to rise; it will not drain"
	}
	return "joined to no opening"
}

// rising is the breath of a place reached by rising through a bore.
func rising(boreM, capillaryM float64) Breath {
	if boreM < heldBores*capillaryM {
		return Holds
	}
	return Gulps
}

// air is the second flood: from the open vents down, in order of breath. Air that
// goes down or along a pipe costs nothing; where it must rise, the bore decides.
// Open drains are the last resort: air can only enter them by rising.
func (n *net) air(capillaryM float64) []Breath {
	best := make([]Breath, len(n.level))
	for i := range best {
		best[i] = Sealed
	}
	var queues [Sealed][]int
	reach := func(node int, b Breath) {
		if b < best[node] {
			best[node] = b
			queues[b] = append(queues[b], node)
		}
	}
	for i, o := range n.sec.Openings {
		if o.Open {
			reach(n.find(o.Node), n.mouth(i, capillaryM))
		}
	}
	for b := range queues {
		for len(queues[b]) > 0 {
			node := queues[b][0]
			queues[b] = queues[b][1:]
			if best[node] != Breath(b) {
				continue
			}
			for _, w := range n.ways[node] {
				if w.in {
					reach(w.to, max(Breath(b), n.climb(w, node, capillaryM)))
				}
			}
		}
	}
	return best
}

// mouth is how air gets through an opening to its node.
func (n *net) mouth(opening int, capillaryM float64) Breath {
	o := n.sec.Openings[opening]
	if o.Role == DrainOpening {
		return rising(o.BoreM, capillaryM)
	}
	if o.BoreM < bubbleBores*capillaryM {
		return Holds // a plug of liquid can stay in it
	}
	node := n.find(o.Node)
	if o.LevelM < n.level[node]-1e-9 {
		return rising(o.BoreM, capillaryM)
	}
	return n.intoVessel(node, o.LevelM+o.BoreM)
}

// intoVessel is what it costs air to enter a node at a level: where a vessel of
// known height stands there and reaches higher, the air must bubble up in it.
func (n *net) intoVessel(node int, levelM float64) Breath {
	for _, top := range n.tops[node] {
		if levelM < top-1e-9 {
			return Gulps
		}
	}
	return Breathes
}

// climb is what a link costs air that goes along it from a node.
func (n *net) climb(w way, from int, capillaryM float64) Breath {
	l := n.sec.Links[w.link]
	start, end := l.InvertAM, l.InvertBM
	if n.at[l.A] != from {
		start, end = end, start
	}
	if end <= start+1e-9 {
		return n.intoVessel(w.to, end+l.BoreM)
	}
	return rising(l.BoreM, capillaryM)
}
