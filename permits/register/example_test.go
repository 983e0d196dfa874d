package register_test

import (
	"context"
	"fmt"
	"log/slog"
	"os"

	"stillwatch/permits"
	"stillwatch/permits/register"
)

// A new register gets its chief engineer, and its log is whole.
func ExampleOpen() {
	dir, err := os.MkdirTemp("", "register")
	if err != nil {
		panic(err)
	}
	defer os.RemoveAll(dir)
	ctx := context.Background()
	r, err := register.Open(ctx, dir, register.Options{Logger: slog.New(slog.DiscardHandler),
		Argon: register.Argon{MemoryKiB: 64, Iterations: 1, Parallelism: 1}})
	if err != nil {
		panic(err)
	}
	chief := permits.Person{ID: "ada", Name: "Ada", Roles: []permits.Role{permits.ChiefEngineer}}
	if err := r.FirstRun(ctx, chief, "836205"); err != nil {
		panic(err)
	}
	if err := r.Close(); err != nil {
		panic(err)
	}
	report, err := register.Verify(ctx, dir)
	if err != nil {
		panic(err)
	}
	fmt.Println(report.OK(), report.Entries, "entries")
	// Output: true 4 entries
}
