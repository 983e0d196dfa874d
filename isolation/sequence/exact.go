package sequence

import "math"

// exactly returns the shortest way to each stop at which the block can end, entered from the ends of the block before.
func (b *block) exactly(ends []end) []end {
	n := len(b.ids)
	full := 1<<n - 1
	length := make([]float64, (full+1)*n) // 168 MB for 20 stops
	for i := range length {
		length[i] = math.Inf(1)
	}
	need := b.masks()
	for p := range b.ids {
		if need[p] == 0 {
			length[(1<<p)*n+p], _ = b.from(ends, p)
		}
	}
	for seen := 1; seen <= full; seen++ {
		for p := range b.ids {
			if d := length[seen*n+p]; !math.IsInf(d, 1) {
				b.extend(length, need, seen, p)
			}
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

// extend goes one stop on from p with seen visited.
func (b *block) extend(length []float64, need []int, seen, p int) {
	n := len(b.ids)
	d, row := length[seen*n+p], b.metres[p]
	for q := range row {
		if seen&(1<<q) != 0 || need[q]&^seen != 0 {
			continue
		}
		at := (seen|1<<q)*n + q
		if d+row[q] < length[at] {
			length[at] = d + row[q]
		}
	}
}

// trace finds the way of the shortest length that ends at p, backwards.
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
