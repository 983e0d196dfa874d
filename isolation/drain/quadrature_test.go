package drain

import (
	"math"
	"testing"
)

func TestIntegrateFindsKnownIntegrals(t *testing.T) {
	cases := []struct {
		name string
		f    func(float64) float64
		want float64
	}{
		{"constant", func(float64) float64 { return 1 }, 1},
		{"slope", func(x float64) float64 { return x }, 0.5},
		{"root at the lower end", math.Sqrt, 2.0 / 3},
		{"pole of a root", func(x float64) float64 { return 1 / math.Sqrt(x) }, 2},
		{"root at the upper end", func(x float64) float64 { return math.Sqrt(1 - x) }, 2.0 / 3},
		{"kink", func(x float64) float64 { return math.Abs(x - 1.0/3) }, 5.0 / 18},
		{"steep", func(x float64) float64 { return math.Exp(20 * x) }, math.Expm1(20) / 20},
	}
	for _, tc := range cases {
		if got := integrate(tc.f, 0, 1, 1e-9); math.Abs(got/tc.want-1) > 1e-7 {
			t.Errorf("%s: integrate = %.12g, want %.12g", tc.name, got, tc.want)
		}
	}
}

func TestCautiousFrictionNeverRisesAndNeverFlatters(t *testing.T) {
	for _, rough := range []float64{0, 1e-5, 1e-3, 0.02, 0.1} {
		c := newCautious(rough)
		last := math.Inf(1)
		for re := 1.0; re < 1e8; re *= 1.01 {
			f, _ := c.factor(re)
			if f > last*(1+1e-9) || f < Friction(re, rough)*(1-1e-5) {
				t.Errorf("cautious(%g, Re %g) = %v, want at most %v and at least Churchill's %v", rough, re, f, last,
					Friction(re, rough))
			}
			last = f
		}
	}
}
