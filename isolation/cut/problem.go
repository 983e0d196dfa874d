package cut

import (
	"errors"
	"fmt"
)

// Counts says what a closed vertex counts as; the bits may be combined.
type Counts uint8

// The bits of [Counts]. A vertex with both bits may be either point of a
// blank demand, but one vertex is never both at once.
const (
	// Valve counts as a closed point of single and double demands and as the
	// source-side point of a blank demand.
	Valve Counts = 1 << iota
	// Blank counts as the blank of a blank demand, and as nothing else.
	Blank
)

// Demand is how a source must be cut from the work. The zero value is invalid.
type Demand uint8

// The demands. Each speaks of every simple path from the source to the zone.
const (
	// Single asks for one chosen Valve point.
	Single Demand = 1 + iota
	// Double asks for two chosen Valve points; where [Problem.Vents] is set, for
	// two with no other chosen Valve point between them on the path, from whose
	// stretch between an opening can be reached without crossing any chosen point.
	Double
	// BlankBehind asks for a chosen Valve point and, nearer the work, a chosen
	// Blank point.
	BlankBehind
)

// String returns the demand in words.
func (d Demand) String() string {
	switch d {
	case Single:
		return "single"
	case Double:
		return "double"
	case BlankBehind:
		return "blank behind a valve"
	}
	return fmt.Sprintf("demand %d", uint8(d))
}

// layers is the number of closed points that the demand needs on a path.
func (d Demand) layers() int {
	if d == Single {
		return 1
	}
	return 2
}

// Problem is a plant as a graph, the sources to be cut off, and the work.
type Problem struct {
	// N is the number of vertices, numbered 0 to N-1.
	N int
	// Edges let flow pass either way.
	Edges [][2]int32
	// Arcs let flow pass from [0] to [1] only: non-return valves.
	Arcs [][2]int32
	// Cost is per vertex: 0 can't (or mustn't) be closed, otherwise at least 1.
	// The sum may not pass MaxCost.
	Cost []int64
	// Counts is per vertex; nil means that every closable vertex is a Valve. A
	// vertex that counts as nothing can't be chosen, whatever its cost.
	Counts []Counts
	// Vents is per vertex: true is an opening (drain or bleed). nil means no
	// condition on what lies between the two points of a double demand.
	Vents []bool
	// Sources are what must be cut off. A source is never chosen.
	Sources []Source
	// Zone holds the vertices opened by the work. None of them is ever chosen.
	Zone []int32
	// NodeLimit bounds the branch and bound; 0 means DefaultNodeLimit.
	NodeLimit int
}

// Source is a vertex that supplies energy, and how it must be cut off.
type Source struct {
	Vertex int32
	Demand Demand
}

// Limits of a [Problem].
const (
	// MaxCost is the largest allowed sum of all costs.
	MaxCost = int64(1) << 59
	// MaxVertices is the largest allowed number of vertices, and of edges and
	// arcs together.
	MaxVertices = 1 << 26
	// DefaultNodeLimit is the number of branch-and-bound nodes when none is
	// given.
	DefaultNodeLimit = 20000
)

// Solution is a cheapest set of points with what proves it.
type Solution struct {
	// Chosen are the points to close, ascending. Where one plain cut decides,
	// it is the cheapest set nearest the work.
	Chosen []int32
	// Outer is per Chosen: true if the point serves as the layer farther from
	// the work (label 0 to 1 of 2). All false where every demand is single.
	Outer []bool
	// Labels is per vertex: the layers that lie between the sources and the
	// vertex, in the least labelling that belongs to the set, 0 to 2 (to 1
	// where every demand is single). A chosen vertex has the label of its
	// source side. nil from [Network.Solve].
	Labels []uint8
	// Cost is the sum of the costs of Chosen.
	Cost int64
	// Bound is proven: no set is cheaper. It equals Cost unless the node limit
	// stopped the search.
	Bound int64
	// Unique is true if it is proven that no other set costs as little. Proven
	// for one plain cut only: false after branch and bound.
	Unique bool
	// Flow is the certificate of the plain cut: a flow of value Bound, or of
	// less where branch and bound raised the bound.
	Flow Certificate
	// Nodes is the number of branch-and-bound nodes, 0 for one plain cut.
	Nodes int
}

// Uncut is the error when nothing meets a demand. Path is a simple path from a
// source to the zone.
type Uncut struct {
	Path []int32
	// Need is the number of closed points demanded, Have how many the path can
	// give at most (in the order and of the kind demanded).
	Need, Have int
	// Drain is true if there are points enough but no choice leaves an opening
	// between two of them on every path; Path is then one that fails.
	Drain bool
	// Exhausted is true if no single path is to blame: the search showed that
	// the demands can't be met together. Path is then one that fails.
	Exhausted bool
}

// Error says which path can't be cut, and why.
func (u *Uncut) Error() string {
	switch {
	case u.Drain:
		return fmt.Sprintf("no choice of points leaves an opening between two closed points on every path, for instance on "+
			"%v", u.Path)
	case u.Exhausted:
		return fmt.Sprintf("the demands can't be met together, for instance on path %v", u.Path)
	}
	return fmt.Sprintf("path %v has %d usable points, %d needed", u.Path, u.Have, u.Need)
}

// ErrNodeLimit is returned when the node limit stopped the search before any
// set was found. It doesn't mean that there is none.
var ErrNodeLimit = errors.New("node limit reached before any set was found")

// closable tells whether v may be chosen, apart from being a source or zone.
func (p *Problem) closable(v int32) bool {
	return p.Cost[v] > 0 && (p.Counts == nil || p.Counts[v]&(Valve|Blank) != 0)
}

// counts returns what v counts as when closed.
func (p *Problem) counts(v int32) Counts {
	if p.Counts == nil {
		return Valve
	}
	return p.Counts[v]
}

// checkPlant refuses a graph that isn't one.
func (p *Problem) checkPlant() error {
	switch {
	case p.N < 1 || p.N > MaxVertices:
		return fmt.Errorf("number of vertices is %d, want 1 to %d", p.N, MaxVertices)
	case len(p.Cost) != p.N:
		return fmt.Errorf("%d costs for %d vertices", len(p.Cost), p.N)
	case p.Counts != nil && len(p.Counts) != p.N:
		return fmt.Errorf("%d kinds of point for %d vertices", len(p.Counts), p.N)
	case p.Vents != nil && len(p.Vents) != p.N:
		return fmt.Errorf("%d openings flags for %d vertices", len(p.Vents), p.N)
	case int64(len(p.Edges))+int64(len(p.Arcs)) > MaxVertices:
		return fmt.Errorf("%d edges and arcs, at most %d allowed", len(p.Edges)+len(p.Arcs), MaxVertices)
	}
	sum := int64(0)
	for v, c := range p.Cost {
		if c < 0 {
			return fmt.Errorf("cost of vertex %d is negative: %d", v, c)
		}
		if c > MaxCost-sum {
			return fmt.Errorf("sum of costs passes %d", MaxCost)
		}
		sum += c
	}
	return checkPairs(p.N, p.Edges, p.Arcs)
}

// checkPairs refuses edges and arcs that lead outside the graph.
func checkPairs(n int, edges, arcs [][2]int32) error {
	for i, e := range edges {
		if uint32(e[0]) >= uint32(n) || uint32(e[1]) >= uint32(n) {
			return fmt.Errorf("edge %d joins %d and %d, vertices are 0 to %d", i, e[0], e[1], n-1)
		}
	}
	for i, e := range arcs {
		if uint32(e[0]) >= uint32(n) || uint32(e[1]) >= uint32(n) {
			return fmt.Errorf("arc %d joins %d and %d, vertices are 0 to %d", i, e[0], e[1], n-1)
		}
	}
	return nil
}

// checkQuestion refuses sources and a zone that make no question.
func checkQuestion(n int, sources []Source, zone []int32) error {
	if len(zone) == 0 {
		return errors.New("the zone is empty")
	}
	for _, s := range sources {
		if uint32(s.Vertex) >= uint32(n) {
			return fmt.Errorf("source %d is no vertex, they are 0 to %d", s.Vertex, n-1)
		}
		if s.Demand < Single || s.Demand > BlankBehind {
			return fmt.Errorf("source %d has unknown %v", s.Vertex, s.Demand)
		}
	}
	for _, z := range zone {
		if uint32(z) >= uint32(n) {
			return fmt.Errorf("zone vertex %d is no vertex, they are 0 to %d", z, n-1)
		}
	}
	return checkApart(sources, zone)
}

// checkApart refuses a source that lies in the zone.
func checkApart(sources []Source, zone []int32) error {
	if len(sources)*len(zone) <= 4096 {
		for _, s := range sources {
			for _, z := range zone {
				if s.Vertex == z {
					return fmt.Errorf("source %d lies inside the zone", z)
				}
			}
		}
		return nil
	}
	in := make(map[int32]struct{}, len(sources))
	for _, s := range sources {
		in[s.Vertex] = struct{}{}
	}
	for _, z := range zone {
		if _, hit := in[z]; hit {
			return fmt.Errorf("source %d lies inside the zone", z)
		}
	}
	return nil
}
