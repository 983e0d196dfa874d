package cut

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/graph"
	"gonum.org/v1/gonum/graph/network"
	"gonum.org/v1/gonum/graph/simple"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize/convex/lp"
)

// plainMix is what a layered cut decides alone.
var plainMix = mix{points: 12, demands: []Demand{Single, Double}, gaps: true}

func TestCostIsTheMaximumFlowOfAnotherProgram(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(11, 12))
	compared := 0
	for range 1500 {
		p := randomPlant(r, plainMix)
		sol, err := Solve(p)
		if err != nil {
			continue
		}
		compared++
		if got := outsideFlow(p); got != float64(sol.Cost) {
			t.Fatalf("maximum flow = %v, want the cost %d; plant %#v", got, sol.Cost, p)
		}
	}
	s := newShip(3000, 9)
	s.p.Zone = s.work(60)
	sol, err := Solve(s.p)
	if err != nil {
		t.Fatal(err)
	}
	if got := outsideFlow(s.p); got != float64(sol.Cost) {
		t.Errorf("maximum flow of a ship = %v, want the cost %d", got, sol.Cost)
	}
	if compared < 500 {
		t.Errorf("plants compared = %d, want at least 500", compared)
	}
}

// outsideFlow is the maximum flow by gonum.
func outsideFlow(p Problem) float64 {
	net := writeOut(p)
	g := simple.NewWeightedDirectedGraph(0, 0)
	for i := range net.nodes {
		g.AddNode(simple.Node(i))
	}
	for _, a := range net.arcs {
		if a.from == a.to {
			continue
		}
		w := float64(a.capacity)
		if e := g.WeightedEdge(int64(a.from), int64(a.to)); e != nil {
			w += e.Weight()
		}
		g.SetWeightedEdge(g.NewWeightedEdge(simple.Node(a.from), simple.Node(a.to), w))
	}
	var s, z graph.Node = simple.Node(net.source), simple.Node(net.sink)
	return network.MaxFlowDinic(g, s, z, 1e-9)
}

func TestCostIsTheOptimumOfTheLinearProgramme(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(21, 22))
	compared := 0
	for range 400 {
		p := randomPlant(r, mix{points: 6, demands: []Demand{Single, Double}, gaps: true})
		sol, err := Solve(p)
		if err != nil {
			continue
		}
		got, err := outsideOptimum(p)
		if err != nil {
			t.Fatalf("simplex gave up: %v; plant %#v", err, p)
		}
		compared++
		if math.Abs(got-float64(sol.Cost)) > 1e-6 {
			t.Fatalf("linear programme = %v, want the cost %d; plant %#v", got, sol.Cost, p)
		}
	}
	if compared < 150 {
		t.Errorf("plants compared = %d, want at least 150", compared)
	}
}

// programme collects rows "sum of terms <= bound".
type programme struct {
	columns int
	cost    []float64
	rows    []map[int]float64
	bounds  []float64
}

func (m *programme) column(cost float64) int {
	m.cost = append(m.cost, cost)
	m.columns++
	return m.columns - 1
}

func (m *programme) atMost(bound float64, terms map[int]float64) {
	m.rows = append(m.rows, terms)
	m.bounds = append(m.bounds, bound)
}

// outsideOptimum solves the linear programme by gonum's simplex: potentials at
// both sides of each vertex that fall by at most x over a point and not at all
// over an edge, in [0, K], at most K-k at a source and K at the work. To have
// the start feasible they are counted from the work: e = K - d.
func outsideOptimum(p Problem) (float64, error) {
	layers := 1
	for _, s := range p.Sources {
		layers = max(layers, s.Demand.layers())
	}
	fixed := make([]bool, p.N)
	need := make([]int, p.N)
	for _, z := range p.Zone {
		fixed[z] = true
	}
	for _, s := range p.Sources {
		fixed[s.Vertex] = true
		need[s.Vertex] = max(need[s.Vertex], s.Demand.layers())
	}
	m := &programme{}
	in, out := make([]int, p.N), make([]int, p.N)
	for v := range p.N {
		in[v] = m.column(0)
		out[v] = in[v]
		m.atMost(float64(layers), map[int]float64{in[v]: 1})
		if p.Cost[v] > 0 && !fixed[v] {
			out[v] = m.column(0)
			x := m.column(float64(p.Cost[v]))
			m.atMost(0, map[int]float64{in[v]: 1, out[v]: -1, x: -1})
			m.atMost(1, map[int]float64{x: 1})
		}
		if need[v] > 0 {
			m.atMost(-float64(need[v]), map[int]float64{in[v]: -1})
		}
	}
	for _, z := range p.Zone {
		m.atMost(0, map[int]float64{in[z]: 1})
	}
	for _, e := range p.Edges {
		for i, u := range e {
			if w := e[1-i]; out[u] != in[w] {
				m.atMost(0, map[int]float64{out[u]: 1, in[w]: -1})
			}
		}
	}
	for _, e := range p.Gaps {
		m.atMost(0, map[int]float64{out[e[0]]: 1, in[e[1]]: -1})
	}
	return m.solve()
}

func (m *programme) solve() (float64, error) {
	a := mat.NewDense(len(m.rows), m.columns+len(m.rows), nil)
	for i, row := range m.rows {
		for j, c := range row {
			a.Set(i, j, c)
		}
		a.Set(i, m.columns+i, 1)
	}
	cost := append(append([]float64(nil), m.cost...), make([]float64, len(m.rows))...)
	best, _, err := lp.Simplex(cost, a, m.bounds, 1e-10, nil)
	return best, err
}
