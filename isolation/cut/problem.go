package cut

import (
	"errors"
	"fmt"
	"slices"
)

// Counts says what a closed vertex counts as; the bits may be combined.
type Counts uint8

// The bits of [Counts]. A vertex with both of the first two may be either point
// of a blank demand, but one vertex is never both at once.
const (
	// Valve counts as a closed point of single and double demands and as the
	// source-side point of a blank demand.
	Valve Counts = 1 << iota
	// Blank counts as the blank of a blank demand, and as nothing else.
	Blank
	// Joint is closed only after all points without this bit, by breaking a joint.
	// So the part around it that those bound must be bled.
	Joint
)

// Demand is how a source must be cut from the work. The zero value is invalid.
type Demand uint8

// The demands. Each speaks of every simple path from the source to the zone.
const (
	// Single asks for one chosen Valve point.
	Single Demand = 1 + iota
	// Double asks for two chosen Valve points.
	Double
	// Bled asks for two chosen Valve points, and between them a vertex in a part
	// that is bled: see [Problem.Openings].
	Bled
	// BlankBehind asks for a chosen Valve point and, nearer the work, a chosen
	// Blank point.
	BlankBehind
	// None asks for nothing: the source only keeps from being bled what it comes
	// to.
	None
)

// String returns the demand in words.
func (d Demand) String() string {
	switch d {
	case Single:
		return "single"
	case Double:
		return "double"
	case Bled:
		return "double with a bleed between"
	case BlankBehind:
		return "blank behind a valve"
	case None:
		return "none"
	}
	return fmt.Sprintf("demand %d", uint8(d))
}

// layers is the number of closed points that the demand needs on a path.
func (d Demand) layers() int {
	switch d {
	case None:
		return 0
	case Single:
		return 1
	}
	return 2
}

// Problem is a plant as a graph, the sources to be cut off, and the work. What
// flows passes every edge either way, unless it is an air gap.
//
// The chosen points divide the plant into parts: what is connected without
// crossing one of them. A part is bled if it has an opening and no source can
// come to it, whatever that source's demand is, not even before the joints are
// broken; where it has one-way edges, only that of it is bled which can run to
// an opening that no source can come to. A source that feeds a part may be cut off from it by closing more
// points than the demands ask for; points that aren't chosen may be opened, so
// they bound nothing.
type Problem struct {
	// N is the number of vertices, numbered 0 to N-1.
	N int
	// Edges join two vertices each.
	Edges [][2]int32
	// OneWay join two vertices too, and stop nothing, as a non-return valve may
	// leak. But what is to be drained runs from [0] to [1] only.
	OneWay [][2]int32
	// Gaps join two vertices across an air gap: nothing whatever comes from [1] to
	// [0].
	Gaps [][2]int32
	// Cost is per vertex: 0 can't (or mustn't) be closed, otherwise at least 1.
	// The sum may not pass MaxCost.
	Cost []int64
	// Counts is per vertex; nil means that every closable vertex is a Valve. A
	// vertex that counts as neither Valve nor Blank can't be chosen, whatever its
	// cost.
	Counts []Counts
	// Openings is per vertex: true is a drain or bleed that may be opened. It can't
	// be closed, so its cost is 0. nil means that there are none.
	Openings []bool
	// Needs are what points need of others, as an automatic valve stays shut only
	// without its supply.
	Needs []Need
	// Further, if not nil, returns more needs, each one that the given points,
	// ascending, don't meet. What it once returned must hold for every set.
	Further func(chosen []int32) []Need
	// Sources are what must be cut off. A source is never chosen.
	Sources []Source
	// Zone holds the vertices opened by the work. None of them is ever chosen.
	Zone []int32
	// Keeps are further cuts, of what is not opened and may not come alive.
	Keeps []Keep
	// Losses are what the set takes from others. The weight of those that it brings
	// counts together with the cost of its points: weights above all costs put
	// services before locks.
	Losses []Loss
	// Nets are the ways by which services are supplied, each from [0] to [1].
	Nets [][][2]int32
	// ZoneBled prefers, of the sets that cost least, one that leaves the zone bled:
	// what is opened can then be drained through an opening of its own part.
	ZoneBled bool
	// Limit bounds the search by the number of its conflicts where more than
	// AlwaysProven points are joined to the work; 0 means DefaultLimit.
	Limit int
}

// Need says that whoever chooses point If must choose one of OneOf too. Where
// none of those can be chosen, nor can If.
type Need struct {
	If    int32
	OneOf []int32
}

// Source is a vertex that supplies energy, and how it must be cut off.
type Source struct {
	Vertex int32
	Demand Demand
}

// Keep asks for one chosen Valve point on every path from one of some sources to
// one of some vertices, which can't be closed themselves.
type Keep struct {
	From, To []int32
}

// Limits of a [Problem].
const (
	// MaxCost is the largest allowed sum of all costs.
	MaxCost = int64(1) << 59
	// MaxVertices is the largest allowed number of vertices, and of edges.
	MaxVertices = 1 << 26
	// AlwaysProven is up to how many points joined to the work a search ends by
	// itself, however long it takes.
	AlwaysProven = 60
	// DefaultLimit is the limit of the search where none is given.
	DefaultLimit = 20000
)

// Bound is what is proven about the cost of every set that meets the demands,
// together with the weight of its losses.
type Bound struct {
	// ByFlow is proven by the certificate: the plain cut knows nothing of parts,
	// joints, needs and losses, and takes any point for a blank where other demands
	// share its line.
	ByFlow int64
	// BySearch is proven by the search alone, 0 if there was none. Nothing but the
	// search itself bears it out.
	BySearch int64
}

// Least is the greater of the two: no set costs less.
func (b Bound) Least() int64 { return max(b.ByFlow, b.BySearch) }

// Solution is a cheapest set of points with what proves it.
type Solution struct {
	// Chosen are the points to close, ascending. Of the cheapest sets it is one
	// that leaves as much of the zone bled as can be, if that is preferred, and of
	// those the one nearest the work: where the plain cut decides, by the layers at
	// every vertex; after a search, the one that does without the farthest points.
	Chosen []int32
	// ForBleed is true if another set costs as little and is nearer the work, but
	// leaves less of the zone bled.
	ForBleed bool
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
	// Lost are the losses that the set brings, by number, ascending, and Toll is
	// their weight.
	Lost []int
	Toll int64
	// Bound is proven: Bound.Least() equals Cost + Toll unless the limit stopped
	// the search.
	Bound Bound
	// Unique is true if it is proven that no other set costs as little.
	Unique bool
	// Flow is the certificate of the plain cut: a flow of value Bound.ByFlow.
	Flow Certificate
	// Conflicts is how many the search met; Searched whether there was one.
	Conflicts int
	Searched  bool
}

// Exact tells whether it is proven that no set costs less.
func (s Solution) Exact() bool { return s.Bound.Least() == s.Cost+s.Toll }

// Uncut is the error when nothing meets a demand. Path is a simple path from a
// source to the zone.
type Uncut struct {
	Path []int32
	// Need is the number of closed points demanded, Have how many the path can
	// give at most (in the order and of the kind demanded).
	Need, Have int
	// Bleed is true if there are points enough but no choice leaves a bled part
	// between two of them on every path; Path is then one that fails.
	Bleed bool
	// Kept is true if the path ends at a vertex of a [Keep] and not in the zone.
	Kept bool
	// Exhausted is true if no single path is to blame: the search showed that
	// the demands can't be met together. Path is then one that fails.
	Exhausted bool
}

// Error says which path can't be cut, and why.
func (u *Uncut) Error() string {
	switch {
	case u.Bleed:
		return fmt.Sprintf("no choice of points leaves a bled part between two closed points on every path, for instance on "+
			"%v", u.Path)
	case u.Exhausted:
		return fmt.Sprintf("the demands can't be met together, for instance on path %v", u.Path)
	}
	return fmt.Sprintf("path %v has %d usable points, %d needed", u.Path, u.Have, u.Need)
}

// ErrUndecided is returned when the limit stopped the search before any set was
// found. It doesn't mean that there is none.
var ErrUndecided = errors.New("the search was stopped before any set was found, so it isn't known whether there is one")

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

// edges are all that flow passes either way, those that drain either way first.
func (p *Problem) edges() [][2]int32 {
	if len(p.OneWay) == 0 {
		return p.Edges
	}
	return slices.Concat(p.Edges, p.OneWay)
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
	case p.Openings != nil && len(p.Openings) != p.N:
		return fmt.Errorf("%d openings flags for %d vertices", len(p.Openings), p.N)
	case int64(len(p.Edges))+int64(len(p.OneWay))+int64(len(p.Gaps)) > MaxVertices:
		return fmt.Errorf("%d edges, at most %d allowed", len(p.Edges)+len(p.OneWay)+len(p.Gaps), MaxVertices)
	}
	sum := int64(0)
	for v, c := range p.Cost {
		if c < 0 {
			return fmt.Errorf("cost of vertex %d is negative: %d", v, c)
		}
		if c > MaxCost-sum {
			return fmt.Errorf("sum of costs passes %d", MaxCost)
		}
		if c > 0 && p.Openings != nil && p.Openings[v] {
			return fmt.Errorf("vertex %d is an opening and costs %d to close, want 0", v, c)
		}
		sum += c
	}
	if err := checkPairs("edge", p.N, p.Edges); err != nil {
		return err
	}
	if err := checkPairs("one-way edge", p.N, p.OneWay); err != nil {
		return err
	}
	if err := checkPairs("air gap", p.N, p.Gaps); err != nil {
		return err
	}
	for i, n := range p.Needs {
		for _, v := range append([]int32{n.If}, n.OneOf...) {
			if uint32(v) >= uint32(p.N) {
				return fmt.Errorf("need %d speaks of %d, vertices are 0 to %d", i, v, p.N-1)
			}
		}
	}
	if err := p.checkKeeps(); err != nil {
		return err
	}
	return p.checkLosses()
}

// checkKeeps refuses further cuts that lead outside the graph, or to what can be closed.
func (p *Problem) checkKeeps() error {
	for i, k := range p.Keeps {
		for _, v := range slices.Concat(k.From, k.To) {
			if uint32(v) >= uint32(p.N) {
				return fmt.Errorf("keep %d speaks of %d, vertices are 0 to %d", i, v, p.N-1)
			}
		}
		for _, v := range k.To {
			if p.Cost[v] > 0 || slices.Contains(k.From, v) {
				return fmt.Errorf("keep %d: vertex %d can be closed, or is a source of it", i, v)
			}
		}
	}
	return nil
}

// kept lists what the further cuts keep from sources.
func (p *Problem) kept() []int32 {
	var out []int32
	for _, k := range p.Keeps {
		out = append(out, k.To...)
	}
	return out
}

// checkPairs refuses pairs that lead outside the graph.
func checkPairs(what string, n int, pairs [][2]int32) error {
	for i, e := range pairs {
		if uint32(e[0]) >= uint32(n) || uint32(e[1]) >= uint32(n) {
			return fmt.Errorf("%s %d joins %d and %d, vertices are 0 to %d", what, i, e[0], e[1], n-1)
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
		if s.Demand < Single || s.Demand > None {
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
