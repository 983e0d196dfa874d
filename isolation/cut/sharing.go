package cut

import "math"

// sharing is a better bound where blanks are mixed with other demands. A point
// that serves both is paid for once, and no plain cut can say that; but if its
// cost is shared out, one share for each of two cuts, the two cuts together
// bound the whole from below, whatever the shares are. So shares are sought
// that make the bound great: where only one of the cuts wants a point, its
// share there grows (Lagrangian relaxation with subgradient steps: Held, Wolfe
// and Crowder, "Validation of subgradient optimization", 1974, from memory).
type sharing struct {
	share []int64 // per point: the share of the cut for the other demands
	wants []int8  // per point: bit 0 that cut, bit 1 the one for blanks
}

// fine is how many parts a cost is divided into for sharing.
const fine = 64

// rounds of improvement at the first node, and at each other.
const (
	firstRounds = 60
	nodeRounds  = 6
)

func (b *branching) newSharing() *sharing {
	total := int64(0)
	for _, c := range b.n.p.Cost {
		total += c
	}
	if len(b.blanks) == 0 || total > math.MaxInt64/(8*fine) {
		return nil
	}
	s := &sharing{share: make([]int64, len(b.n.vertex)), wants: make([]int8, len(b.n.vertex))}
	for i, v := range b.n.vertex {
		s.share[i] = b.n.p.Cost[v] * fine / 2
	}
	return s
}

// bound returns a lower bound on the cost of any set within the node.
func (s *sharing) bound(b *branching, a *node) int64 {
	rounds := nodeRounds
	if a.parent == nil {
		rounds = firstRounds
	}
	best := int64(0)
	for r := range rounds {
		clear(s.wants)
		sum := s.half(b, a, b.plains, 0) + s.half(b, a, b.blanks, 1)
		best = max(best, (sum+fine-1)/fine+b.n.paidFor())
		if b.best != nil && a.lost >= b.bestLost && best >= b.bestCost {
			break
		}
		s.improve(b, r)
	}
	return best
}

// half is the cheapest cut for some of the sources at their share of the costs.
func (s *sharing) half(b *branching, a *node, sources []Source, which int8) int64 {
	for i, v := range b.n.vertex {
		b.n.link[i].cost = s.share[i]
		if which == 1 {
			b.n.link[i].cost = b.n.p.Cost[v]*fine - s.share[i]
		}
	}
	value := int64(0)
	if b.load(a, sources) && b.n.maximise() {
		value = b.n.value
		chosen, _, _ := b.n.closest()
		for _, v := range chosen {
			s.wants[^b.n.at[v]] |= 1 << which
		}
	}
	for i, v := range b.n.vertex {
		b.n.link[i].cost = b.n.p.Cost[v]
	}
	return value
}

// improve moves shares towards the cut that alone wants a point, less and less
// from round to round.
func (s *sharing) improve(b *branching, round int) {
	for i, w := range s.wants {
		cost := b.n.p.Cost[b.n.vertex[i]] * fine
		step := max(1, cost/int64(3+round))
		switch w {
		case 1:
			s.share[i] = min(cost, s.share[i]+step)
		case 2:
			s.share[i] = max(0, s.share[i]-step)
		}
	}
}
