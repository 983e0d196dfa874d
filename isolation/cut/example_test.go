package cut_test

import (
	"errors"
	"fmt"

	"stillwatch/isolation/cut"
)

// A steam line to a heater that is opened: header 0, valve 1, pipe 2 with drain 6, valve 3, heater 4. Another source,
// 7, could come to the pipe through valve 5, so that the drain would run for ever: valve 5 is shut as well.
func ExampleSolve() {
	p := cut.Problem{
		N:        8,
		Edges:    [][2]int32{{0, 1}, {1, 2}, {2, 3}, {3, 4}, {2, 6}, {2, 5}, {5, 7}},
		Cost:     []int64{0, 1, 0, 1, 0, 1, 0, 0},
		Openings: []bool{6: true, 7: false},
		Sources:  []cut.Source{{Vertex: 0, Demand: cut.Bled}, {Vertex: 7, Demand: cut.Single}},
		Zone:     []int32{4},
	}
	s, err := cut.Solve(p)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println("close", s.Chosen, "and no fewer do:", s.Exact())
	fmt.Println("by the flow at least", s.Bound.ByFlow, "and by the search", s.Bound.BySearch)
	var uncut *cut.Uncut
	fmt.Println("without valve 5 the way falls short:", errors.As(cut.Verify(p, []int32{1, 3}), &uncut), uncut.Path)

	p.Cost[5] = 0
	_, err = cut.Solve(p)
	fmt.Println("valve 5 seized:", errors.As(err, &uncut) && uncut.Bleed)
	// Output:
	// close [1 3 5] and no fewer do: true
	// by the flow at least 2 and by the search 3
	// without valve 5 the way falls short: true [0 1 2 3 4]
	// valve 5 seized: true
}

// A plant is built once and asked about one machine after another.
func ExampleNetwork_Solve() {
	n, err := cut.NewNetwork(cut.Problem{
		N:     7,
		Edges: [][2]int32{{0, 1}, {1, 2}, {2, 3}, {3, 4}, {2, 5}, {5, 6}},
		Cost:  []int64{0, 9, 0, 1, 0, 1, 0},
	})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, machine := range []int32{4, 6} {
		s, err := n.Solve([]cut.Source{{Vertex: 0, Demand: cut.Single}}, []int32{machine})
		fmt.Println(machine, s.Chosen, s.Unique, err)
	}
	// Output:
	// 4 [3] true <nil>
	// 6 [5] true <nil>
}
