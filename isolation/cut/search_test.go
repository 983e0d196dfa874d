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
// and a row of points, some with a drain between. Blanks are spools at the
// machine.
func machineShop(r *rand.Rand, lines int, demands []Demand) Problem {
	p := Problem{}
	add := func(cost int64, kind Counts, vent bool, from int32) int32 {
		v := int32(p.N)
		p.N++
		p.Cost, p.Counts, p.Vents = append(p.Cost, cost), append(p.Counts, kind), append(p.Vents, vent)
		if from >= 0 {
			p.Edges = append(p.Edges, [2]int32{from, v})
		}
		return v
	}
	machine := add(0, 0, false, -1)
	p.Zone = []int32{machine}
	header := int32(-1)
	for range lines {
		at := add(0, 0, false, add(3, Blank, false, machine))
		for range 3 {
			at = add(0, 0, r.IntN(3) == 0, add(1+r.Int64N(3), Valve, false, at))
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

// TestSearchIsShortForOneMachine counts nodes; it is a measure of the bound, not
// of time.
func TestSearchIsShortForOneMachine(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name    string
		lines   int // negative: without the condition on drains
		demands []Demand
		most    int
	}{
		{"blanks among others, 8 lines, no drains", -8, []Demand{Single, Double, BlankBehind}, 2000},
		{"drains, 4 lines", 4, []Demand{Double}, 300},
		{"drains, 8 lines", 8, []Demand{Double}, 8000},
		{"all demands, 8 lines", 8, []Demand{Single, Double, BlankBehind}, DefaultNodeLimit},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			r := rand.New(rand.NewPCG(61, 62))
			most, sum, solved := 0, 0, 0
			for range 40 {
				p := machineShop(r, max(tc.lines, -tc.lines), tc.demands)
				if tc.lines < 0 {
					p.Vents = nil
				}
				sol, err := Solve(p)
				var u *Uncut
				if errors.As(err, &u) {
					continue
				}
				if err != nil {
					t.Fatal(err)
				}
				if err := Verify(p, sol.Chosen); err != nil || sol.Bound != sol.Cost {
					t.Errorf("Verify = %v, cost %d, bound %d, want nil and the same", err, sol.Cost, sol.Bound)
				}
				solved++
				sum += sol.Nodes
				most = max(most, sol.Nodes)
			}
			t.Logf("%d solved, %.1f nodes on average, %d at most", solved, float64(sum)/float64(solved), most)
			if solved < 10 || most > tc.most {
				t.Errorf("nodes = %d at most in %d searches, want at most %d in at least 10", most, solved, tc.most)
			}
		})
	}
}

// TestNodeLimitShowsTheBound stops searches early and compares with the end.
func TestNodeLimitShowsTheBound(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(71, 72))
	stopped := 0
	for range 150 {
		p := machineShop(r, 5, []Demand{Single, Double, BlankBehind})
		if r.IntN(2) == 0 {
			p.Vents = nil
		}
		end, err := Solve(p)
		if err != nil {
			continue
		}
		if end.Bound != end.Cost {
			t.Fatalf("bound = %d, want the cost %d", end.Bound, end.Cost)
		}
		p.NodeLimit = 1 + r.IntN(6)
		early, err := Solve(p)
		if errors.Is(err, ErrNodeLimit) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		if early.Bound > end.Cost || early.Cost < end.Cost || Verify(p, early.Chosen) != nil {
			t.Errorf("stopped search = cost %d, bound %d, want them on either side of %d", early.Cost, early.Bound, end.Cost)
		}
		if early.Bound < early.Cost {
			stopped++
		}
	}
	if stopped == 0 {
		t.Error("no search was stopped with a set and a gap")
	}
}
