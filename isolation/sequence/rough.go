package sequence

import (
	"math"
	"slices"
)

// starts is from how many stops a large block is begun afresh.
const starts = 10

// roughly returns a short way through a block that is too large to be certain of: the nearest next stop from several
// beginnings, each bettered by moving runs of up to three stops until no move helps.
func (b *block) roughly(ends []end) []end {
	best := end{metres: math.Inf(1)}
	for s := 0; s < min(starts, len(b.ids)); s++ {
		// Beginnings are spread over the list: neighbours in it mostly lead to one and the same way.
		order := b.greedy(ends, s*len(b.ids)/min(starts, len(b.ids)))
		for b.better(ends, order) {
		}
		if d := b.lengthOf(ends, order); d < best.metres {
			_, before := b.from(ends, order[0])
			best = end{stop: b.ids[order[len(order)-1]], metres: d, before: before, inside: b.named(order)}
		}
	}
	// One end only: a heuristic way is good by itself, and the same way to other ends would be no bound for anything.
	return []end{best}
}

// named returns the stops of an order of positions.
func (b *block) named(order []int) []int {
	out := make([]int, len(order))
	for i, p := range order {
		out[i] = b.ids[p]
	}
	return out
}

// lengthOf returns the length of an order, with the way to its first stop from the block before.
func (b *block) lengthOf(ends []end, order []int) float64 {
	if len(order) == 0 {
		return 0
	}
	d, _ := b.from(ends, order[0])
	for i := 1; i < len(order); i++ {
		d += b.metres[order[i-1]][order[i]]
	}
	return d
}

// greedy goes to the nearest stop that is allowed, beginning with start where that is allowed (-1: anywhere). It is
// shorter than the block where the requirements go in a circle.
func (b *block) greedy(ends []end, start int) []int {
	done := make([]bool, len(b.ids))
	var order []int
	for len(order) < len(b.ids) {
		next, least := -1, math.Inf(1)
		for p := range b.ids {
			if done[p] || !b.allowed(p, done) {
				continue
			}
			var d float64
			switch {
			case len(order) > 0:
				d = b.metres[order[len(order)-1]][p]
			case p == start:
				d = -1
			default:
				d, _ = b.from(ends, p)
			}
			if d < least {
				next, least = p, d
			}
		}
		if next < 0 {
			return order
		}
		done[next] = true
		order = append(order, next)
	}
	return order
}

// allowed reports whether everything that stop p needs has been done.
func (b *block) allowed(p int, done []bool) bool {
	for _, q := range b.first[p] {
		if !done[q] {
			return false
		}
	}
	return true
}

// better tries to move each run of one to three stops elsewhere, also turned round, keeps the first gain and reports
// whether there was one. What a move gains is reckoned from the stops next to it alone.
func (b *block) better(ends []end, order []int) bool {
	for run := 1; run <= 3; run++ {
		for from := 0; from+run <= len(order); from++ {
			// What the run costs where it is now is what any other place must beat.
			rest := append(slices.Clone(order[:from]), order[from+run:]...)
			gain := b.lengthOf(ends, order) - b.lengthOf(ends, rest)
			for to := 0; to <= len(rest); to++ {
				for _, turn := range []bool{false, true} {
					if to == from && !turn || b.inserted(ends, rest, order[from:from+run], to, turn) >= gain-1e-9 {
						continue
					}
					if next := moved(order, from, to, run, turn); b.keeps(next) {
						copy(order, next)
						return true
					}
				}
			}
		}
	}
	return false
}

// inserted returns by how much a way gets longer with a piece put in before position to.
func (b *block) inserted(ends []end, rest, piece []int, to int, turn bool) float64 {
	first, last := piece[0], piece[len(piece)-1]
	if turn {
		first, last = last, first
	}
	d := 0.0
	for i := 1; i < len(piece); i++ {
		d += b.metres[piece[i-1]][piece[i]]
	}
	come := func(p int) float64 {
		if to == 0 {
			e, _ := b.from(ends, p)
			return e
		}
		return b.metres[rest[to-1]][p]
	}
	d += come(first)
	if to < len(rest) {
		d += b.metres[last][rest[to]] - come(rest[to])
	}
	return d
}

// moved returns order with the run taken out and put back so that it begins at to.
func moved(order []int, from, to, run int, turn bool) []int {
	piece := append([]int(nil), order[from:from+run]...)
	if turn {
		piece = Reverse(piece)
	}
	rest := append(append([]int(nil), order[:from]...), order[from+run:]...)
	return append(append(append([]int(nil), rest[:to]...), piece...), rest[to:]...)
}

// keeps reports whether an order keeps every requirement of the block.
func (b *block) keeps(order []int) bool {
	done := make([]bool, len(b.ids))
	for _, p := range order {
		if !b.allowed(p, done) {
			return false
		}
		done[p] = true
	}
	return true
}

// least returns a lower bound on any way through the block: the length of a shortest tree that joins its stops (Prim).
// Where a stop's place is unknown the distances still are what the tree is made of, so the bound holds.
func (b *block) least() float64 {
	far := make([]float64, len(b.ids))
	in := make([]bool, len(b.ids))
	for i := range far {
		far[i] = math.Inf(1)
	}
	far[0] = 0
	sum := 0.0
	for range b.ids {
		next := -1
		for p := range far {
			if !in[p] && (next < 0 || far[p] < far[next]) {
				next = p
			}
		}
		in[next] = true
		sum += far[next]
		for q := range far {
			far[q] = min(far[q], b.metres[next][q])
		}
	}
	return sum
}
