package cut

import (
	"strconv"
	"strings"
	"testing"
)

// Small plants, found by exhaustive search, on which an earlier search went
// wrong: it mended an answer without bleeds until it had some, and so found no
// plan where there is one, or one point more than needed, or no proof. In each,
// a source must be cut off from a part that no demand speaks of, or the
// cheapest cut leads where no part can be bled. Every point costs 1; the work is
// vertex 0.
var bleedCases = []struct {
	was             string // what the earlier search found
	cost            int64  // of the cheapest set
	edges           string
	points, drains  string
	doubles, others string // sources, demanding a double with a bleed or a single
}{
	{"no plan", 3, "0-1 1-2 0-3 3-4 0-5 5-6 0-7 4-7 6-8 8-9 9-10 10-11 6-12 6-12 6-13 11-14",
		"1 3 5 7 8 10 12", "2 4 6 9 11", "14", "13"},
	{"no plan", 4, "0-1 1-2 0-3 3-4 0-5 5-6 4-7 7-8 8-9 0-9 4-10 4-10 4-11 11-12 8-13 12-14",
		"1 3 5 7 9 10 11", "2 4 8 12", "14", "13"},
	{"no plan", 5, "0-1 1-2 0-3 3-4 2-5 4-5 0-6 6-7 7-8 2-8 7-8 4-9 9-10 2-11 11-12 12-13 12-14 7-15",
		"1 3 5 6 8 9 11", "2 4 7 10 12", "14", "13 15"},
	{"no plan", 5, "0-1 1-2 2-3 3-4 4-5 2-5 0-6 2-6 0-7 7-8 4-9 9-10 4-11 11-12 10-13 10-14 8-15 12-8",
		"1 3 5 6 7 9 11", "2 4 8 12", "14", "13 15"},
	{"no plan", 5, "0-1 1-2 0-3 3-4 2-5 4-5 0-5 0-6 0-6 4-7 7-8 8-9 9-10 8-11 2-11 4-12 12-13 4-14 10-15",
		"1 3 5 6 7 9 11 12", "2 10 13", "15", "14"},
	{"no proof", 6, "0-1 1-2 0-3 3-4 2-5 5-6 2-7 7-8 6-9 8-9 8-10 4-10 2-11 6-11 6-12 8-13",
		"1 3 5 7 9 10 11", "2 4 6 8", "13", "12"},
	{"no proof", 6, "0-1 1-2 2-3 3-4 2-5 4-5 0-6 2-6 2-6 2-7 4-7 0-8 8-9 9-10 0-10 2-11 11-12 4-13 12-14",
		"1 3 5 6 7 8 10 11", "2 4 12", "14", "13"},
	{"no proof", 3, "0-1 1-2 0-3 3-4 2-5 5-6 6-7 2-7 6-8 8-9 2-10 10-11 9-12 12-13 9-14 11-15",
		"1 3 5 7 8 10 12", "2 4 6 9 11", "15", "14"},
	{"no proof", 4, "0-1 1-2 0-3 3-4 4-5 5-6 2-7 7-8 6-9 9-10 6-11 2-11 4-12 12-13 10-14 13-15",
		"1 3 5 7 9 11 12", "2 4 8 10 13", "15", "14"},
	{"no proof", 4, "0-1 1-2 2-3 3-4 4-5 5-6 6-7 7-8 2-9 0-9 2-10 10-11 4-12 12-13 11-14 8-15",
		"1 3 5 7 9 10 12", "4 8 13", "14", "15"},
	{"one point more", 4, "0-1 1-2 0-3 3-4 0-5 0-5 2-6 6-7 2-8 4-8 7-8 4-9 9-10 2-11 11-12 10-13 10-14 7-15",
		"1 3 5 6 8 9 11", "2 4", "14", "13 15"},
	{"one point more", 5, "0-1 1-2 0-3 3-4 0-5 4-5 2-6 6-7 4-8 8-9 2-10 2-10 4-10 2-11 11-12 7-13 4-13 12-14 7-15",
		"1 3 5 6 8 10 11 13", "2 7 12", "14", "15"},
	{"one point more", 4, "0-1 1-2 2-3 3-4 4-5 4-5 4-5 0-6 6-7 2-8 8-9 4-10 4-10 4-10 7-11 9-11 9-12 9-13 4-14 4-15",
		"1 3 5 6 8 10 11", "2 4 7", "14", "12 13 15"},
	{"one point more", 5, "0-1 1-2 0-3 3-4 0-5 5-6 2-7 4-7 6-8 8-9 2-10 10-11 9-12 6-12 4-13 6-13 9-14 9-14 11-15 9-16",
		"1 3 5 7 8 10 12 13 14", "4 6 9", "16", "15"},
	{"one point more", 4, "0-1 1-2 2-3 3-4 0-5 5-6 2-7 7-8 6-9 9-10 6-11 2-11 8-12 2-12 2-12 8-13 13-14 8-15 10-16 10-10",
		"1 3 5 7 9 11 12 13", "2 4 6 10 14", "16", "15"},
}

func TestBleedsThatWereMissedAreFound(t *testing.T) {
	t.Parallel()
	for _, tc := range bleedCases {
		p := Problem{Zone: []int32{0}}
		for _, e := range strings.Fields(tc.edges) {
			a, b, _ := strings.Cut(e, "-")
			p.Edges = append(p.Edges, [2]int32{number(t, a), number(t, b)})
			p.N = max(p.N, int(number(t, a))+1, int(number(t, b))+1)
		}
		p.Cost, p.Openings = make([]int64, p.N), make([]bool, p.N)
		for _, v := range strings.Fields(tc.points) {
			p.Cost[number(t, v)] = 1
		}
		for _, v := range strings.Fields(tc.drains) {
			p.Openings[number(t, v)] = true
		}
		for _, v := range strings.Fields(tc.doubles) {
			p.Sources = append(p.Sources, Source{number(t, v), Bled})
		}
		for _, v := range strings.Fields(tc.others) {
			p.Sources = append(p.Sources, Source{number(t, v), Single})
		}
		sol, err := Solve(p)
		if err != nil || sol.Cost != tc.cost || !sol.Exact() || !newBrute(p).meets(maskOf(sol.Chosen)) {
			t.Errorf(
				"Solve(%s) = %v, cost %d, bound %+v, %v, want a proven cost of %d",
				tc.edges,
				sol.Chosen,
				sol.Cost,
				sol.Bound,
				err,
				tc.cost,
			)
		}
		if best := newBrute(p).best(); best.cost != tc.cost {
			t.Errorf("exhaustive search of %s = %d, want %d", tc.edges, best.cost, tc.cost)
		}
	}
}

func number(t *testing.T, s string) int32 {
	t.Helper()
	n, err := strconv.Atoi(s)
	if err != nil {
		t.Fatal(err)
	}
	return int32(n)
}
