package isolation_test

import (
	"fmt"

	"stillwatch/isolation"
)

// An open breaker is off, a closed valve is shut: the table of kinds has the trade's words.
func ExampleKind_Word() {
	for _, k := range []isolation.Kind{isolation.Breaker, isolation.Fuse, isolation.Valve, isolation.Blank} {
		fmt.Printf("%s %s: %s\n", k, k.Isolating(), k.Word(k.Isolating()))
	}
	// Output:
	// breaker open: OFF
	// fuse open: WITHDRAWN
	// valve closed: SHUT
	// blank fitted: BLANK IN
}
