package cut

import (
	"errors"
	"flag"
	"math/rand/v2"
	"testing"
)

var plants = flag.Int("plants", 1500, "how many small plants TestBleedsAreExact compares with exhaustive search")

// bledPlant makes a plant of up to 11 points in which bleeds matter: sections in
// branches and rings around the work, drains on some of them and behind cocks,
// sources anywhere, also in the middle of another's way. Demands are mixed.
func bledPlant(r *rand.Rand) Problem {
	p := Problem{}
	add := func(cost int64, next ...int32) int32 {
		v := int32(p.N)
		p.N++
		p.Cost, p.Openings = append(p.Cost, cost), append(p.Openings, false)
		p.Counts = append(p.Counts, Valve)
		for _, u := range next {
			p.Edges = append(p.Edges, [2]int32{u, v})
		}
		return v
	}
	sections := []int32{add(0)}
	p.Zone = []int32{0}
	blanks := r.IntN(4) == 0
	points := 0
	point := func(next ...int32) int32 {
		points++
		v := add(1+r.Int64N([]int64{1, 3}[r.IntN(2)]), next...)
		if blanks && r.IntN(4) == 0 {
			p.Counts[v] = []Counts{Blank, Blank | Joint, Blank | Joint}[r.IntN(3)]
		}
		return v
	}
	most := 7 + r.IntN(5)
	for points < most {
		a := sections[max(0, len(sections)-1-r.IntN(4))]
		switch {
		case r.IntN(3) > 0 || len(sections) < 3:
			sections = append(sections, add(0, point(a)))
		case r.IntN(4) > 0:
			point(a, sections[r.IntN(len(sections))])
		default: // a three-way cock
			point(a, sections[r.IntN(len(sections))], sections[r.IntN(len(sections))])
		}
	}
	for _, s := range sections {
		switch r.IntN(6) {
		case 0, 1, 2:
			p.Openings[s] = true
		case 3:
			if points < 11 {
				p.Openings[add(0, point(s))] = true
			}
		}
	}
	demands := [][]Demand{{Bled}, {Bled, Bled, Single}, {Bled, Double, Single}}[r.IntN(3)]
	if blanks {
		demands = append(demands, BlankBehind)
	}
	for range 1 + r.IntN(4) {
		at := len(sections) - 1 - r.IntN(min(3, len(sections)-1))
		if r.IntN(4) == 0 {
			at = 1 + r.IntN(len(sections)-1)
		}
		s := add(0, sections[at])
		p.Sources = append(p.Sources, Source{s, demands[r.IntN(len(demands))]})
	}
	if r.IntN(6) == 0 { // a pipe that nothing closes
		p.Edges = append(p.Edges, [2]int32{sections[1+r.IntN(len(sections)-1)], sections[1+r.IntN(len(sections)-1)]})
	}
	return p
}

// TestBleedsAreExact holds small plants against every set of points and every
// path: never 'no plan' where there is one, never a point too many, never a bound
// below what is so.
func TestBleedsAreExact(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(17, uint64(*plants)))
	tally := map[string]int{}
	for range *plants {
		p := bledPlant(r)
		if p.N > 32 {
			t.Fatalf("plant has %d vertices, and the exhaustive search one bit for each of 32", p.N)
		}
		compareWithBrute(t, p, tally)
		if t.Failed() {
			t.Fatalf("plant: %#v", p)
		}
	}
	t.Log(tally)
	if tally["searched"] < *plants/20 || tally["infeasible"] < *plants/20 {
		t.Errorf("tally = %v, want enough plants in which the plain cut does not do, and in which nothing does", tally)
	}
}

// TestCutOffSourceMakesAPartBled: a bleed is had by closing a point that no
// demand asks for.
func TestCutOffSourceMakesAPartBled(t *testing.T) {
	t.Parallel()
	// source 0 - 1 - section 2 - 3 - work 4, with a drain 5 at 2 and a second source 7 behind point 6.
	p := Problem{N: 8, Edges: [][2]int32{{0, 1}, {1, 2}, {2, 3}, {3, 4}, {2, 5}, {2, 6}, {6, 7}},
		Cost: []int64{0, 1, 0, 1, 0, 0, 5, 0}, Openings: []bool{5: true, 7: false}, Sources: []Source{{0, Bled}, {7, Single}},
		Zone: []int32{4}}
	sol, err := Solve(p)
	if err != nil || sol.Cost != 7 || !sol.Exact() || !sol.Unique || sol.Bound.ByFlow != 2 {
		t.Errorf(
			"Solve = %v, cost %d, bound %+v, %v, want 1, 3 and 6 for 7, proven by the search alone",
			sol.Chosen,
			sol.Cost,
			sol.Bound,
			err,
		)
	}
	p.Cost[6] = 0
	var u *Uncut
	if _, err := Solve(p); !errors.As(err, &u) || !u.Bleed {
		t.Errorf("Solve = %v, want no bleed where nothing cuts off the second source", err)
	}
}
