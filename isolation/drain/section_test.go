package drain

import (
	"fmt"
	"testing"

	"pgregory.net/rapid"
)

// fluidOf returns a named fluid or stops the test.
func fluidOf(t testing.TB, name string) Fluid {
	t.Helper()
	f, err := ParseFluid(name)
	if err != nil {
		t.Fatalf("ParseFluid(%q) = %v, want no error", name, err)
	}
	return f
}

// chain is the line of check-values: drain 0 – a 1.0 – b 0.4 – c 1.5 – d 0.2 –
// e 2.0 – v 3.0, with a vent at v.
func chain(t testing.TB) Section {
	names := []string{"drain", "a", "b", "c", "d", "e", "v"}
	levels := []float64{0, 1, 0.4, 1.5, 0.2, 2, 3}
	s := Section{Name: "chain", Fluid: fluidOf(t, "RMG 380"), TempC: 98}
	for i, n := range names {
		s.Nodes = append(s.Nodes, Node{Name: n, LevelM: levels[i]})
		if i > 0 {
			s.Links = append(s.Links, Link{A: names[i-1], B: n, BoreM: 0.05, LengthM: 4, InvertAM: levels[i-1],
				InvertBM: levels[i]})
		}
	}
	s.Openings = []Opening{
		{Name: "D1", Node: "drain", Role: DrainOpening, Open: true, BoreM: 0.025, LevelM: 0},
		{Name: "V1", Node: "v", Role: VentOpening, Open: true, BoreM: 0.025, LevelM: 3},
	}
	return s
}

// uprightTank is a vessel that stands on its drain: it has a closed solution.
func uprightTank(t testing.TB, volumeM3, heightM, boreM float64) Section {
	return Section{
		Name: "tank", Fluid: fluidOf(t, "water"), TempC: 20,
		Nodes:   []Node{{Name: "bottom", LevelM: 2}},
		Vessels: []Vessel{{Name: "tank", Node: "bottom", VolumeM3: volumeM3, HeightM: heightM}},
		Openings: []Opening{
			{Name: "D", Node: "bottom", Open: true, BoreM: boreM, LevelM: 2},
			{Name: "V", Node: "bottom", Role: VentOpening, Open: true, BoreM: 0.1, LevelM: 2 + heightM},
		},
	}
}

// randomSection draws a section with a drain at its first node: a random tree
// with some extra links and vessels.
func randomSection(r *rapid.T, links int) Section {
	f, err := ParseFluid(rapid.SampledFrom([]string{"RMG 380", "DMA", "water", "lube SAE 40"}).Draw(r, "fluid"))
	if err != nil {
		r.Fatal(err)
	}
	s := Section{Name: "random", Fluid: f, TempC: float64(rapid.IntRange(35, 98).Draw(r, "temp"))}
	n := rapid.IntRange(2, links).Draw(r, "nodes")
	level := func(label string) float64 { return float64(rapid.IntRange(0, 60).Draw(r, label)) / 10 }
	bores := []float64{0.015, 0.025, 0.05, 0.08, 0.15}
	for i := range n {
		z := level("level")
		s.Nodes = append(s.Nodes, Node{Name: fmt.Sprint("n", i), LevelM: z})
		if i == 0 {
			continue
		}
		s.join(r, rapid.IntRange(0, i-1).Draw(r, "to"), i, rapid.SampledFrom(bores).Draw(r, "bore"))
	}
	for range rapid.IntRange(0, 3).Draw(r, "loops") {
		a, b := rapid.IntRange(0, n-1).Draw(r, "a"), rapid.IntRange(0, n-1).Draw(r, "b")
		if a != b {
			s.join(r, a, b, rapid.SampledFrom(bores).Draw(r, "bore"))
		}
	}
	for i := range rapid.IntRange(0, 2).Draw(r, "vessels") {
		at := rapid.IntRange(0, n-1).Draw(r, "at")
		s.Vessels = append(s.Vessels, Vessel{Name: fmt.Sprint("t", i), Node: s.Nodes[at].Name,
			Shape: Shape(rapid.IntRange(0, 2).Draw(r, "shape")), VolumeM3: 0.2, HeightM: 1})
	}
	s.Openings = []Opening{{Name: "D", Node: "n0", Open: true, BoreM: 0.02, LevelM: s.Nodes[0].LevelM - 0.1, LengthM: 0.5}}
	for i := range rapid.IntRange(0, 3).Draw(r, "vents") {
		at := rapid.IntRange(0, n-1).Draw(r, "vent at")
		s.Openings = append(s.Openings, Opening{Name: fmt.Sprint("V", i), Node: s.Nodes[at].Name, Role: VentOpening,
			Open: true, BoreM: 0.025, LevelM: s.Nodes[at].LevelM + 1})
	}
	return s
}

// join adds a link whose inverts are its nodes' levels, or somewhat above.
func (s *Section) join(r *rapid.T, a, b int, bore float64) {
	za := s.Nodes[a].LevelM + float64(rapid.IntRange(0, 3).Draw(r, "lift a"))/10
	zb := s.Nodes[b].LevelM + float64(rapid.IntRange(0, 3).Draw(r, "lift b"))/10
	long := za - zb
	if long < 0 {
		long = -long
	}
	long += float64(rapid.IntRange(0, 40).Draw(r, "extra length")) / 10
	s.Links = append(s.Links, Link{Name: fmt.Sprint("l", len(s.Links)), A: s.Nodes[a].Name, B: s.Nodes[b].Name,
		BoreM:   bore,
		LengthM: long, InvertAM: za, InvertBM: zb, LossK: float64(rapid.IntRange(0, 20).Draw(r, "loss"))})
}
