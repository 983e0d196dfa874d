package cut

import (
	"errors"
	"math/rand/v2"
	"slices"
	"testing"
)

// mix says what a random plant may hold.
type mix struct {
	points  int
	demands []Demand
	kinds   bool
	joints  bool
	bleeds  bool
	needs   bool
	oneWay  bool
	dry     bool // the zone had better be bled
	gaps    bool
	keeps   bool
}

// randomPlant makes a small plant: a random tree or forest with some more
// edges, so that there are both dead ends and rings.
func randomPlant(r *rand.Rand, m mix) Problem {
	points := min(m.points, 2+r.IntN(m.points+2))
	p := Problem{N: points + 2 + r.IntN(6)}
	p.Cost = make([]int64, p.N)
	for _, v := range r.Perm(p.N)[:points] {
		p.Cost[v] = 1 + r.Int64N([]int64{1, 3, 50}[r.IntN(3)])
	}
	join := func(a, b int) {
		e := [2]int32{int32(a), int32(b)}
		switch {
		case m.oneWay && r.IntN(5) == 0:
			p.OneWay = append(p.OneWay, e)
		case m.gaps && r.IntN(5) == 0:
			p.Gaps = append(p.Gaps, e)
		default:
			p.Edges = append(p.Edges, e)
		}
	}
	order := r.Perm(p.N)
	for i := 1; i < p.N; i++ {
		if r.IntN(12) > 0 {
			back := 1 + r.IntN(min(i, 3))
			join(order[i-back], order[i])
		}
	}
	for range r.IntN(1 + p.N/[]int{2, 3, 6}[r.IntN(3)]) {
		join(r.IntN(p.N), r.IntN(p.N))
	}
	if m.kinds {
		p.Counts = make([]Counts, p.N)
		for v := range p.Counts {
			p.Counts[v] = []Counts{0, Valve, Valve, Valve, Blank, Blank, Blank, Valve | Blank}[r.IntN(8)]
			if m.joints && p.Counts[v] == Blank && r.IntN(3) > 0 {
				p.Counts[v] |= Joint
			}
		}
	}
	if m.bleeds {
		p.Openings = make([]bool, p.N)
		for v := range p.Openings {
			p.Openings[v] = p.Cost[v] == 0 && r.IntN(3) == 0
		}
	}
	p.ZoneBled = m.dry && r.IntN(2) == 0
	for m.needs && r.IntN(3) > 0 {
		n := Need{If: int32(r.IntN(p.N))}
		for range 1 + r.IntN(2) {
			n.OneOf = append(n.OneOf, int32(r.IntN(p.N)))
		}
		p.Needs = append(p.Needs, n)
	}
	if late := len(p.Needs) / 2; late > 0 && r.IntN(2) == 0 {
		further := p.Needs[:late]
		p.Needs = p.Needs[late:]
		p.Further = func(chosen []int32) (out []Need) {
			for _, n := range further {
				if slices.Contains(chosen, n.If) && !slices.ContainsFunc(n.OneOf,
					func(v int32) bool { return slices.Contains(chosen, v) }) {
					out = append(out, n)
				}
			}
			return out
		}
	}
	// Work at one end of the order and sources at the other, mostly, so that
	// there are points between them.
	ends := order
	if r.IntN(4) == 0 {
		ends = r.Perm(p.N)
	}
	zones := 1 + r.IntN(2)
	for _, z := range ends[:zones] {
		p.Zone = append(p.Zone, int32(z))
	}
	for i := range min(p.N-zones, 1+r.IntN(3)) {
		s := ends[p.N-1-i]
		p.Sources = append(p.Sources, Source{int32(s), m.demands[r.IntN(len(m.demands))]})
	}
	for m.keeps && r.IntN(3) > 0 {
		keep := Keep{}
		for range 1 + r.IntN(2) {
			if v := int32(r.IntN(p.N)); p.Cost[v] == 0 && !slices.ContainsFunc(p.Sources, func(s Source) bool {
				return s.Vertex == v
			}) {
				keep.To = append(keep.To, v)
			}
		}
		for _, s := range p.Sources {
			if r.IntN(3) > 0 {
				keep.From = append(keep.From, s.Vertex)
			}
		}
		p.Keeps = append(p.Keeps, keep)
	}
	return p
}

var exactCases = []struct {
	name   string
	plants int
	mix    mix
}{
	{"single", 7500, mix{points: 12, demands: []Demand{Single}, bleeds: true, dry: true}},
	{"double", 7500, mix{points: 12, demands: []Demand{Double}}},
	{"single and double with gaps", 9000, mix{points: 12, demands: []Demand{Single, Double}, gaps: true}},
	{"single and double with needs", 4000, mix{points: 12, demands: []Demand{Single, Double}, needs: true}},
	{"blank with kinds", 9000, mix{points: 12, demands: []Demand{BlankBehind}, kinds: true, gaps: true}},
	{"single and double with kinds", 6000, mix{points: 12, demands: []Demand{Single, Double}, kinds: true}},
	{
		"all without bleeds",
		12000,
		mix{points: 12, demands: []Demand{Single, Double, BlankBehind}, kinds: true, gaps: true},
	},
	{"bled", 7500, mix{points: 11, demands: []Demand{Bled}, bleeds: true, gaps: true, dry: true}},
	{
		"bled and single",
		7500,
		mix{points: 11, demands: []Demand{Bled, Single, None}, bleeds: true, oneWay: true, gaps: true},
	},
	{"everything", 12000, mix{points: 11, demands: []Demand{Single, Double, Bled, Bled, BlankBehind, None}, kinds: true,
		joints: true, bleeds: true, needs: true, oneWay: true, gaps: true, dry: true}},
	{"single and double with keeps", 6000, mix{points: 12, demands: []Demand{Single, Double, None}, gaps: true,
		keeps: true}},
	{"everything and keeps", 9000, mix{points: 11, demands: []Demand{Single, Double, Bled, BlankBehind, None}, kinds: true,
		joints: true, bleeds: true, needs: true, oneWay: true, gaps: true, dry: true, keeps: true}},
}

func TestSolveIsExact(t *testing.T) {
	t.Parallel()
	for i, tc := range exactCases {
		t.Run(tc.name, func(t *testing.T) {
			t.Parallel()
			r := rand.New(rand.NewPCG(uint64(i), 7))
			tally := map[string]int{}
			for range tc.plants {
				p := randomPlant(r, tc.mix)
				compareWithBrute(t, p, tally)
				if t.Failed() {
					t.Fatalf("plant: %#v", p)
				}
			}
			t.Log(tally)
			if tally["feasible"] < tc.plants/5 || tally["infeasible"] < tc.plants/50 {
				t.Errorf("plants = %v, want a fair share of both feasible and infeasible", tally)
			}
		})
	}
}

func compareWithBrute(t *testing.T, p Problem, tally map[string]int) {
	t.Helper()
	b := newBrute(p)
	want := b.best()
	sol, err := Solve(p)
	if !want.feasible {
		tally["infeasible"]++
		checkUncut(t, b, err)
		return
	}
	if err != nil {
		t.Errorf("Solve = error %v, want cost %d", err, want.cost)
		return
	}
	tally["feasible"]++
	if sol.Searched {
		tally["searched"]++
		tally["conflicts"] += sol.Conflicts
		tally["most conflicts"] = max(tally["most conflicts"], sol.Conflicts)
	}
	if sol.Cost != want.cost || sol.Bound.Least() != want.cost || b.cost(maskOf(sol.Chosen)) != sol.Cost {
		t.Errorf(
			"Solve = cost %d, bound %d, set %v, want cost %d by sets %b",
			sol.Cost,
			sol.Bound.Least(),
			sol.Chosen,
			want.cost,
			want.sets,
		)
	}
	if !b.meets(maskOf(sol.Chosen)) || !slices.IsSorted(sol.Chosen) {
		t.Errorf("Solve = set %v, want one that meets the demands, ascending", sol.Chosen)
	}
	if err := Verify(p, sol.Chosen); err != nil {
		t.Errorf("Verify(%v) = %v, want nil", sol.Chosen, err)
	}
	if err := sol.Flow.Check(p); err != nil {
		t.Errorf("Check = %v, want nil", err)
	}
	if sol.Flow.Value != sol.Bound.ByFlow || sol.Bound.ByFlow > want.cost || sol.Searched == (sol.Bound.BySearch == 0) {
		t.Errorf(
			"certificate = %d, bound %+v, searched %v, want a flow of at most %d",
			sol.Flow.Value,
			sol.Bound,
			sol.Searched,
			want.cost,
		)
	}
	if sol.Unique != (len(want.sets) == 1) {
		tally["unique differs"]++
		// Where the plain cut has several sets, of which one happens to do, nobody looks whether the others do too.
		if sol.Unique || sol.Searched {
			t.Errorf("Unique = %v, want %v: sets %b", sol.Unique, !sol.Unique, want.sets)
		}
	}
	checkDry(t, b, sol, want, tally)
	if sol.Searched {
		return
	}
	checkNearest(t, b, sol, want)
	checkLabels(t, b, sol)
}

// checkDry wants the vertices of the zone bled, in order, as any cheapest set can
// have them.
func checkDry(t *testing.T, b *brute, sol Solution, want bruteBest, tally map[string]int) {
	t.Helper()
	if !b.p.ZoneBled {
		return
	}
	dry := func(x uint32) []int {
		var out []int
		for _, z := range b.p.Zone {
			out = append(out, 0)
			if b.isBled(int(z), x, x&^b.joints) {
				out[len(out)-1] = 1
			}
		}
		return out
	}
	best := dry(want.sets[0])
	for _, x := range want.sets {
		if d := dry(x); slices.Compare(d, best) > 0 {
			best = d
		}
	}
	if got := dry(maskOf(sol.Chosen)); !slices.Equal(got, best) {
		t.Errorf("set %v leaves the zone bled at %v, want %v as one of %b does", sol.Chosen, got, best, want.sets)
	}
	if sol.Searched && sol.Bound.ByFlow == sol.Cost && slices.Contains(best, 1) {
		tally["drained by choice"]++
	}
}

// checkUncut wants an error with a path that really is one, and that too few
// points lie on where that is the reason given.
func checkUncut(t *testing.T, b *brute, err error) {
	t.Helper()
	var u *Uncut
	if !errors.As(err, &u) {
		t.Errorf("Solve = %v, want an uncut path", err)
		return
	}
	var used uint32
	for i, v := range u.Path {
		if used>>v&1 != 0 || i > 0 && b.next[u.Path[i-1]]>>v&1 == 0 {
			t.Errorf("uncut path = %v, want a simple path of the plant", u.Path)
			return
		}
		used |= 1 << v
	}
	first, last := u.Path[0], u.Path[len(u.Path)-1]
	if u.Kept != slices.ContainsFunc(b.p.Keeps, func(k Keep) bool {
		return slices.Contains(k.From, first) && slices.Contains(k.To, last)
	}) && (u.Kept || b.zone>>last&1 == 0) {
		t.Errorf("uncut path = %v, kept %v, and no keep asks that", u.Path, u.Kept)
	}
	if !u.Kept && b.zone>>last&1 == 0 {
		t.Errorf("uncut path = %v, want it to end at the work %b", u.Path, b.zone)
	}
	if u.Bleed || u.Exhausted {
		return
	}
	for _, s := range b.p.Sources {
		if s.Vertex == first && (s.Demand.layers() == u.Need || u.Kept) {
			bp := brutePath{s.Demand, u.Path, used & b.points}
			if u.Kept {
				bp.demand = Single
			}
			if pointsInOrder(b, &bp) == u.Have && u.Have < u.Need {
				return
			}
		}
	}
	t.Errorf("uncut path = %v with %d of %d points, want a path that has so many", u.Path, u.Have, u.Need)
}

// pointsInOrder counts how many of the two layers a path can fill.
func pointsInOrder(b *brute, bp *brutePath) int {
	have := 0
	for _, v := range bp.vertices {
		wanted := Valve
		if bp.demand == BlankBehind {
			wanted <<= have
		}
		if b.points>>v&1 != 0 && b.kind(v)&wanted != 0 && have < bp.demand.layers() {
			have++
		}
	}
	return have
}

// toWork is, per vertex, the fewest points of x met on the way to the work, at
// most 2; a vertex of x isn't counted on its own behalf.
func (b *brute) toWork(x uint32) []int {
	d := make([]int, b.p.N)
	for v := range d {
		d[v] = 2
		if b.zone>>v&1 != 0 {
			d[v] = 0
		}
	}
	for changed := true; changed; {
		changed = false
		for v := range d {
			for w := range d {
				if b.next[v]>>w&1 == 0 {
					continue
				}
				if via := d[w] + int(x>>w&1); via < d[v] {
					d[v], changed = via, true
				}
			}
		}
	}
	return d
}

// checkNearest wants every other cheapest set to be no nearer the work than the
// one found, anywhere.
func checkNearest(t *testing.T, b *brute, sol Solution, want bruteBest) {
	t.Helper()
	for _, s := range b.p.Sources {
		if s.Demand == BlankBehind {
			return
		}
	}
	layers := sol.Flow.Layers
	got := b.toWork(maskOf(sol.Chosen))
	for _, x := range want.sets {
		for v, d := range b.toWork(x) {
			if b.points>>v&1 == 0 && min(got[v], layers) < min(d, layers) {
				t.Errorf("set %v is not the nearest to the work: %b leaves vertex %d farther", sol.Chosen, x, v)
				return
			}
		}
	}
}

// checkLabels wants labels that meet the inequalities of the layered cut, with
// each chosen point raising its label by one.
func checkLabels(t *testing.T, b *brute, sol Solution) {
	t.Helper()
	k := uint8(sol.Flow.Layers)
	x := maskOf(sol.Chosen)
	for v, l := range sol.Labels {
		if b.zone>>v&1 != 0 && l != k || l > k {
			t.Errorf("label of vertex %d = %d, want %d at the work", v, l, k)
		}
		for w, lw := range sol.Labels {
			if b.next[v]>>w&1 == 1 && x>>v&1 == 0 && b.points>>w&1 == 0 && b.points>>v&1 == 0 && lw > l {
				t.Errorf("label rises from %d at %d to %d at %d without a point", l, v, lw, w)
			}
		}
	}
	for _, s := range b.p.Sources {
		if int(sol.Labels[s.Vertex]) > int(k)-s.Demand.layers() {
			t.Errorf("label of source %d = %d, want at most %d", s.Vertex, sol.Labels[s.Vertex], int(k)-s.Demand.layers())
		}
	}
	for i, v := range sol.Chosen {
		if want := k == 2 && sol.Labels[v] == 0; sol.Outer[i] != want {
			t.Errorf("Outer of point %d = %v, want %v with label %d", v, sol.Outer[i], want, sol.Labels[v])
		}
	}
}

func TestVerifyAgreesWithTheDefinition(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 4))
	yes := 0
	for range 1500 {
		p := randomPlant(r, mix{points: 8, demands: []Demand{Single, Double, Bled, BlankBehind, None},
			kinds: r.IntN(
				2,
			) == 0, joints: true, bleeds: r.IntN(4) > 0, needs: r.IntN(2) == 0, oneWay: r.IntN(2) == 0, gaps: r.IntN(2) == 0})
		b := newBrute(p)
		b.eachSet(func(x uint32) {
			var set []int32
			for v := range int32(p.N) {
				if x>>v&1 != 0 {
					set = append(set, v)
				}
			}
			got, want := Verify(p, set) == nil, b.meets(x)
			if got != want {
				t.Fatalf("Verify(%v) accepts = %v, want %v; plant %#v", set, got, want, p)
			}
			if want {
				yes++
			}
		})
	}
	if yes < 1000 {
		t.Errorf("accepted sets = %d, want enough of them to mean something", yes)
	}
}
