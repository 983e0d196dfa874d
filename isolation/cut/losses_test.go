package cut

import (
	"math/bits"
	"math/rand/v2"
	"slices"
	"testing"
)

func TestLossesAreWeighedExactly(t *testing.T) {
	t.Parallel()
	cases := []struct {
		name string
		mix  mix
	}{
		{"single", mix{points: 10, demands: []Demand{Single}}},
		{"single and double, kinds", mix{points: 10, demands: []Demand{Single, Double}, kinds: true, gaps: true}},
		{"bled", mix{points: 10, demands: []Demand{Single, Bled}, bleeds: true}},
		{"everything", mix{points: 10, demands: []Demand{Single, Double, Bled, BlankBehind}, kinds: true, joints: true,
			bleeds: true, needs: true, oneWay: true, gaps: true}},
	}
	for i, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			r := rand.New(rand.NewPCG(uint64(i), 99))
			tally := map[string]int{}
			for range 2500 {
				p := randomPlant(r, tc.mix)
				addLosses(r, &p)
				compareLosses(t, p, tally)
				if t.Failed() {
					t.Fatalf("plant: %#v", p)
				}
			}
			t.Log(tally)
			if tally["feasible"] < 300 || tally["dearer than plain"] < 5 {
				t.Errorf("tally = %v, want enough cases in which services cost something", tally)
			}
		})
	}
}

// addLosses draws nets that follow most of the plant's edges one way or both,
// and losses that come before costs or are weighed against them.
func addLosses(r *rand.Rand, p *Problem) {
	for range 1 + r.IntN(2) {
		var net [][2]int32
		for _, e := range p.edges() {
			if r.IntN(10) > 0 {
				net = append(net, e)
			}
			if r.IntN(10) > 0 {
				net = append(net, [2]int32{e[1], e[0]})
			}
		}
		p.Nets = append(p.Nets, net)
	}
	weight := int64(1)
	if r.IntN(3) > 0 {
		for _, c := range p.Cost {
			weight += c
		}
	}
	for range 1 + r.IntN(5) {
		l := Loss{Weight: weight}
		for range 1 + r.IntN(2) {
			s := Service{Net: r.IntN(len(p.Nets)), From: int32(r.IntN(p.N)), To: int32(r.IntN(p.N))}
			if r.IntN(4) > 0 && len(p.Sources) > 0 {
				s.From = p.Sources[r.IntN(len(p.Sources))].Vertex
			}
			l.Services = append(l.Services, s)
		}
		p.Losses = append(p.Losses, l)
	}
}

func compareLosses(t *testing.T, p Problem, tally map[string]int) {
	t.Helper()
	b := newBrute(p)
	best := int64(-1)
	b.eachSet(func(x uint32) {
		toll := int64(0)
		for _, i := range b.lost(x) {
			toll += p.Losses[i].Weight
		}
		if c := b.cost(x) + toll; (best < 0 || c < best) && b.meets(x) {
			best = c
		}
	})
	got, err := Solve(p)
	if best < 0 {
		checkUncut(t, b, err)
		return
	}
	if err != nil {
		t.Errorf("Solve = error %v, want a cost of %d", err, best)
		return
	}
	tally["feasible"]++
	tally["most conflicts"] = max(tally["most conflicts"], got.Conflicts)
	x := maskOf(got.Chosen)
	if got.Cost+got.Toll != best || got.Cost != b.cost(x) || !got.Exact() || !slices.Equal(got.Lost, b.lost(x)) {
		t.Errorf("Solve = cost %d, lost %v (%d), bound %+v, want %d in all, with %v lost", got.Cost, got.Lost, got.Toll,
			got.Bound, best, b.lost(x))
	}
	if err := Verify(p, got.Chosen); err != nil || !b.meets(x) {
		t.Errorf("Verify(%v) = %v, want nil", got.Chosen, err)
	}
	if err := got.Flow.Check(p); err != nil {
		t.Errorf("Check = %v, want nil", err)
	}
	p.Losses = nil
	if plain, err := Solve(p); err == nil && plain.Cost < got.Cost {
		tally["dearer than plain"]++
	}
}

// lost lists the losses that the set x brings.
func (b *brute) lost(x uint32) []int {
	out := []int{}
	for i, l := range b.p.Losses {
		for _, s := range l.Services {
			if b.stands(s, 0) && !b.stands(s, x) {
				out = append(out, i)
				break
			}
		}
	}
	return out
}

func (b *brute) stands(s Service, x uint32) bool {
	ways := make([]uint32, b.p.N)
	for _, a := range b.p.Nets[s.Net] {
		ways[a[0]] |= 1 << a[1]
	}
	at := uint32(1) << s.From &^ x
	for {
		next := at
		for m := at; m != 0; m &= m - 1 {
			next |= ways[bits.TrailingZeros32(m)] &^ x
		}
		if next == at {
			return at>>s.To&1 != 0
		}
		at = next
	}
}

// TestNearestCutKeepsWhatAnyCheapestCutKeeps: with one demand for all sources, a
// consumer that some cheapest set keeps joined to a source is kept by the one
// nearest the work too.
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
		for _, s := range p.Sources {
			got := from(int(s.Vertex), b.next, maskOf(sol.Chosen))
			for _, x := range best.sets {
				if lost := from(int(s.Vertex), b.next, x) &^ got; lost != 0 {
					t.Fatalf("set %v loses %b, which the equally cheap %b keeps; plant %#v", sol.Chosen, lost, x, p)
				}
			}
		}
	}
	if choices < 500 {
		t.Errorf("plants with a choice = %d, want at least 500", choices)
	}
}

// TestLossesOfAShip solves one machine's isolation with many consumers.
func TestLossesOfAShip(t *testing.T) {
	t.Parallel()
	most, sum, count, exact := 0, 0, 0, 0
	for seed := range uint64(12) {
		s := newShip(350, seed)
		p := s.p
		p.Zone = s.machines[s.r.IntN(len(s.machines))]
		plain, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		net := [][2]int32{}
		for _, e := range p.Edges {
			net = append(net, e, [2]int32{e[1], e[0]})
		}
		p.Nets = [][][2]int32{net}
		for _, m := range s.machines {
			l := Loss{Weight: 1_000_000}
			for _, src := range p.Sources {
				l.Services = append(l.Services, Service{From: src.Vertex, To: m[0]})
			}
			p.Losses = append(p.Losses, l)
		}
		sol, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		if err := Verify(p, sol.Chosen); err != nil || sol.Cost < plain.Cost || sol.Flow.Check(p) != nil {
			t.Errorf("Solve = cost %d, %v, want at least %d and nil", sol.Cost, err, plain.Cost)
		}
		count++
		sum += sol.Conflicts
		most = max(most, sol.Conflicts)
		if sol.Exact() {
			exact++
		} else {
			t.Logf("seed %d: lost %d, cost %d; bound %d", seed, len(sol.Lost), sol.Cost, sol.Bound.Least())
		}
	}
	t.Logf("%d of %d exact, %.0f conflicts on average, %d at most", exact, count, float64(sum)/float64(count), most)
	if exact < count {
		t.Errorf("exact = %d of %d, want all for one machine", exact, count)
	}
}
