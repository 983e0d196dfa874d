package cut

import "fmt"

// Check tells whether the certificate proves, for problem p, that no set costs
// less than c.Value: every leg lies on an edge, arc or point of p, nothing
// passes a point beyond its cost, nothing is lost or made on the way, it enters
// at sources in layers their demands allow, and Value of it arrives at the
// work. It shares nothing with the solver but the types. Takes O(N + edges).
func (c Certificate) Check(p Problem) error {
	k := &certCheck{p: p, layers: c.Layers, balance: map[Spot]*[2]int64{}, load: map[Spot]*[2]int64{},
		wanted: map[[2]Spot]bool{}}
	if err := k.prepare(); err != nil {
		return fmt.Errorf("certificate: %w", err)
	}
	total, err := k.enter(c.Inflows)
	if err != nil {
		return fmt.Errorf("certificate: %w", err)
	}
	if total != c.Value {
		return fmt.Errorf("certificate: %d enters, value is %d", total, c.Value)
	}
	for _, leg := range c.Legs {
		if err := k.carry(leg); err != nil {
			return fmt.Errorf("certificate: %w", err)
		}
	}
	if err := k.checkWays(); err != nil {
		return fmt.Errorf("certificate: %w", err)
	}
	if err := k.checkLoads(); err != nil {
		return fmt.Errorf("certificate: %w", err)
	}
	if err := k.checkBalance(c.Value); err != nil {
		return fmt.Errorf("certificate: %w", err)
	}
	return nil
}

// certCheck redraws the plant in its own way: sources and work that could be
// closed stay points here, without a limit, where the solver makes them part of
// the sections beside them; and it knows spots by name, not by number.
type certCheck struct {
	p       Problem
	layers  int
	group   []int32        // per vertex that can't be closed: the least of its section
	point   []bool         // per vertex: can be chosen
	zone    map[Spot]bool  // spots where flow may end
	demand  map[int32]bool // sources that have a demand of one layer
	deep    map[int32]bool // sources with a demand of two
	idle    map[int32]bool // sources without a demand
	plain   []bool         // reached by a single or double source
	blanks  bool           // some source has a blank demand
	balance map[Spot]*[2]int64
	load    map[Spot]*[2]int64 // by entry spot: what passes along the point
	wanted  map[[2]Spot]bool   // ways used and not yet seen in the plant
}

// prepare finds sections, zone and which points are judged by kind. Sources and
// work can't be chosen, so they belong to the sections here.
func (k *certCheck) prepare() error {
	if err := k.p.checkPlant(); err != nil {
		return err
	}
	if err := checkQuestion(k.p.N, k.p.Sources, k.p.Zone); err != nil {
		return err
	}
	k.point, k.group = make([]bool, k.p.N), make([]int32, k.p.N)
	for v := range k.point {
		k.point[v] = k.p.closable(int32(v))
		k.group[v] = int32(v)
	}
	for _, e := range k.p.edges() {
		if !k.point[e[0]] && !k.point[e[1]] {
			a, b := k.root(e[0]), k.root(e[1])
			k.group[max(a, b)] = min(a, b)
		}
	}
	want := 1
	k.demand, k.deep, k.idle, k.zone = map[int32]bool{}, map[int32]bool{}, map[int32]bool{}, map[Spot]bool{}
	for _, s := range k.p.Sources {
		switch s.Demand {
		case None:
			k.idle[s.Vertex] = true
		case Single:
			k.demand[s.Vertex] = true
		default:
			k.deep[s.Vertex], want = true, 2
		}
	}
	if k.layers != want {
		return fmt.Errorf("%d layers, want %d", k.layers, want)
	}
	for _, z := range k.p.Zone {
		if k.point[z] {
			k.zone[Spot{z, -1, Entry}], k.zone[Spot{z, -1, Exit}] = true, true
		} else {
			k.zone[Spot{k.root(z), -1, Whole}] = true
		}
	}
	k.spreadPlain()
	return nil
}

// root is the least vertex of v's section.
func (k *certCheck) root(v int32) int32 {
	for k.group[v] != v {
		k.group[v] = k.group[k.group[v]]
		v = k.group[v]
	}
	return v
}

// spreadPlain marks what single and double sources reach short of the work; it
// matters only where there are blank demands too.
func (k *certCheck) spreadPlain() {
	k.plain = make([]bool, k.p.N)
	var stack []int32
	for _, s := range k.p.Sources {
		if s.Demand == BlankBehind {
			k.blanks = true
		} else if s.Demand != None {
			k.plain[s.Vertex] = true
			stack = append(stack, s.Vertex)
		}
	}
	if !k.blanks {
		return
	}
	work := k.joinedToWork()
	out := make([][]int32, k.p.N)
	for _, e := range k.p.edges() {
		out[e[0]] = append(out[e[0]], e[1])
		out[e[1]] = append(out[e[1]], e[0])
	}
	for _, e := range k.p.Gaps {
		out[e[0]] = append(out[e[0]], e[1])
	}
	for len(stack) > 0 {
		u := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for _, w := range out[u] {
			if !work[u] && !k.plain[w] {
				k.plain[w] = true
				stack = append(stack, w)
			}
		}
	}
}

// joinedToWork marks what no point can part from the work: a demand must be met
// before it is reached, so what flows on from there asks for nothing more.
func (k *certCheck) joinedToWork() []bool {
	atWork := make(map[int32]bool)
	inZone := make(map[int32]bool)
	for _, z := range k.p.Zone {
		inZone[z] = true
		if !k.point[z] {
			atWork[k.root(z)] = true
		}
	}
	for _, e := range k.p.edges() {
		for i, z := range e {
			if w := e[1-i]; inZone[z] && !k.point[w] {
				atWork[k.root(w)] = true
			}
		}
	}
	work := make([]bool, k.p.N)
	for v := range work {
		work[v] = inZone[int32(v)] || !k.point[v] && atWork[k.root(int32(v))]
	}
	return work
}

// tidy brings a spot to the one name of its section.
func (k *certCheck) tidy(s Spot) (Spot, error) {
	inside := func(v int32) bool { return v >= 0 && int(v) < k.p.N }
	switch {
	case !inside(s.Vertex) || s.Other != -1 && !inside(s.Other) || s.Side > Exit:
		return s, fmt.Errorf("spot %v isn't in the plant", s)
	case s.Side != Whole && (s.Other != -1 || !k.point[s.Vertex]):
		return s, fmt.Errorf("spot %v is a side of what can't be closed", s)
	case s.Side == Whole && s.Other == -1 && k.point[s.Vertex]:
		return s, fmt.Errorf("spot %v names a point as a section", s)
	case s.Side == Whole && s.Other != -1 && (!k.point[s.Vertex] || !k.point[s.Other]):
		return s, fmt.Errorf("spot %v isn't between two points", s)
	case s.Side == Whole && s.Other == -1:
		s.Vertex = k.root(s.Vertex)
	}
	return s, nil
}

// enter books what enters. d(s) <= K-k fixes a source below layers K-k+1 to K, so
// flow may enter there: for a single source in the inner of two layers only.
func (k *certCheck) enter(inflows []Inflow) (int64, error) {
	total := int64(0)
	for _, f := range inflows {
		if f.Amount <= 0 || f.Amount > MaxCost-total {
			return 0, fmt.Errorf("%d enters at %d", f.Amount, f.Source)
		}
		total += f.Amount
		inner := int(f.Layer) == k.layers-1
		if int(f.Layer) >= k.layers || !(k.deep[f.Source] || inner && k.demand[f.Source]) {
			return 0, fmt.Errorf("flow enters at %d in layer %d, which its demand doesn't allow", f.Source, f.Layer)
		}
		spot := Spot{f.Source, -1, Exit}
		if !k.point[f.Source] {
			spot = Spot{k.root(f.Source), -1, Whole}
		}
		k.at(k.balance, spot)[f.Layer] += f.Amount
	}
	return total, nil
}

// at is the account of a spot, one sum for each layer.
func (k *certCheck) at(m map[Spot]*[2]int64, s Spot) *[2]int64 {
	if m[s] == nil {
		m[s] = new([2]int64)
	}
	return m[s]
}

// carry books one leg. Only along a point, from its entry to its exit in one
// layer, is flow limited; rising at the point to the next layer is what says
// that the point counts once, and is free. Amounts are held far below overflow.
func (k *certCheck) carry(leg Leg) error {
	from, err := k.tidy(leg.From)
	if err != nil {
		return err
	}
	to, err := k.tidy(leg.To)
	if err != nil {
		return err
	}
	out := leg.Layer
	if leg.Up {
		out++
	}
	if leg.Amount <= 0 || leg.Amount > MaxCost || int(out) >= k.layers {
		return fmt.Errorf("leg %v has amount or layer out of range", leg)
	}
	through := from.Side == Entry && to == (Spot{from.Vertex, -1, Exit})
	if leg.Up && !through {
		return fmt.Errorf("leg %v rises elsewhere than at a point", leg)
	}
	if through && !leg.Up {
		load := k.at(k.load, from)
		if load[leg.Layer] += leg.Amount; load[leg.Layer] > MaxCost {
			return fmt.Errorf("leg %v is too much", leg)
		}
	}
	if !through {
		k.wanted[[2]Spot{from, to}] = true
	}
	if k.at(k.balance, from)[leg.Layer] -= leg.Amount; k.balance[from][leg.Layer] < -2*MaxCost {
		return fmt.Errorf("leg %v is too much", leg)
	}
	if k.at(k.balance, to)[out] += leg.Amount; k.balance[to][out] > 2*MaxCost {
		return fmt.Errorf("leg %v is too much", leg)
	}
	return nil
}

// Inside a section flow gets anywhere without a limit, so only the ways from one
// spot to the next have to be found in the plant.

// checkWays strikes out each used way that the plant has.
func (k *certCheck) checkWays() error {
	side := func(v int32, s Side) Spot {
		if k.point[v] {
			return Spot{v, -1, s}
		}
		return Spot{k.root(v), -1, Whole}
	}
	for _, e := range k.p.edges() {
		if k.point[e[0]] && k.point[e[1]] {
			between := Spot{min(e[0], e[1]), max(e[0], e[1]), Whole}
			for _, v := range e {
				delete(k.wanted, [2]Spot{side(v, Exit), between})
				delete(k.wanted, [2]Spot{between, side(v, Entry)})
			}
			continue
		}
		delete(k.wanted, [2]Spot{side(e[0], Exit), side(e[1], Entry)})
		delete(k.wanted, [2]Spot{side(e[1], Exit), side(e[0], Entry)})
	}
	for _, e := range k.p.Gaps {
		delete(k.wanted, [2]Spot{side(e[0], Exit), side(e[1], Entry)})
	}
	for way := range k.wanted {
		return fmt.Errorf("the plant has no way from %v to %v", way[0], way[1])
	}
	return nil
}

// checkLoads holds what passes along a point to its cost. A source, the work,
// and a point that can't serve in the layer can't be chosen: no limit.
func (k *certCheck) checkLoads() error {
	for spot, load := range k.load {
		v := spot.Vertex
		if k.demand[v] || k.deep[v] || k.idle[v] || k.zone[spot] {
			continue
		}
		for l, f := range load {
			serves := k.p.counts(v)&Valve != 0
			if k.blanks {
				serves = k.plain[v] || k.p.counts(v)&(Valve<<l) != 0
			}
			if serves && f > k.p.Cost[v] {
				return fmt.Errorf("%d passes point %d in layer %d, its cost is %d", f, v, l, k.p.Cost[v])
			}
		}
	}
	return nil
}

// checkBalance holds what leaves each spot to what comes in. Within a spot flow
// may rise to the next layer, never fall.
func (k *certCheck) checkBalance(value int64) error {
	arrived := int64(0)
	for spot, b := range k.balance {
		if k.zone[spot] {
			arrived += b[0] + b[1]
			if b[0] < 0 || b[1] < 0 {
				return fmt.Errorf("flow leaves the work at %v", spot)
			}
			continue
		}
		if b[0] < 0 || b[0]+b[1] != 0 {
			return fmt.Errorf("flow is lost, made or falls a layer at %v", spot)
		}
	}
	if arrived != value {
		return fmt.Errorf("%d arrives at the work, value is %d", arrived, value)
	}
	return nil
}
