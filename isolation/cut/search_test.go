package cut

import (
	"errors"
	"math/rand/v2"
	"slices"
	"testing"
)

// TestNetworkAnswersLikeSolve asks one network many questions of all kinds.
func TestNetworkAnswersLikeSolve(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(51, 52))
	s := newShip(3000, 4)
	n, err := NewNetwork(s.p)
	if err != nil {
		t.Fatal(err)
	}
	for range 150 {
		p := s.p
		p.Zone = s.machines[r.IntN(len(s.machines))]
		p.Sources = slices.Clone(s.p.Sources)
		only := Demand(r.IntN(3))
		for i := range p.Sources {
			if only > 0 {
				p.Sources[i].Demand = only
			}
		}
		// A valve may be opened by the work too, or be a source.
		if v := int32(r.IntN(p.N)); r.IntN(2) == 0 && !slices.ContainsFunc(p.Sources,
			func(s Source) bool { return s.Vertex == v }) {
			p.Zone = append(slices.Clone(p.Zone), v)
		}
		want, wantErr := Solve(p)
		got, gotErr := n.Solve(p.Sources, p.Zone)
		if (wantErr == nil) != (gotErr == nil) {
			t.Fatalf("Network.Solve = %v, want %v", gotErr, wantErr)
		}
		if wantErr == nil && (!slices.Equal(got.Chosen, want.Chosen) || !slices.Equal(got.Outer, want.Outer) ||
			got.Cost != want.Cost || got.Unique != want.Unique) {
			t.Fatalf("Network.Solve = %v (%d), want %v (%d)", got.Chosen, got.Cost, want.Chosen, want.Cost)
		}
		if gotErr == nil && got.Flow.Check(p) != nil {
			t.Fatalf("certificate = %v", got.Flow.Check(p))
		}
	}
}

// machineShop is one machine with the given number of lines, each with a source
// and a row of points, some with a drain between, joined to the next line.
// Blanks are spools at the machine.
func machineShop(r *rand.Rand, lines int, demands []Demand) Problem {
	p := Problem{}
	add := func(cost int64, kind Counts, opening bool, from int32) int32 {
		v := int32(p.N)
		p.N++
		p.Cost, p.Counts, p.Openings = append(p.Cost, cost), append(p.Counts, kind), append(p.Openings, opening)
		if from >= 0 {
			p.Edges = append(p.Edges, [2]int32{from, v})
		}
		return v
	}
	machine := add(0, 0, false, -1)
	p.Zone = []int32{machine}
	header := int32(-1)
	for range lines {
		at := add(0, 0, false, add(3, Blank|Joint, false, machine))
		for range 3 {
			at = add(0, 0, false, add(1+r.Int64N(3), Valve, false, at))
			if r.IntN(3) == 0 {
				add(0, 0, true, at)
			}
		}
		if header >= 0 {
			p.Edges = append(p.Edges, [2]int32{header, add(1, Valve, false, at)})
		}
		header = at
		source := add(0, 0, false, add(2, Valve, false, at))
		p.Sources = append(p.Sources, Source{source, demands[r.IntN(len(demands))]})
	}
	return p
}

// tangle makes a connected plant without much order in it: points of about one
// cost between sections, rings everywhere, openings at some sections, sources in
// the middle too.
func tangle(r *rand.Rand, points int, demands []Demand) Problem {
	sections := points*2/3 + 2
	p := Problem{N: sections + points, Cost: make([]int64, sections+points), Openings: make([]bool, sections+points)}
	for v := range sections {
		p.Openings[v] = v > 0 && r.IntN(3) == 0
	}
	for i := range points {
		v, a := int32(sections+i), int32(r.IntN(sections))
		b := int32((int(a) + 1 + r.IntN(4)) % sections)
		if i+1 < sections {
			a, b = int32(max(0, i-r.IntN(4))), int32(i+1)
		}
		p.Cost[v] = 100 + r.Int64N(3)
		p.Edges = append(p.Edges, [2]int32{a, v}, [2]int32{v, b})
	}
	p.Zone = []int32{0}
	for range 2 + r.IntN(5) {
		s := int32(1 + r.IntN(sections-1))
		if !p.Openings[s] {
			p.Sources = append(p.Sources, Source{s, demands[r.IntN(len(demands))]})
		}
	}
	return p
}

// grid makes a mesh with a point on every edge, the work in its middle and
// sources at its corners and sides: harder than any ship, as every part touches
// every other. 6 by 6 sections have 60 points.
func grid(r *rand.Rand, side int, demands []Demand) Problem {
	n := side * side
	p := Problem{N: n, Cost: make([]int64, n), Openings: make([]bool, n), Zone: []int32{int32(n / 2)}}
	for v := range n {
		p.Openings[v] = r.IntN(4) == 0
		for _, next := range []int{v + 1, v + side} {
			if next >= n || next == v+1 && next%side == 0 {
				continue
			}
			p.Edges = append(p.Edges, [2]int32{int32(v), int32(p.N)}, [2]int32{int32(p.N), int32(next)})
			p.Cost, p.Openings = append(p.Cost, 1000+r.Int64N(10)), append(p.Openings, false)
			p.N++
		}
	}
	for range 5 {
		at := []int{0, 1, side - 1, n - side, n - 2, n - 1}[r.IntN(6)]
		p.Sources = append(p.Sources, Source{int32(at), demands[r.IntN(len(demands))]})
	}
	return p
}

// TestSearchOfAShipsSizeIsProven counts conflicts; it is a measure of the
// search, not of time.
func TestSearchOfAShipsSizeIsProven(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name string
		most int
		make func(r *rand.Rand) Problem
	}{
		{"one machine, 8 lines, bled", 3000, func(r *rand.Rand) Problem { return machineShop(r, 8, []Demand{Bled}) }},
		{"one machine, 12 lines, all demands", 3000,
			func(r *rand.Rand) Problem { return machineShop(r, 12, []Demand{Single, Double, Bled, BlankBehind}) }},
		{"tangle of 60 points, bled", 20000, func(r *rand.Rand) Problem { return tangle(r, 60, []Demand{Bled}) }},
		{"tangle of 60 points, mixed", 20000,
			func(r *rand.Rand) Problem { return tangle(r, 60, []Demand{Single, Double, Bled}) }},
		{"grid of 60 points, mixed", 20000,
			func(r *rand.Rand) Problem { return grid(r, 6, []Demand{Single, Double, Bled}) }},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			r := rand.New(rand.NewPCG(61, 62))
			most, sum, solved, searched := 0, 0, 0, 0
			for range 80 {
				p := tc.make(r)
				sol, err := Solve(p)
				var u *Uncut
				if errors.As(err, &u) {
					continue
				}
				if err != nil {
					t.Fatal(err)
				}
				if err := Verify(p, sol.Chosen); err != nil || !sol.Exact() {
					t.Errorf("Verify = %v, cost %d, bound %+v, want nil and the same", err, sol.Cost, sol.Bound)
				}
				solved++
				if sol.Searched {
					searched++
				}
				sum += sol.Conflicts
				most = max(most, sol.Conflicts)
			}
			t.Logf("%d solved, %d searched, %.1f conflicts on average, %d at most", solved, searched,
				float64(sum)/float64(solved), most)
			if searched < 10 || most > tc.most {
				t.Errorf("conflicts = %d at most in %d searches, want at most %d in at least 10", most, searched, tc.most)
			}
		})
	}
}

// TestLimitShowsTheBound stops searches early and compares with the end.
func TestLimitShowsTheBound(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(71, 72))
	stopped, undecided := 0, 0
	for range 100 {
		p := machineShop(r, 14, []Demand{Single, Bled, BlankBehind})
		end, endErr := Solve(p)
		if endErr == nil && !end.Exact() {
			t.Fatalf("bound = %+v, want the cost %d", end.Bound, end.Cost)
		}
		p.Limit = 1 + r.IntN(60)
		early, err := Solve(p)
		switch {
		case errors.Is(err, ErrUndecided):
			undecided++
		case (err == nil) != (endErr == nil):
			t.Errorf("stopped search = %v, want %v or undecided", err, endErr)
		case err != nil:
		case early.Bound.Least() > end.Cost || early.Cost < end.Cost || Verify(p, early.Chosen) != nil:
			t.Errorf("stopped search = cost %d, bound %+v, want them on either side of %d", early.Cost, early.Bound, end.Cost)
		case !early.Exact():
			stopped++
		}
	}
	t.Logf("%d stopped with a gap, %d undecided", stopped, undecided)
	if stopped == 0 {
		t.Error("no search was stopped with a set and a gap")
	}
}
