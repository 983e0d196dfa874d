package drain

import (
	"fmt"
	"math"
)

// Tilted is the worst of the envelope of list and trim.
type Tilted struct {
	Computed bool    // false: no tilt was asked for, or a node has no position
	KeptM3   float64 // the most that stays at any angle looked at, at least the upright figure
	ListDeg  float64 // at this list
	TrimDeg  float64 // and trim
	Pockets  []Pocket
	Note     string // why it was not computed, or how
}

// angleSteps: what stays does not rise evenly with the angle (a pocket can open on
// one side while another closes), so the envelope is looked at on a grid, not only
// at its corners.
const angleSteps = 5

// tilted looks for the angles at which most stays.
func (n *net) tilted(upright float64) Tilted {
	t := n.sec.Tilt
	if t == (Tilt{}) {
		return Tilted{}
	}
	for _, nd := range n.sec.Nodes {
		if !nd.Placed {
			return Tilted{Note: fmt.Sprintf("list and trim not computed: node %s has no position", nd.Name)}
		}
	}
	worst := Tilted{Computed: true, KeptM3: upright}
	for i := range angleSteps {
		for j := range angleSteps {
			list := t.ListDeg * (2*float64(i)/(angleSteps-1) - 1)
			trim := t.TrimDeg * (2*float64(j)/(angleSteps-1) - 1)
			leaning := newNet(n.sec.leaning(list, trim), n.at)
			b := leaning.flood()
			kept := 0.0
			for k, p := range leaning.pieces {
				p.trapped = n.pieces[k].trapped // the angle does not add liquid
				kept += b.kept(p)
			}
			if kept > worst.KeptM3 {
				worst = Tilted{Computed: true, KeptM3: kept, ListDeg: list, TrimDeg: trim, Pockets: leaning.pockets(b)}
			}
		}
	}
	worst.Note = fmt.Sprintf("list to %.3g and trim to %.3g degrees either way, looked at on a %d by %d grid", t.ListDeg,
		t.TrimDeg, angleSteps, angleSteps)
	return worst
}

// leaning is the section as it stands at a list and a trim in degrees, with every
// level turned as [Tilt] says. A vessel is turned with its bottom only.
func (s Section) leaning(listDeg, trimDeg float64) Section {
	sinL, cosL := math.Sincos(listDeg * math.Pi / 180)
	sinT, cosT := math.Sincos(trimDeg * math.Pi / 180)
	place := map[string]Node{}
	turn := func(n Node, z float64) float64 { return z*cosT*cosL - n.XM*sinT*cosL - n.YM*sinL }
	t := s
	t.FillM = nil
	t.Nodes, t.Links, t.Openings = nil, nil, nil
	for _, n := range s.Nodes {
		place[n.Name] = n
		m := n
		m.LevelM = turn(n, n.LevelM)
		t.Nodes = append(t.Nodes, m)
	}
	for _, l := range s.Links {
		l.InvertAM, l.InvertBM = turn(place[l.A], l.InvertAM), turn(place[l.B], l.InvertBM)
		l.LengthM = math.Max(l.LengthM, math.Abs(l.InvertAM-l.InvertBM))
		t.Links = append(t.Links, l)
	}
	for _, o := range s.Openings {
		o.LevelM = turn(place[o.Node], o.LevelM)
		t.Openings = append(t.Openings, o)
	}
	return t
}
