package sequence

import (
	"fmt"
	"math"
	"slices"
)

// Exact is up to how many stops of one block the shortest round is found for certain.
const Exact = 20

// Round is an order with its length in metres and a proven lower bound on the length of any allowed order. Metres
// equals BoundM when every block had at most Exact stops.
type Round struct {
	Order  []int
	Metres float64
	BoundM float64
}

// Order returns the shortest round through all stops that keeps the blocks apart and every After. The search is exact
// inside blocks of up to Exact stops, by dynamic programming over which have been visited (Held and Karp, "A dynamic
// programming approach to sequencing problems", 1962; with precedence: Escudero, 1988; both from memory), chained from
// block to block with the least length for each last stop; in a larger block it is a heuristic, and BoundM says how
// far it may be off. Returns an error for a stop that is no place or for requirements that go in a circle.
// A block of n stops costs n²·2ⁿ steps at worst; precedence makes it less.
func Order(stops []Stop) (Round, error) {
	if err := check(stops); err != nil {
		return Round{}, err
	}
	// ends holds, block after block, the shortest way up to each stop at which the block can end. A later block asks no
	// more of an earlier one, so nothing else has to be kept.
	var ends []end
	bound, exact := 0.0, true
	for _, block := range blocksOf(stops) {
		b := newBlock(stops, block)
		if !b.possible() {
			return Round{}, fmt.Errorf("the stops of block %d must each come after another in a circle", stops[block[0]].Block)
		}
		if len(block) <= Exact {
			ends = b.exactly(ends)
			continue
		}
		exact = false
		bound += b.least() // what lies between blocks is not counted: the bound stays a bound
		ends = b.roughly(ends)
	}
	if len(ends) == 0 {
		return Round{Order: []int{}}, nil
	}
	// The round may end anywhere: the shortest of all ends is the answer.
	best := ends[0]
	for _, e := range ends[1:] {
		if e.metres <= best.metres { // of equals the later in the list comes later
			best = e
		}
	}
	r := Round{Order: best.way(), Metres: best.metres, BoundM: best.metres}
	if !exact {
		r.BoundM = min(bound, r.Metres)
	}
	return r, nil
}

// end is the shortest way found so far that ends at one stop: the way inside its block and the end that it came from.
type end struct {
	stop   int
	metres float64
	inside []int // of this block, in order
	before *end
}

// way returns the stops of the whole way up to this end, in order.
func (e end) way() []int {
	var parts [][]int
	for at := &e; at != nil; at = at.before {
		parts = append(parts, at.inside)
	}
	var out []int
	for i := len(parts) - 1; i >= 0; i-- {
		out = append(out, parts[i]...)
	}
	return out
}

// blocksOf returns the stops of each block, blocks and stops ascending.
func blocksOf(stops []Stop) [][]int {
	by := map[int][]int{}
	var names []int
	for i, s := range stops {
		if by[s.Block] == nil {
			names = append(names, s.Block)
		}
		by[s.Block] = append(by[s.Block], i)
	}
	slices.Sort(names)
	var out [][]int
	for _, n := range names {
		out = append(out, by[n])
	}
	return out
}

// block is one block with its distances and what must come first, by position in the block.
type block struct {
	stops  []Stop
	ids    []int
	metres [][]float64
	first  [][]int // first[i]: positions that must come before i
}

// newBlock measures every pair of stops of a block, and sorts out the requirements that hold inside it: those on stops
// of other blocks are met by the order of the blocks.
func newBlock(stops []Stop, ids []int) *block {
	b := &block{stops: stops, ids: ids, metres: make([][]float64, len(ids)), first: make([][]int, len(ids))}
	at := map[int]int{}
	for p, id := range ids {
		at[id] = p
	}
	for p, id := range ids {
		b.metres[p] = make([]float64, len(ids))
		for q, other := range ids {
			if p != q {
				b.metres[p][q] = Metres(stops[id], stops[other])
			}
		}
		for _, a := range stops[id].After {
			if q, here := at[a]; here {
				b.first[p] = append(b.first[p], q)
			}
		}
	}
	return b
}

// possible reports whether the requirements of the block go in no circle: then there is always a stop left that may
// come next, and the greedy way gets through.
func (b *block) possible() bool { return len(b.greedy(nil, -1)) == len(b.ids) }

// from returns the least length of a way that enters the block at position p, and the end that it comes from.
func (b *block) from(ends []end, p int) (float64, *end) {
	if len(ends) == 0 {
		return 0, nil
	}
	least, by := math.Inf(1), (*end)(nil)
	for i := range ends {
		if d := ends[i].metres + Metres(b.stops[ends[i].stop], b.stops[b.ids[p]]); d < least {
			least, by = d, &ends[i]
		}
	}
	return least, by
}
