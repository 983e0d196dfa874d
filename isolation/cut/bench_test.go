package cut

import (
	"fmt"
	"math/rand/v2"
	"runtime"
	"testing"
)

// shipProblem is a ship with about 2 % of its vertices opened, mixed demands.
func shipProblem(tb testing.TB, n int) Problem {
	tb.Helper()
	s := newShip(n, 5)
	p := s.p
	p.Zone = s.work(max(2, n/50))
	if p.N != n || len(p.Sources) == 0 || len(p.Zone) == 0 {
		tb.Fatalf("newShip(%d) = %d vertices, %d sources, work of %d", n, p.N, len(p.Sources), len(p.Zone))
	}
	return p
}

func TestShipIsSolvedAndVerified(t *testing.T) {
	t.Parallel()
	for _, n := range []int{200, 2000, 100_000} {
		p := shipProblem(t, n)
		sol, err := Solve(p)
		if err != nil {
			t.Fatalf("Solve(ship of %d) = %v", n, err)
		}
		if err := Verify(p, sol.Chosen); err != nil {
			t.Errorf("Verify(ship of %d) = %v, want nil", n, err)
		}
		if err := sol.Flow.Check(p); err != nil || sol.Flow.Value != sol.Cost {
			t.Errorf("certificate for ship of %d = value %d, %v, want %d, nil", n, sol.Flow.Value, err, sol.Cost)
		}
	}
}

func BenchmarkSolve(b *testing.B) {
	for _, n := range []int{200, 10_000, 100_000, 1_000_000} {
		p := shipProblem(b, n)
		b.Run(fmt.Sprintf("vertices=%d", n), func(b *testing.B) {
			b.ReportAllocs()
			var sol Solution
			asked, before := 0, cpuTime()
			for b.Loop() {
				var err error
				if sol, err = Solve(p); err != nil {
					b.Fatal(err)
				}
				asked++
			}
			b.ReportMetric(float64(cpuTime()-before)/float64(asked), "cpu-ns/op")
			b.ReportMetric(float64(len(sol.Chosen)), "points")
			b.ReportMetric(heldBytes(p)/float64(n), "held-B/vertex")
		})
	}
}

// heldBytes is the memory that a network for p holds.
func heldBytes(p Problem) float64 {
	var before, after runtime.MemStats
	runtime.GC()
	runtime.ReadMemStats(&before)
	n, err := NewNetwork(p)
	if err != nil {
		return 0
	}
	if _, err := n.Solve(p.Sources, p.Zone); err != nil {
		return 0
	}
	runtime.GC()
	runtime.ReadMemStats(&after)
	runtime.KeepAlive(n)
	return float64(after.HeapAlloc) - float64(before.HeapAlloc)
}

func BenchmarkBuild(b *testing.B) {
	p := shipProblem(b, 1_000_000)
	for b.Loop() {
		if _, err := NewNetwork(p); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkFurtherQuestion asks about one machine after another of a plant of a
// million vertices.
func BenchmarkFurtherQuestion(b *testing.B) {
	s := newShip(1_000_000, 5)
	for _, name := range []string{"mixed", "double"} {
		sources := append([]Source(nil), s.p.Sources...)
		if name == "double" {
			for i := range sources {
				sources[i].Demand = Double
			}
		}
		b.Run(name, func(b *testing.B) {
			n, err := NewNetwork(s.p)
			if err != nil {
				b.Fatal(err)
			}
			r := rand.New(rand.NewPCG(8, 8))
			b.ReportAllocs()
			points, asked, before := 0, 0, cpuTime()
			for b.Loop() {
				asked++
				sol, err := n.Solve(sources, s.machines[r.IntN(len(s.machines))])
				if err != nil {
					b.Fatal(err)
				}
				points += len(sol.Chosen)
			}
			b.ReportMetric(float64(cpuTime()-before)/float64(asked), "cpu-ns/op")
			b.ReportMetric(float64(points)/float64(asked), "points/op")
		})
	}
}

// BenchmarkSearch is what the plain cut can't decide: one machine of 8 lines that
// are double with a bleed, and a mesh of 60 points.
func BenchmarkSearch(b *testing.B) {
	mixed := []Demand{Single, Double, Bled}
	for _, bc := range []struct {
		name string
		make func(r *rand.Rand) Problem
	}{
		{"machine", func(r *rand.Rand) Problem { return machineShop(r, 8, mixed) }},
		{"mesh", func(r *rand.Rand) Problem { return grid(r, 6, mixed) }},
	} {
		b.Run(bc.name, func(b *testing.B) {
			r := rand.New(rand.NewPCG(61, 62))
			var ps []Problem
			for len(ps) < 20 {
				p := bc.make(r)
				if sol, err := Solve(p); err == nil && sol.Searched {
					ps = append(ps, p)
				}
			}
			i := 0
			for b.Loop() {
				if _, err := Solve(ps[i%len(ps)]); err != nil {
					b.Fatal(err)
				}
				i++
			}
		})
	}
}
