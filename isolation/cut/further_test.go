package cut

import "fmt"

// Solve answers for other sources and another zone on the same plant, as
// [Solve] does, but leaves Labels nil: time goes with what lies between the
// work and the nearest sources, not with the plant.
func (n *Network) Solve(sources []Source, zone []int32) (Solution, error) {
	if err := checkQuestion(n.p.N, sources, zone); err != nil {
		return Solution{}, fmt.Errorf("cut: %w", err)
	}
	return n.ask(sources, zone, false)
}
