package sat_test

import (
	"fmt"

	"stillwatch/isolation/sat"
)

// Two of three must be true, but not the first with the second; the third is
// dear.
func ExampleMinimise() {
	var s sat.Solver
	a, b, c := sat.Pos(s.NewVar()), sat.Pos(s.NewVar()), sat.Pos(s.NewVar())
	s.AddClause(a, b)
	s.AddClause(b, c)
	s.AddClause(a, c)
	s.AddClause(a.Not(), b.Not())
	least := sat.Minimise(&s, []sat.Cost{{a, 3}, {b, 2}, {c, 10}}, nil, func(value func(int) bool) {
		fmt.Println("found", value(0), value(1), value(2))
	})
	fmt.Println("cost", least.Cost, "of at least", least.Bound)
	// Output:
	// found true false true
	// found false true true
	// cost 12 of at least 12
}
