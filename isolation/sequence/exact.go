package sequence

import (
	"math"
	"math/bits"
)

// exactly returns the shortest way to each stop at which the block can end, entered from the ends of the block before.
// length[seen*n+p] is the shortest way through the set of stops seen, as bits, that ends at p.
func (b *block) exactly(ends []end) []end {
	n := len(b.ids)
	full := 1<<n - 1
	length := make([]float64, (full+1)*n) // 168 MB for 20 stops
	for i := range length {
		length[i] = math.Inf(1)
	}
	// Any stop that needs no other may come first; its length is that of coming to it from the block before.
	need := b.masks()
	for p := range b.ids {
		if need[p] == 0 {
			length[(1<<p)*n+p], _ = b.from(ends, p)
		}
	}
	// A set is larger as a number than each of its subsets, so counting up meets every set after all that lead to it.
	members := make([]int, 0, n)
	for seen := 1; seen < full; seen++ {
		if members = inside(seen, need, members[:0]); members != nil {
			b.extend(length, need, seen, members)
		}
	}
	var out []end
	for p := range b.ids {
		if d := length[full*n+p]; !math.IsInf(d, 1) {
			out = append(out, b.trace(length, ends, p))
		}
	}
	return out
}

// inside appends the members of a set to a list; nil if one of them needs a stop that is not in the set.
func inside(set int, need, list []int) []int {
	for rest := set; rest != 0; rest &= rest - 1 {
		p := bits.TrailingZeros(uint(rest))
		if need[p]&^set != 0 {
			return nil
		}
		list = append(list, p)
	}
	return list
}

// masks returns for each position the set of positions that must come before it.
func (b *block) masks() []int {
	need := make([]int, len(b.ids))
	for p := range b.ids {
		for _, q := range b.first[p] {
			need[p] |= 1 << q
		}
	}
	return need
}

// extend goes one stop on from a set of stops to each that may come next.
func (b *block) extend(length []float64, need []int, seen int, members []int) {
	n := len(b.ids)
	// The set with q in it is come to from here alone if q was last: so each of its lengths is written once.
	here := length[seen*n : seen*n+n]
	for q, row := range b.metres { // distances are the same both ways
		if seen&(1<<q) != 0 || need[q]&^seen != 0 {
			continue
		}
		least := math.Inf(1)
		for _, p := range members {
			least = min(least, here[p]+row[p])
		}
		length[(seen|1<<q)*n+q] = least
	}
}

// trace finds the way of the shortest length that ends at p, backwards: before the last stop comes one from which its
// length follows exactly. The sums are made in the same order as before, so equality is safe.
func (b *block) trace(length []float64, ends []end, p int) end {
	n := len(b.ids)
	seen := 1<<n - 1
	e := end{stop: b.ids[p], metres: length[seen*n+p], inside: make([]int, n)}
	for at := n - 1; ; at-- {
		e.inside[at] = b.ids[p]
		if at == 0 {
			break
		}
		before := seen &^ (1 << p)
		for q := n - 1; q >= 0; q-- { // of equals the later in the list comes later
			if before&(1<<q) != 0 && length[before*n+q]+b.metres[q][p] == length[seen*n+p] {
				seen, p = before, q
				break
			}
		}
	}
	_, e.before = b.from(ends, p)
	return e
}
