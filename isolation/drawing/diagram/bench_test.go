package diagram

import (
	"io"
	"testing"
)

func BenchmarkOf(b *testing.B) {
	p := demoPlant(b)
	plans := demoPlans(b, p)
	for b.Loop() {
		if err := Of(p, &plans[0]).SVG(io.Discard, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkPlant(b *testing.B) {
	p := demoPlant(b)
	for b.Loop() {
		if err := Plant(p).SVG(io.Discard, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
