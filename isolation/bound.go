package isolation

import "fmt"

// Bound is why no plan has fewer points: ways from sources to the work that no two plans could cut with one point. It
// can be checked with a pencil on the drawing, and the proof checks it every time.
//
// A demand of two points is a matter of two layers. Let X be the points of any plan that meets the demands, and let
// each node have the number of points of X, 0 to 2, that something from a source has behind it there: 0 at a source
// that must be cut twice, 1 at one that must be cut once, 2 in the work. A way travels in the outer layer (0) until it
// rises to the inner one (1). In the outer layer it passes from where the number is 0 to where it is more, in the inner
// from less than 2 to 2; it can do either only at a point of X, which does not count for a way that rises at the point
// itself. Each point of X makes one such passage, in one layer. So ways that cross each point with at most Scale in
// either layer need at least the sum of their amounts, divided by Scale, in points. (A layered maximum flow, Ford and
// Fulkerson 1956, as ways; the argument is our own and is held against exhaustive search.)
//
// A way of Kept leads from a source to a part that is kept off from it, and needs any one point of X. It counts at each
// point that it crosses in both layers, so that no point serves it and another way with the same Scale.
//
// An automatic valve is never shut without its supply. For each valve in With the supply's own worth is moved to the
// valve: it may carry twice Scale less 1, and the supply 1. No two of them have the same supply.
type Bound struct {
	Scale int64      `json:"scale"`
	With  []NodeID   `json:"with,omitempty"`
	Ways  []BoundWay `json:"ways"`
	Kept  []BoundWay `json:"kept,omitempty"` // to what is kept off
}

// BoundWay is one way of a Bound: the nodes from a source to the work, the place in Nodes at which it rises to the
// inner layer (-1 for one that begins there), and how much it counts.
type BoundWay struct {
	Nodes  []NodeID `json:"nodes"`
	Rise   int      `json:"rise"`
	Amount int64    `json:"amount"`
}

// Points returns the number of points that the bound says are needed: the sum of the ways' amounts in whole points,
// rounded up. It checks nothing.
func (b *Bound) Points() int64 {
	if b == nil || b.Scale < 1 {
		return 0
	}
	sum := int64(0)
	for _, w := range b.Ways {
		sum += w.Amount
	}
	for _, w := range b.Kept {
		sum += w.Amount
	}
	return (sum + b.Scale - 1) / b.Scale
}

// SayBound returns what a plan may say of whether fewer points would do: without a condition only where its bound,
// which the proof checks, reaches its points.
func (p *Plan) SayBound() string {
	few := p.Cost - 1
	switch {
	case p.Cost == 0:
		return ""
	case p.LowerBound == p.Cost:
		return "No plan with fewer exists."
	case p.Change != nil:
		return "It keeps what hangs already, so whether fewer would do was not looked for."
	case p.LowerBound == 0:
		return fmt.Sprintf("That %d would not do is not proved.", few)
	case p.PlainCost < p.Cost:
		return fmt.Sprintf("At least %d are needed; %d would be enough, but would take the supply of more that others need. "+
			"That %d would not do without that is not proved.", p.LowerBound, p.PlainCost, few)
	case p.SearchBound == p.Cost:
		return fmt.Sprintf("At least %d are needed; the search found that %d would not do, but that is not proved.",
			p.LowerBound, few)
	}
	return fmt.Sprintf("At least %d are needed; whether %d would do was not found within the limit of the search.",
		p.LowerBound, few)
}
