package authority_test

import (
	"fmt"
	"os"
	"time"

	"stillwatch/web/authority"
)

// An authority can vouch for the names that it was made for, and is never made twice in one folder.
func ExampleMake() {
	dir, err := os.MkdirTemp("", "authority")
	if err != nil {
		panic(err)
	}
	defer os.RemoveAll(dir)
	noon := time.Date(2026, 3, 1, 12, 0, 0, 0, time.UTC)
	a, err := authority.Make(dir, []string{"stillwatch.ship"}, noon)
	if err != nil {
		panic(err)
	}
	fmt.Println(a.Until().Year() > 2026)
	_, err = authority.Make(dir, []string{"stillwatch.ship"}, noon)
	fmt.Println(err)
	// Output:
	// true
	// this folder has an authority already
}
