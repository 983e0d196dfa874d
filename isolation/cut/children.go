package cut

import "slices"

// expand opens the children of a node whose cut doesn't do.
func (b *branching) expand(a *node) {
	a.done, b.cheapest = true, nil
	b.load(a, b.sources)
	b.close(a.chosen)
	path, d, _ := b.witness.find()
	switch {
	case path != nil && b.drains(d):
		b.childrenDrain(a, path)
	case path != nil && d == Single:
		b.childrenSingle(a, path)
	case path != nil:
		b.childrenTwo(a, path, d)
	case b.services != nil:
		b.services.children(b, a)
	}
}

// pointsOn returns the positions on the path of points that may be closed
// under the loaded decisions.
func (b *branching) pointsOn(path []int32) []int {
	var at []int
	for i, v := range path {
		if p := b.n.at[v]; p < 0 && b.n.link[^p].state != open {
			at = append(at, i)
		}
	}
	return at
}

// decide appends a decision on v unless it is made already; false if the
// opposite is.
func (b *branching) decide(made []decision, v int32, state uint8) ([]decision, bool) {
	link := ^b.n.at[v]
	switch b.n.link[link].state {
	case usual:
		return append(made, decision{link, state}), true
	case state:
		return made, true
	}
	return made, false
}

// A cut that takes blanks for any points may fall short of a demand for one or
// two points too: then what is to be closed is named by its kind.

// childrenSingle: on the path some valve is the first to be closed.
func (b *branching) childrenSingle(a *node, path []int32) {
	at := b.valvesOn(path)
	for x, i := range at {
		made, ok := b.decide(nil, path[i], closed)
		for y := 0; y < x && ok; y++ {
			made, ok = b.decide(made, path[at[y]], open)
		}
		if ok {
			b.consider(&node{parent: a, made: made})
			b.load(a, b.sources)
		}
	}
}

// childrenTwo: on the path some valve is the first to be closed and some point
// beyond it the last, a blank where one is demanded, else a valve. Every set
// that meets the demand has one such pair.
func (b *branching) childrenTwo(a *node, path []int32, d Demand) {
	inner := Valve
	if d == BlankBehind {
		inner = Blank
	}
	at := b.pointsOn(path)
	for x, i := range at {
		if b.n.p.counts(path[i])&Valve == 0 {
			continue
		}
		for y := x + 1; y < len(at); y++ {
			if b.n.p.counts(path[at[y]])&inner == 0 {
				continue
			}
			if made, ok := b.firstAndLast(path, at, [2]int{x, y}, inner); ok {
				b.consider(&node{parent: a, made: made})
				b.load(a, b.sources)
			}
		}
	}
}

// valvesOn returns the positions on the path of valves that may be closed under
// the loaded decisions.
func (b *branching) valvesOn(path []int32) []int {
	return slices.DeleteFunc(b.pointsOn(path), func(i int) bool { return b.n.p.counts(path[i])&Valve == 0 })
}

// firstAndLast decides that the first of the pair is the first closed valve and
// the second the last closed point of the inner kind.
func (b *branching) firstAndLast(path []int32, at []int, pair [2]int, inner Counts) (made []decision, ok bool) {
	x, y := pair[0], pair[1]
	for k, i := range at {
		v, state := path[i], usual
		kind := b.n.p.counts(v)
		switch {
		case k == x || k == y:
			state = closed
		case k < x && kind&Valve != 0 || k > y && kind&inner != 0:
			state = open
		default:
			continue
		}
		if made, ok = b.decide(made, v, state); !ok {
			return nil, false
		}
	}
	return made, true
}

// childrenDrain: some two valves on the path are closed with none between, and
// the stretch between reaches an opening. If such a stretch is decided already
// but doesn't reach one, one of the points in its way must be open.
func (b *branching) childrenDrain(a *node, path []int32) {
	for c := a; c != nil; c = c.parent {
		if c.stretch != nil && !b.anyVented(c.stretch) {
			b.childrenVent(a, c.stretch)
			return
		}
	}
	at := b.valvesOn(path)
	for x := range at {
		for y := x + 1; y < len(at); y++ {
			if b.barredBetween(path, at[x+1:y]) {
				break
			}
			stretch := path[at[x]+1 : at[y]]
			if !b.mayReachVent(stretch, path[at[x]], path[at[y]]) {
				continue
			}
			if made, ok := b.pair(path, at, x, y); ok {
				b.consider(&node{parent: a, made: made, stretch: stretch})
				b.load(a, b.sources)
			}
		}
	}
}

// Children for pairs may overlap: a set may hold several pairs that fit. That
// costs time, not truth.

// barredBetween tells whether one of the points is decided closed.
func (b *branching) barredBetween(path []int32, at []int) bool {
	for _, i := range at {
		if b.n.link[^b.n.at[path[i]]].state == closed {
			return true
		}
	}
	return false
}

// pair decides that x and y are closed and the valves between open.
func (b *branching) pair(path []int32, at []int, x, y int) (made []decision, ok bool) {
	for k := x; k <= y; k++ {
		state := open
		if k == x || k == y {
			state = closed
		}
		if made, ok = b.decide(made, path[at[k]], state); !ok {
			return nil, false
		}
	}
	return made, true
}

// anyVented tells whether an opening is within reach of the stretch, with the
// points of the cut at hand closed.
func (b *branching) anyVented(stretch []int32) bool {
	for _, v := range stretch {
		if b.witness.vented[v] {
			return true
		}
	}
	return false
}

// childrenVent opens one child for each undecided closed point that the
// stretch meets: it is open, those before it stay closed.
func (b *branching) childrenVent(a *node, stretch []int32) {
	met, _ := b.spread(stretch, func(v int32) bool { return b.witness.closed[v] })
	var before []decision
	for _, v := range met {
		if b.n.link[^b.n.at[v]].state != usual {
			continue
		}
		link := ^b.n.at[v]
		made := append(append([]decision(nil), before...), decision{link, open})
		before = append(before, decision{link, closed})
		b.consider(&node{parent: a, made: made})
		b.load(a, b.sources)
		b.close(a.chosen)
	}
}

// mayReachVent tells whether the stretch between two points could reach an
// opening: only the two and what is decided closed stand in the way.
func (b *branching) mayReachVent(stretch []int32, from, to int32) bool {
	_, vent := b.spread(stretch, func(v int32) bool {
		p := b.n.at[v]
		return v == from || v == to || p < 0 && b.n.link[^p].state == closed
	})
	return vent
}

// An opening that the stretch can't reach is parted from it by closed points. On
// any way to it the first of them is met from the stretch directly, so if the
// stretch is to reach an opening, one of those met must be open.

// spread goes from the stretch wherever flow can, short of what is barred. It
// returns the barred vertices met and whether an opening was.
func (b *branching) spread(stretch []int32, barred func(int32) bool) (met []int32, vent bool) {
	w := b.witness
	seen := make([]bool, w.p.N)
	var stack []int32
	visit := func(v int32) {
		if seen[v] {
			return
		}
		seen[v] = true
		if barred(v) {
			met = append(met, v)
			return
		}
		vent = vent || w.p.Vents[v]
		stack = append(stack, v)
	}
	for _, v := range stretch {
		visit(v)
	}
	for len(stack) > 0 {
		v := stack[len(stack)-1]
		stack = stack[:len(stack)-1]
		for _, u := range w.to[w.first[v]:w.first[v+1]] {
			visit(u)
		}
	}
	return met, vent
}
