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
	// Breathes: from an open vent without ever having to rise through liquid, but where there is room for both: see
	// WideRoom.
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
func (n *net) air(capillaryM float64, b basin) []Breath {
	a := airing{net: n, capillaryM: capillaryM, basin: b}
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
			reach(n.find(o.Node), a.mouth(i))
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
					reach(w.to, max(Breath(b), a.climb(w, node)))
				}
			}
		}
	}
	return best
}

// airing is a net on which air spreads while the liquid sinks to the basin's levels.
type airing struct {
	*net
	capillaryM float64
	basin      basin
}

// mouth is how air gets through an opening to its node.
func (a *airing) mouth(opening int) Breath {
	o := a.sec.Openings[opening]
	if o.Role == DrainOpening {
		return rising(o.BoreM, a.capillaryM)
	}
	if o.BoreM < bubbleBores*a.capillaryM {
		return Holds // a plug of liquid can stay in it
	}
	node := a.find(o.Node)
	if o.LevelM < a.level[node]-1e-9 {
		return rising(o.BoreM, a.capillaryM)
	}
	return a.intoVessel(node, o.LevelM+o.BoreM)
}

// intoVessel is what it costs air to enter a node at a level: where a vessel of
// known height stands there and reaches higher, the air must bubble up in it. In a
// wide one it does: the liquid cannot hang above an inlet that is open to the air,
// and no bubble is held between walls so far apart.
func (a *airing) intoVessel(node int, levelM float64) Breath {
	for _, top := range a.tops[node] {
		wide := a.sec.Air >= WideRoom && top.widthM >= heldBores*a.capillaryM && a.basin.level[node] <= levelM
		if levelM < top.levelM-1e-9 && !wide {
			return Gulps
		}
	}
	return Breathes
}

// climb is what a link costs air that goes along it from a node. Into a level dead
// end air runs above the liquid that leaves it (T. B. Benjamin, J. Fluid Mech. 31
// (1968) 209, from memory), and so it does where the end lies up to a bore higher,
// with the mouth free; surface tension stops it in a narrow one (E. E. Zukoski,
// J. Fluid Mech. 25 (1966) 821, from memory: slower from some ten capillary lengths
// down; the limit of heldBores is taken here too).
func (a *airing) climb(w way, from int) Breath {
	l := a.sec.Links[w.link]
	start, end := l.InvertAM, l.InvertBM
	if a.at[l.A] != from {
		start, end = end, start
	}
	narrow := l.BoreM < heldBores*a.capillaryM
	isLevel := math.Abs(end-start) <= 1e-9
	switch {
	case isLevel && narrow && a.sec.Air >= WideLevel && a.endsAt(w.to, from):
		return Holds
	case end <= start+1e-9:
	case a.sec.Air < WideRoom || narrow || end-start > l.BoreM || a.basin.level[from] > start+1e-9:
		return rising(l.BoreM, a.capillaryM)
	}
	return a.intoVessel(w.to, end+l.BoreM)
}

// endsAt reports whether a node is a dead end but for what joins it to another: no further link, no vessel, no open
// drain or vent.
func (a *airing) endsAt(node, from int) bool {
	for _, w := range a.ways[node] {
		if w.to != from {
			return false
		}
	}
	for _, o := range a.sec.Openings {
		if o.Open && a.find(o.Node) == node {
			return false
		}
	}
	for _, p := range a.pieces {
		if p.link < 0 && p.a == node {
			return false
		}
	}
	return true
}
