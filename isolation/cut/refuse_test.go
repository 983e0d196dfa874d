package cut

import (
	"errors"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
)

// line is a plant of n vertices in a row, of which the odd ones can be closed
// at a cost of 1; the source is the first and the work the last.
func line(n int, d Demand) Problem {
	p := Problem{N: n, Cost: make([]int64, n), Sources: []Source{{0, d}}, Zone: []int32{int32(n - 1)}}
	for v := 1; v < n; v++ {
		p.Edges = append(p.Edges, [2]int32{int32(v - 1), int32(v)})
		p.Cost[v] = int64(v % 2)
	}
	return p
}

func TestWrongProblemsAreRefusedInWords(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name  string
		spoil func(p *Problem)
		words string
	}{
		{"no vertices", func(p *Problem) { p.N = 0 }, "number of vertices is 0"},
		{"costs missing", func(p *Problem) { p.Cost = p.Cost[1:] }, "6 costs for 7 vertices"},
		{"kinds missing", func(p *Problem) { p.Counts = make([]Counts, 3) }, "3 kinds of point for 7 vertices"},
		{"openings missing", func(p *Problem) { p.Openings = make([]bool, 3) }, "3 openings flags for 7 vertices"},
		{"negative cost", func(p *Problem) { p.Cost[1] = -4 }, "cost of vertex 1 is negative: -4"},
		{"costs overflow", func(p *Problem) { p.Cost[1], p.Cost[3] = MaxCost, 1 }, "sum of costs passes"},
		{"edge outside", func(p *Problem) { p.Edges[2][1] = 7 }, "edge 2 joins 2 and 7, vertices are 0 to 6"},
		{"edge below", func(p *Problem) { p.Edges[2][0] = -1 }, "edge 2 joins -1 and 3"},
		{"need outside", func(p *Problem) { p.Needs = []Need{{If: 0, OneOf: []int32{9}}} }, "need 0 speaks of 9"},
		{"opening that closes", func(p *Problem) { p.Openings = slices.Repeat([]bool{true}, 7) },
			"vertex 1 is an opening and costs 1"},
		{"empty zone", func(p *Problem) { p.Zone = nil }, "the zone is empty"},
		{"zone outside", func(p *Problem) { p.Zone[0] = 8 }, "zone vertex 8 is no vertex"},
		{"source outside", func(p *Problem) { p.Sources[0].Vertex = -2 }, "source -2 is no vertex"},
		{"no demand", func(p *Problem) { p.Sources[0].Demand = 0 }, "source 0 has unknown demand 0"},
		{"source in the zone", func(p *Problem) { p.Zone = []int32{6, 0} }, "source 0 lies inside the zone"},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			p := line(7, Double)
			tc.spoil(&p)
			_, err := Solve(p)
			if err == nil || !strings.Contains(err.Error(), tc.words) {
				t.Errorf("Solve = %v, want an error that says %q", err, tc.words)
			}
		})
	}
}

func TestSourceInALargeZoneIsRefused(t *testing.T) {
	t.Parallel()
	p := line(9001, Double)
	p.Zone = nil
	for v := int32(1); v < 9001; v++ {
		p.Zone = append(p.Zone, v)
	}
	p.Sources = append(p.Sources, Source{5000, Single})
	if _, err := Solve(p); err == nil || !strings.Contains(err.Error(), "source 5000 lies inside the zone") {
		t.Errorf("Solve = %v, want an error about source 5000", err)
	}
}

func TestUncutNamesThePathAndWhatItLacks(t *testing.T) {
	t.Parallel()
	_, err := Solve(line(3, Double))
	var u *Uncut
	if !errors.As(err, &u) || u.Need != 2 || u.Have != 1 || len(u.Path) != 3 {
		t.Fatalf("Solve = %v, want an uncut path of 3 with 1 of 2 points", err)
	}
	if got, want := err.Error(), "path [0 1 2] has 1 usable points, 2 needed"; got != want {
		t.Errorf("Error() = %q, want %q", got, want)
	}
	p := line(5, Bled)
	if _, err = Solve(p); !errors.As(err, &u) || !u.Bleed {
		t.Errorf("Solve = %v, want that no bled part can lie between", err)
	}
	p.Openings = []bool{false, false, true, false, false}
	if sol, err := Solve(p); err != nil || sol.Cost != 2 || !sol.Exact() {
		t.Errorf("Solve = cost %d, %v, want 2 with an opening between", sol.Cost, err)
	}
}

func TestBlankNeedsAValveOnTheSourceSide(t *testing.T) {
	t.Parallel()
	p := line(7, BlankBehind)
	p.Counts = []Counts{0, Blank, 0, Valve, 0, Blank, 0}
	sol, err := Solve(p)
	if err != nil || len(sol.Chosen) != 2 || sol.Chosen[0] != 3 || sol.Chosen[1] != 5 {
		t.Errorf("Solve = %v, %v, want the valve 3 and the blank 5", sol.Chosen, err)
	}
	p.Counts = []Counts{0, Blank, 0, Blank, 0, Valve, 0}
	var u *Uncut
	if _, err = Solve(p); !errors.As(err, &u) || u.Need != 2 || u.Have != 1 {
		t.Errorf("Solve = %v, want an uncut path: no blank lies behind the valve", err)
	}
}

// TestCuttingTwiceByHandIsNotEnough compares with what a person does for a
// double demand: cut once, take those points away, cut again. It is never
// cheaper, now and then dearer, and now and then it finds nothing where there
// is a set.
func TestCuttingTwiceByHandIsNotEnough(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(41, 42))
	deadEnds, dearer := 0, 0
	for range 8000 {
		p := randomPlant(r, mix{points: 12, demands: []Demand{Double}})
		sol, err := Solve(p)
		if err != nil {
			continue
		}
		byHand, ok := cutTwice(p)
		switch {
		case !ok:
			deadEnds++
		case byHand > sol.Cost:
			dearer++
		case byHand < sol.Cost:
			t.Fatalf("cutting twice = %d, want at least %d; plant %#v", byHand, sol.Cost, p)
		}
	}
	if deadEnds == 0 || dearer == 0 {
		t.Errorf("by hand %d dead ends, %d dearer, want some of both", deadEnds, dearer)
	}
	t.Logf("by hand: %d dead ends, %d dearer", deadEnds, dearer)
}

func cutTwice(p Problem) (int64, bool) {
	p.Cost = slices.Clone(p.Cost)
	p.Sources = slices.Clone(p.Sources)
	for i := range p.Sources {
		p.Sources[i].Demand = Single
	}
	first, err := Solve(p)
	if err != nil {
		return 0, false
	}
	for _, v := range first.Chosen {
		p.Cost[v] = 0
	}
	second, err := Solve(p)
	return first.Cost + second.Cost, err == nil
}

func TestASingleSourceBehindADoubleOneCostsNothing(t *testing.T) {
	t.Parallel()
	// 0 (double) - 1 - 2 - 3 - 4, and 5 (single) is joined to 0 itself: its own
	// demand is met by what the other needs.
	p := line(5, Double)
	p.N, p.Cost = 6, append(p.Cost, 0)
	p.Edges = append(p.Edges, [2]int32{0, 5})
	p.Sources = append(p.Sources, Source{5, Single})
	if sol, err := Solve(p); err != nil || sol.Cost != 2 {
		t.Errorf("Solve = cost %d, %v, want 2", sol.Cost, err)
	}
}

func TestVerifyNamesWhatMustNotBeChosen(t *testing.T) {
	t.Parallel()
	p := line(7, Single)
	p.Cost[0], p.Cost[6] = 1, 1
	cases := []struct {
		chosen []int32
		words  string
	}{
		{[]int32{9}, "chosen point 9 is no vertex"},
		{[]int32{-1}, "chosen point -1 is no vertex"},
		{[]int32{0}, "chosen point 0 is a source or in the zone"},
		{[]int32{6}, "chosen point 6 is a source or in the zone"},
		{[]int32{2}, "chosen point 2 can't be closed"},
		{[]int32{3, 3}, "point 3 is chosen twice"},
		{nil, "path [0 1 2 3 4 5 6] has 0 usable points, 1 needed"},
	}
	for _, tc := range cases {
		if err := Verify(p, tc.chosen); err == nil || !strings.Contains(err.Error(), tc.words) {
			t.Errorf("Verify(%v) = %v, want an error that says %q", tc.chosen, err, tc.words)
		}
	}
}
