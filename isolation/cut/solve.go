package cut

import "fmt"

// Solve finds the cheapest set of points that meets every demand of p.
//
// Returns an [*Uncut] if nothing does, [ErrNodeLimit] if the search was stopped
// before it had found any set, or another error if p is no problem. One plain
// cut decides unless p has vents with double demands, or blank demands whose
// lines other sources share. The answer is checked against exhaustive search in
// TestSolveIsExact.
//
// A plain cut takes 0.1 s and 90 B a vertex at a million vertices; each node of
// a search takes time in proportion to the plant, so a search is for plants of
// some thousand vertices.
func Solve(p Problem) (Solution, error) {
	n, err := NewNetwork(p)
	if err != nil {
		return Solution{}, fmt.Errorf("cut: %w", err)
	}
	if err := checkQuestion(p.N, p.Sources, p.Zone); err != nil {
		return Solution{}, fmt.Errorf("cut: %w", err)
	}
	return n.ask(p.Sources, p.Zone, true)
}

// Solve answers for other sources and another zone on the same plant, as
// [Solve] does, but leaves Labels nil: time goes with what lies between the
// work and the nearest sources, not with the plant.
func (n *Network) Solve(sources []Source, zone []int32) (Solution, error) {
	if err := checkQuestion(n.p.N, sources, zone); err != nil {
		return Solution{}, fmt.Errorf("cut: %w", err)
	}
	return n.ask(sources, zone, false)
}

// ask answers a checked question.
func (n *Network) ask(sources []Source, zone []int32, withLabels bool) (Solution, error) {
	if !n.pose(sources, zone) || !n.maximise() {
		return Solution{}, n.uncut(sources, zone)
	}
	if n.needsSearch() {
		return n.branch(nil, withLabels)
	}
	sol := n.read(withLabels)
	sol.Unique = n.isUnique()
	return sol, nil
}

// read takes the solution of the plain cut from the network.
func (n *Network) read(withLabels bool) Solution {
	sol := Solution{Bound: n.value + n.paidFor()}
	sol.Chosen, sol.Outer, sol.Cost = n.closest()
	if withLabels {
		sol.Labels = n.vertexLabels()
	}
	sol.Flow = n.certificate()
	return sol
}

// paidFor is the cost of the points that are closed from the start.
func (n *Network) paidFor() int64 {
	cost := int64(0)
	for _, i := range n.changed {
		if n.link[i].state == closed {
			cost += n.p.Cost[n.vertex[i]]
		}
	}
	return cost
}

// needsSearch tells whether a plain cut is only a bound.
func (n *Network) needsSearch() bool {
	if n.typing == partly {
		return true
	}
	if n.p.Vents == nil {
		return false
	}
	for _, s := range n.sources {
		if s.Demand == Double {
			return true
		}
	}
	return false
}
