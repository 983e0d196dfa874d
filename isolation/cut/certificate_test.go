package cut

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// TestCertificateRefusesWhatIsNotProven spoils certificates one fact at a time.
func TestCertificateRefusesWhatIsNotProven(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(31, 32))
	spoiled := 0
	for range 3000 {
		p := randomPlant(r, mix{points: 10, demands: []Demand{Single, Double, BlankBehind}, kinds: r.IntN(2) == 0,
			gaps: true})
		sol, err := Solve(p)
		if err != nil || sol.Flow.Value == 0 {
			continue
		}
		for name, bad := range spoil(r, sol.Flow) {
			spoiled++
			if err := bad.Check(p); err == nil {
				t.Fatalf("Check accepts a certificate with %s: %+v; good %+v; plant %#v", name, bad, sol.Flow, p)
			}
		}
	}
	if spoiled < 2000 {
		t.Errorf("spoiled certificates = %d, want at least 2000", spoiled)
	}
}

func copyOf(c Certificate) Certificate {
	c.Legs, c.Inflows = slices.Clone(c.Legs), slices.Clone(c.Inflows)
	return c
}

// spoil returns certificates of which none may be accepted.
func spoil(r *rand.Rand, good Certificate) map[string]Certificate {
	bad := map[string]Certificate{}
	value := copyOf(good)
	value.Value++
	bad["a value that nothing shows"] = value

	double := copyOf(good)
	double.Value *= 2
	for i := range double.Legs {
		double.Legs[i].Amount *= 2
	}
	for i := range double.Inflows {
		double.Inflows[i].Amount *= 2
	}
	bad["everything twice"] = double

	inflow := copyOf(good)
	inflow.Inflows[0].Amount++
	inflow.Value++
	bad["more inflow than leaves"] = inflow

	source := copyOf(good)
	source.Inflows[0].Source = -7
	bad["an inflow at no source"] = source

	layers := copyOf(good)
	layers.Layers = 3 - layers.Layers
	bad["another number of layers"] = layers

	if len(good.Legs) > 0 {
		i := r.IntN(len(good.Legs))
		lost := copyOf(good)
		lost.Legs = slices.Delete(lost.Legs, i, i+1)
		bad["a leg lost"] = lost
		more := copyOf(good)
		more.Legs[i].Amount++
		bad["more on one leg"] = more
		less := copyOf(good)
		less.Legs[i].Amount = -1
		bad["a leg less than nothing"] = less
		astray := copyOf(good)
		astray.Legs[i].To = Spot{1 << 20, -1, Whole}
		bad["a leg out of the plant"] = astray
	}
	return bad
}

func TestCertificateRefusesALegThatThePlantLacks(t *testing.T) {
	t.Parallel()
	// 0 - 1 - 2 and 3 - 4 - 5, each a section, a point and a section: only the
	// first path is there, so nothing can be sent from 3 to 2.
	p := Problem{
		N: 6, Edges: [][2]int32{{0, 1}, {1, 2}, {3, 4}, {4, 5}}, Cost: []int64{0, 5, 0, 0, 7, 0},
		Sources: []Source{{0, Single}, {3, Single}}, Zone: []int32{2},
	}
	bridge := Certificate{
		Layers: 1, Value: 7, Inflows: []Inflow{{3, 0, 7}},
		Legs: []Leg{
			{From: Spot{3, -1, Whole}, To: Spot{4, -1, Entry}, Amount: 7},
			{From: Spot{4, -1, Entry}, To: Spot{4, -1, Exit}, Amount: 7},
			{From: Spot{4, -1, Exit}, To: Spot{2, -1, Whole}, Amount: 7},
		},
	}
	if err := bridge.Check(p); err == nil {
		t.Error("Check accepts a leg from 4 to 2, which the plant lacks")
	}
	sol, err := Solve(p)
	if err != nil || sol.Cost != 5 || sol.Flow.Check(p) != nil {
		t.Errorf("Solve = cost %d, %v, want 5 with a certificate", sol.Cost, err)
	}
}

func TestCertificateRefusesFlowBackFromALayer(t *testing.T) {
	t.Parallel()
	// Two points in a row, double: 0 - 1 - 2 - 3 - 4. Flow may go up a layer
	// past a point, never down, and not into layer 0 from a single source.
	p := Problem{
		N: 5, Edges: [][2]int32{{0, 1}, {1, 2}, {2, 3}, {3, 4}}, Cost: []int64{0, 4, 0, 4, 0},
		Sources: []Source{{0, Double}}, Zone: []int32{4},
	}
	sol, err := Solve(p)
	if err != nil || sol.Cost != 8 || sol.Flow.Value != 8 {
		t.Fatalf("Solve = cost %d, %v, want 8", sol.Cost, err)
	}
	single := p
	single.Sources = []Source{{0, Single}}
	if err := sol.Flow.Check(single); err == nil {
		t.Error("Check accepts the flow of a double demand for a single one")
	}
	mixed := p
	mixed.Sources = []Source{{0, Single}, {2, Double}}
	if err := sol.Flow.Check(mixed); err == nil {
		t.Error("Check accepts inflow of a single source in the outer layer")
	}
}

func TestCertificateRefusesFlowThatFallsALayer(t *testing.T) {
	t.Parallel()
	// 0 (single) - 1 - 2 is the work, 3 (double) is joined to nothing. Flow of
	// the single source may use layer 1 only; were it let down to layer 0, the
	// point would be counted twice.
	p := Problem{
		N: 4, Edges: [][2]int32{{0, 1}, {1, 2}}, Cost: []int64{0, 5, 0, 0},
		Sources: []Source{{0, Single}, {3, Double}}, Zone: []int32{2},
	}
	legs := func(layer uint8) []Leg {
		return []Leg{
			{From: Spot{0, -1, Whole}, To: Spot{1, -1, Entry}, Layer: layer, Amount: 5},
			{From: Spot{1, -1, Entry}, To: Spot{1, -1, Exit}, Layer: layer, Amount: 5},
			{From: Spot{1, -1, Exit}, To: Spot{2, -1, Whole}, Layer: layer, Amount: 5},
		}
	}
	good := Certificate{Layers: 2, Value: 5, Inflows: []Inflow{{0, 1, 5}}, Legs: legs(1)}
	if err := good.Check(p); err != nil {
		t.Errorf("Check = %v, want nil", err)
	}
	bad := Certificate{Layers: 2, Value: 10, Inflows: []Inflow{{0, 1, 10}}, Legs: append(legs(0), legs(1)...)}
	if err := bad.Check(p); err == nil {
		t.Error("Check accepts flow that falls from layer 1 to layer 0")
	}
}
