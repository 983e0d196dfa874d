package sequence

import "math"

// starts is from how many stops a large block is begun afresh.
const starts = 10

// roughly gives a short way through a block that is too large to be certain of: the nearest next stop from several
// beginnings, each bettered by moving runs of up to three stops until no move helps.
func (b *block) roughly(ends []end) []end {
	best := end{metres: math.Inf(1)}
	for s := 0; s < min(starts, len(b.ids)); s++ {
		order := b.greedy(ends, s*len(b.ids)/min(starts, len(b.ids)))
		for b.better(ends, order) {
		}
		if d := b.lengthOf(ends, order); d < best.metres {
			_, before := b.from(ends, order[0])
			best = end{stop: b.ids[order[len(order)-1]], metres: d, before: before, inside: b.named(order)}
		}
	}
	return []end{best}
}

func (b *block) named(order []int) []int {
	out := make([]int, len(order))
	for i, p := range order {
		out[i] = b.ids[p]
	}
	return out
}

func (b *block) lengthOf(ends []end, order []int) float64 {
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

func (b *block) allowed(p int, done []bool) bool {
	for _, q := range b.first[p] {
		if !done[q] {
			return false
		}
	}
	return true
}

// better tries to move each run of one to three stops elsewhere, also turned round, keeps the first gain and reports
// whether there was one.
func (b *block) better(ends []end, order []int) bool {
	was := b.lengthOf(ends, order)
	for run := 1; run <= 3; run++ {
		for from := 0; from+run <= len(order); from++ {
			for to := 0; to+run <= len(order); to++ {
				if to == from {
					continue
				}
				for _, turn := range []bool{false, true} {
					next := moved(order, from, to, run, turn)
					if b.lengthOf(ends, next) < was-1e-9 && b.keeps(next) {
						copy(order, next)
						return true
					}
				}
			}
		}
	}
	return false
}

// moved gives order with the run taken out and put back so that it begins at to.
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

// least gives a lower bound on any way through the block: the length of a shortest tree that joins its stops (Prim).
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
