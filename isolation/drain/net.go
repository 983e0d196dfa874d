package drain

import "math"

// way is one direction of a link seen from a node: liquid at to can come here.
type way struct {
	to, link int
	weir     float64 // the highest invert on it
	out, in  bool    // liquid may go from to → here; from here → to
}

// piece is a link or a vessel with the liquid it holds.
type piece struct {
	name    string
	solid   solid
	a, b    int  // nodes; equal for a vessel
	low     int  // the node at its lower end
	link    int  // index of the link, −1 for a vessel
	oneWay  bool // a non-return valve sits in it
	fullM3  float64
	trapped float64 // m³ below the fill level
}

// net is a checked section made ready: adjacency and pieces.
type net struct {
	sec    Section
	at     index
	level  []float64
	ways   [][]way
	pieces []piece
	tops   map[int][]crown // of the vessels of known height, by node
	guess  []string        // assumptions made on the way
	topM   float64         // level of the highest inside point
}

// crown is the top of a vessel, and how wide the vessel is: across a circle of its mean area.
type crown struct{ levelM, widthM float64 }

func newNet(s Section, at index) *net {
	n := &net{sec: s, at: at, ways: make([][]way, len(s.Nodes)), level: make([]float64, len(s.Nodes)), topM: math.Inf(-1),
		tops: map[int][]crown{}}
	for i, nd := range s.Nodes {
		n.level[i] = nd.LevelM
		n.topM = math.Max(n.topM, nd.LevelM)
	}
	for i, l := range s.Links {
		a, b := at[l.A], at[l.B]
		weir := math.Max(l.InvertAM, l.InvertBM)
		n.ways[a] = append(n.ways[a], way{b, i, weir, !l.OneWayToB, true})
		n.ways[b] = append(n.ways[b], way{a, i, weir, true, !l.OneWayToB})
		low := a
		if l.InvertBM < l.InvertAM {
			low = b
		}
		n.add(piece{name: l.label(), solid: newPipeSolid(l.BoreM, l.LengthM, l.InvertAM, l.InvertBM), a: a, b: b, low: low,
			link: i, oneWay: l.OneWayToB})
	}
	for _, v := range s.Vessels {
		i := at[v.Node]
		if v.HeightM == 0 {
			n.guess = append(n.guess, v.label()+" has no height: taken as a cube of its volume")
		} else {
			n.tops[i] = append(n.tops[i], crown{n.level[i] + v.HeightM, 2 * math.Sqrt(v.VolumeM3/v.HeightM/math.Pi)})
		}
		n.add(piece{name: v.label(), solid: newVesselSolid(v, n.level[i]), a: i, b: i, low: i, link: -1})
	}
	return n
}

func (n *net) add(p piece) {
	_, top := p.solid.span()
	n.topM = math.Max(n.topM, top)
	p.fullM3 = p.solid.full()
	p.trapped = p.fullM3
	if n.sec.FillM != nil {
		p.trapped = p.solid.below(*n.sec.FillM)
	}
	n.pieces = append(n.pieces, p)
}

// fill is the level of the liquid at the start.
func (n *net) fill() float64 {
	if n.sec.FillM != nil {
		return math.Min(*n.sec.FillM, n.topM)
	}
	return n.topM
}

// openings returns the open ones of a role, by index.
func (n *net) openings(r Role) []int {
	var list []int
	for i, o := range n.sec.Openings {
		if o.Open && o.Role == r {
			list = append(list, i)
		}
	}
	return list
}

// dust is a volume that counts as none, m³: a cubic millimetre.
const dust = 1e-9
