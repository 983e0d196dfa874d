package cut

import (
	"math/bits"
	"math/rand/v2"
	"slices"
	"testing"
)

func TestServicesComeBeforeCost(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name string
		mix  mix
	}{
		{"single", mix{points: 10, demands: []Demand{Single}}},
		{"double with arcs", mix{points: 10, demands: []Demand{Double}, arcs: true}},
		{"single and double", mix{points: 10, demands: []Demand{Single, Double}, arcs: true}},
		{"single and double, kinds", mix{points: 10, demands: []Demand{Single, Double}, kinds: true, arcs: true}},
		{"all demands, kinds, vents", mix{points: 10, demands: []Demand{Single, Double, BlankBehind}, kinds: true,
			vents: true, arcs: true}},
	}
	for i, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			r := rand.New(rand.NewPCG(uint64(i), 99))
			tally := map[string]int{}
			for range 2500 {
				p := randomPlant(r, tc.mix)
				supply := randomSupply(r, p)
				compareServices(t, p, supply, tally)
				if t.Failed() {
					t.Fatalf("plant: %#v\nsupply: %#v", p, supply)
				}
			}
			t.Log(tally)
			if tally["feasible"] < 300 || tally["dearer than plain"] < 5 {
				t.Errorf("tally = %v, want enough cases in which services cost something", tally)
			}
		})
	}
}

func randomSupply(r *rand.Rand, p Problem) Supply {
	var s Supply
	if r.IntN(2) == 0 {
		s.Shut = make([]bool, p.N)
		for v := range s.Shut {
			s.Shut[v] = r.IntN(10) == 0
		}
	}
	for range 1 + r.IntN(5) {
		service := Service{Consumer: int32(r.IntN(p.N))}
		for range 1 + r.IntN(2) {
			from := int32(r.IntN(p.N))
			if r.IntN(4) > 0 && len(p.Sources) > 0 {
				from = p.Sources[r.IntN(len(p.Sources))].Vertex
			}
			service.From = append(service.From, from)
		}
		s.Services = append(s.Services, service)
	}
	return s
}

func compareServices(t *testing.T, p Problem, supply Supply, tally map[string]int) {
	t.Helper()
	b := newBrute(p)
	before := b.served(supply, 0)
	bestLost, bestCost := -1, int64(0)
	b.eachSet(func(x uint32) {
		c := b.cost(x)
		lost := bits.OnesCount32(b.lostConsumers(supply, before, x))
		if bestLost >= 0 && (lost > bestLost || lost == bestLost && c >= bestCost) {
			return
		}
		if b.meets(x) {
			bestLost, bestCost = lost, c
		}
	})
	got, err := SolveServices(p, supply)
	if bestLost < 0 {
		checkUncut(t, b, err)
		return
	}
	if err != nil {
		t.Errorf("SolveServices = error %v, want %d lost, cost %d", err, bestLost, bestCost)
		return
	}
	tally["feasible"]++
	tally["most nodes"] = max(tally["most nodes"], got.Nodes)
	tally["nodes"] += got.Nodes
	x := maskOf(got.Chosen)
	lost := b.lostConsumers(supply, before, x)
	if len(got.Lost) != bestLost || got.Cost != bestCost || !got.Exact() || maskOf(got.Lost) != lost ||
		!slices.IsSorted(got.Lost) {
		t.Errorf("SolveServices = lost %v (bound %d), cost %d (bound %d), want %d lost (%b), cost %d",
			got.Lost, got.LostBound, got.Cost, got.Bound, bestLost, lost, bestCost)
	}
	if err := Verify(p, got.Chosen); err != nil || !b.meets(x) {
		t.Errorf("Verify(%v) = %v, want nil", got.Chosen, err)
	}
	if err := got.Flow.Check(p); err != nil {
		t.Errorf("Check = %v, want nil", err)
	}
	if plain, err := Solve(p); err == nil && plain.Cost < got.Cost {
		tally["dearer than plain"]++
	}
}

// served is one bit per service.
func (b *brute) served(supply Supply, x uint32) uint32 {
	got := uint32(0)
	for i, s := range supply.Services {
		if b.joined(supply, s, x) {
			got |= 1 << i
		}
	}
	return got
}

func (b *brute) joined(supply Supply, s Service, x uint32) bool {
	barred := x
	for v, shut := range supply.Shut {
		if shut {
			barred |= 1 << v
		}
	}
	at := maskOf(s.From) &^ barred
	for {
		next := at
		for m := at; m != 0; m &= m - 1 {
			next |= b.next[bits.TrailingZeros32(m)] &^ barred
		}
		if next == at {
			return at>>s.Consumer&1 != 0
		}
		at = next
	}
}

func (b *brute) lostConsumers(supply Supply, before, x uint32) uint32 {
	lost := uint32(0)
	after := b.served(supply, x)
	for i, s := range supply.Services {
		if before&^after>>i&1 != 0 {
			lost |= 1 << s.Consumer
		}
	}
	return lost
}

// TestNearestCutKeepsWhatAnyCheapestCutKeeps: with one demand for all sources
// and no one-way arcs, a consumer that some cheapest set keeps joined to a
// source is kept by the one nearest the work too.
func TestNearestCutKeepsWhatAnyCheapestCutKeeps(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(81, 82))
	choices := 0
	for range 8000 {
		p := randomPlant(r, mix{points: 11, demands: []Demand{Demand(1 + r.IntN(2))}})
		for i := range p.Sources {
			p.Sources[i].Demand = p.Sources[0].Demand
		}
		sol, err := Solve(p)
		if err != nil {
			continue
		}
		b := newBrute(p)
		best := b.best()
		if len(best.sets) > 1 {
			choices++
		}
		var supply Supply
		for v := range int32(p.N) {
			for _, s := range p.Sources {
				supply.Services = append(supply.Services, Service{v, []int32{s.Vertex}})
			}
		}
		for _, service := range supply.Services {
			got := b.joined(supply, service, maskOf(sol.Chosen))
			for _, x := range best.sets {
				if !got && b.joined(supply, service, x) {
					t.Fatalf("set %v loses %v, which the equally cheap %b keeps; plant %#v", sol.Chosen, service, x, p)
				}
			}
		}
	}
	if choices < 500 {
		t.Errorf("plants with a choice = %d, want at least 500", choices)
	}
}

// TestServicesOfAShip solves one machine's isolation with many consumers.
func TestServicesOfAShip(t *testing.T) {
	t.Parallel()
	most, sum, count, exact := 0, 0, 0, 0
	for seed := range uint64(12) {
		s := newShip(350, seed)
		p := s.p
		p.Zone = s.machines[s.r.IntN(len(s.machines))]
		var supply Supply
		for _, m := range s.machines {
			for _, src := range p.Sources {
				supply.Services = append(supply.Services, Service{m[0], []int32{src.Vertex}})
			}
		}
		plain, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		p.NodeLimit = 3000
		sol, err := SolveServices(p, supply)
		if err != nil {
			t.Fatal(err)
		}
		if err := Verify(p, sol.Chosen); err != nil || sol.Cost < plain.Cost || sol.Flow.Check(p) != nil {
			t.Errorf("SolveServices = cost %d, %v, want at least %d and nil", sol.Cost, err, plain.Cost)
		}
		if sol.LostBound > len(sol.Lost) {
			t.Errorf("lost %v, bound %d, want at most so many", sol.Lost, sol.LostBound)
		}
		count++
		sum += sol.Nodes
		most = max(most, sol.Nodes)
		if sol.Exact() {
			exact++
		} else {
			t.Logf("seed %d: lost %d, at least %d; cost %d, at least %d", seed, len(sol.Lost), sol.LostBound, sol.Cost,
				sol.Bound)
		}
	}
	t.Logf("%d of %d exact, %.0f nodes on average, %d at most", exact, count, float64(sum)/float64(count), most)
	if exact < count*3/4 {
		t.Errorf("exact = %d of %d, want three quarters for one machine", exact, count)
	}
}
