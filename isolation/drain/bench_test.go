package drain

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

// hundred is a header with branches: 100 links of the usual bores, sloping,
// with dips, eight vents and one drain.
func hundred(t testing.TB) Section {
	rnd := rand.New(rand.NewPCG(7, 100))
	bores := []float64{0.025, 0.04, 0.05, 0.065, 0.08, 0.1}
	s := Section{Name: "hundred", Fluid: fluidOf(t, "RMG 380"), TempC: 98, Nodes: []Node{{Name: "n0", LevelM: 0}}}
	for i := 1; i <= 100; i++ {
		from := i - 1
		if i%4 == 0 {
			from = rnd.IntN(i)
		}
		z := s.Nodes[from].LevelM + rnd.Float64()*0.6 - 0.2
		s.Nodes = append(s.Nodes, Node{Name: fmt.Sprint("n", i), LevelM: z})
		s.Links = append(s.Links, Link{Name: fmt.Sprint("l", i), A: s.Nodes[from].Name, B: s.Nodes[i].Name,
			BoreM:   bores[rnd.IntN(len(bores))],
			LengthM: 1 + 5*rnd.Float64(), InvertAM: s.Nodes[from].LevelM, InvertBM: z, LossK: 2 * rnd.Float64()})
	}
	s.Openings = []Opening{{Name: "D", Node: "n0", Open: true, BoreM: 0.025, LevelM: -0.2, LengthM: 0.3}}
	for i := range 8 {
		n := s.Nodes[12*i+5]
		s.Openings = append(s.Openings, Opening{Name: fmt.Sprint("V", i), Node: n.Name, Role: VentOpening, Open: true,
			BoreM: 0.02, LevelM: n.LevelM + 0.5})
	}
	return s
}

func BenchmarkPredictHundred(b *testing.B) {
	s := hundred(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Predict(s); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkSurveyHundred(b *testing.B) {
	s := hundred(b)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Survey(s); err != nil {
			b.Fatal(err)
		}
	}
}

// selfAgreement is how well a time agrees with the same at finer steps: seven times the worst of 20 000 drawn sections
// (2.8e-4; 99 of 100 agree to 1.2e-5). Bores are known to some per cent: more digits would be worth nothing to anybody.
const selfAgreement = 2e-3

func TestHundredSectionsAtHalvedStep(t *testing.T) {
	s := hundred(t)
	o, err := refined(s, 1)
	if err != nil {
		t.Fatal(err)
	}
	half, err := refined(s, 2)
	if err != nil {
		t.Fatal(err)
	}
	if !near(o.DrainS, half.DrainS, selfAgreement) {
		t.Errorf("DrainS = %v, at halved step %v, want within %g (off by %.2g)", o.DrainS, half.DrainS, selfAgreement,
			o.DrainS/half.DrainS-1)
	}
}

// refined is Predict with steps that are finer by a factor.
func refined(s Section, by int) (Outlook, error) {
	return predict(s, func(o *Outlook, n *net, b basin) { o.time(n, b, by) })
}
