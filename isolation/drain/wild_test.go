package drain

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

// wild draws a figure that is mostly sound and sometimes anything.
func wild(r *rapid.T, label string, low, high float64) float64 {
	switch rapid.IntRange(0, 200).Draw(r, label+" kind") { // the ends are drawn more often than the rest
	case 77:
		return rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), math.Inf(-1), -1, 0, 1e300, 1e-300}).Draw(r, label)
	case 0:
		return low
	case 200:
		return high
	}
	return rapid.Float64Range(low, high).Draw(r, label)
}

// TestWildSectionsAreRefusedOrGiveFigures: whatever comes in, what comes out is an
// error or an outlook and a verdict in plain numbers.
func TestWildSectionsAreRefusedOrGiveFigures(t *testing.T) {
	answered := 0
	rapid.Check(t, func(r *rapid.T) {
		s := Section{Name: "wild", Fluid: fluidOf(t, "DMA"), TempC: wild(r, "temp", 0, 150),
			RoughM: wild(r, "rough", 0, 0.001)}
		n := rapid.IntRange(1, 6).Draw(r, "nodes")
		for i := range n {
			s.Nodes = append(s.Nodes, Node{Name: fmt.Sprint(i), LevelM: wild(r, "level", -3, 3), Placed: true,
				XM: wild(r, "x", -50, 50)})
		}
		node := func(label string) string { return fmt.Sprint(rapid.IntRange(0, n-1).Draw(r, label)) }
		for range rapid.IntRange(0, 8).Draw(r, "links") {
			s.Links = append(s.Links, Link{A: node("a"), B: node("b"), BoreM: wild(r, "bore", 0.001, 3),
				LengthM:  wild(r, "length", 6, 50),
				InvertAM: wild(r, "za", -3, 3), InvertBM: wild(r, "zb", -3, 3), LossK: wild(r, "k", 0, 100),
				OneWayToB: rapid.Bool().Draw(r, "one way")})
		}
		for range rapid.IntRange(0, 2).Draw(r, "vessels") {
			s.Vessels = append(s.Vessels, Vessel{Node: node("at"), Shape: Shape(rapid.IntRange(0, 2).Draw(r, "shape")),
				VolumeM3: wild(r, "volume", 1e-6, 50), HeightM: wild(r, "height", 0, 3)})
		}
		for i := range rapid.IntRange(0, 4).Draw(r, "openings") {
			s.Openings = append(s.Openings, Opening{Name: fmt.Sprint(i), Node: node("on"), Role: Role(i % 2), Open: true,
				BoreM: wild(r, "hole", 0.001, 3), LevelM: wild(r, "mouth", -4, 4), LengthM: wild(r, "tail", 0, 10)})
		}
		if rapid.Bool().Draw(r, "part full") {
			fill := wild(r, "fill", -3, 3)
			s.FillM = &fill
		}
		s.Tilt = Tilt{ListDeg: wild(r, "list", 0, 10), TrimDeg: wild(r, "trim", 0, 3)}
		o, err := Predict(s)
		if err != nil {
			return
		}
		answered++
		v, err := Judge(o, Record{OutM3: math.Abs(o.OutM3), HoldS: 900, TempC: 20, GaugeBar: 0}, nil)
		if err != nil || v.Result == Undecided || v.Words == "" {
			r.Errorf("Judge = %+v, %v, want a verdict in words", v, err)
		}
		for i, x := range []float64{o.TrappedM3, o.OutM3, o.KeptM3, o.SpreadM3, o.DrainS, o.WaitS, o.FilmM, o.FilmM3,
			o.Tilted.KeptM3, v.RateM3S, v.ExpectedM3, v.UnseenM3S} {
			if math.IsNaN(x) || math.IsInf(x, 0) || x < -1e-9 {
				r.Errorf("figure %d = %v, want a number: %+v", i, x, o)
			}
		}
		for _, p := range o.Curve {
			if math.IsNaN(p.TimeS+p.LevelM+p.LeftM3) || math.IsInf(p.TimeS+p.LevelM+p.LeftM3, 0) {
				r.Errorf("curve point %+v, want numbers", p)
			}
		}
	})
	if answered == 0 {
		t.Error("no wild section was sound enough to be answered; the test shows nothing")
	}
}
