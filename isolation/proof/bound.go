package proof

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
)

// bound checks that no plan which this package would pass has fewer points than the plan says are needed: its ways lead
// along the plant's links from a source to the work, and all of them together cross no point with more than a point is
// worth, in either layer. Why that is enough stands at isolation.Bound. A plan without a bound may say nothing of
// fewer.
func (v *prover) bound() error {
	b := v.plan.Bound
	if b == nil {
		if v.plan.LowerBound != 0 {
			return fmt.Errorf("it says that at least %d points are needed and does not show why", v.plan.LowerBound)
		}
		return nil
	}
	if b.Scale < 1 || b.Scale > 1<<20 || len(b.Ways)+len(b.Kept) > 1<<16 {
		return fmt.Errorf("the bound's scale is %d with %d ways, which is no bound", b.Scale, len(b.Ways))
	}
	v.reliances()
	worth, err := v.worths(b)
	if err != nil {
		return err
	}
	loads := make([][2]int64, len(v.plant.Nodes))
	for i := range b.Ways {
		if err := v.load(&b.Ways[i], loads); err != nil {
			return fmt.Errorf("way %d of the bound: %w", i+1, err)
		}
	}
	for i := range b.Kept {
		if err := v.loadKept(&b.Kept[i], loads); err != nil {
			return fmt.Errorf("way %d of the bound to what is kept off: %w", i+1, err)
		}
	}
	for i, l := range loads {
		for layer := range l {
			if v.mayServe(int32(i), layer) && l[layer] > worth[i] {
				return fmt.Errorf("the bound's ways cross %s with %d, and it is worth %d", v.plant.Nodes[i].ID, l[layer], worth[i])
			}
		}
	}
	if v.plan.LowerBound != b.Points() {
		return fmt.Errorf("it says that at least %d points are needed, and its bound shows %d", v.plan.LowerBound, b.Points())
	}
	return nil
}

// worths returns what each node is worth as a point: the scale, but for automatic valves that are counted with their
// supplies. A valve takes over the worth of its supply once: no plan is passed that shuts it and not the supply.
func (v *prover) worths(b *isolation.Bound) ([]int64, error) {
	worth := make([]int64, len(v.plant.Nodes))
	for i := range worth {
		worth[i] = b.Scale
	}
	taken := map[isolation.NodeID]bool{}
	for _, id := range b.With {
		i := v.number(id)
		if i < 0 || v.plant.Nodes[i].Kind != isolation.AutomaticValve {
			return nil, fmt.Errorf("the bound counts %s with its supply, and it is no automatic valve", id)
		}
		s := v.number(v.plant.Nodes[i].Supply)
		if s < 0 || taken[v.plant.Nodes[i].Supply] {
			return nil, fmt.Errorf("the bound counts the supply of %s twice, or it has none", id)
		}
		taken[v.plant.Nodes[i].Supply] = true
		worth[i], worth[s] = 2*b.Scale-1, 1
	}
	return worth, nil
}

// load adds what a way carries to every node that it crosses, by layer. The node at which it rises is crossed in
// neither.
func (v *prover) load(w *isolation.BoundWay, loads [][2]int64) error {
	if len(w.Nodes) < 2 || w.Amount < 1 || w.Amount > 1<<32 || w.Rise < -1 || w.Rise >= len(w.Nodes) {
		return fmt.Errorf("%d nodes, rising at %d, amount %d: no way", len(w.Nodes), w.Rise, w.Amount)
	}
	last := int32(-1)
	for n, id := range w.Nodes {
		i := v.number(id)
		switch {
		case i < 0:
			return fmt.Errorf("the plant has no %s", id)
		case n == 0 && !v.mayBegin(i, w.Rise):
			return fmt.Errorf("it begins at %s, whose demand does not allow that", id)
		case n > 0 && !slices.Contains(v.next[last], i):
			return fmt.Errorf("the plant has no link from %s to %s", v.plant.Nodes[last].ID, id)
		case n == len(w.Nodes)-1 && !v.work[i]:
			return fmt.Errorf("it ends at %s, which is not opened", id)
		}
		last = i
		switch {
		case n < w.Rise:
			loads[i][0] += w.Amount
		case n > w.Rise:
			loads[i][1] += w.Amount
		}
	}
	return nil
}

// loadKept adds what a way to a part that is kept off carries to every node that it crosses, in both layers: whichever
// of them a point serves, it serves this way too or the others.
func (v *prover) loadKept(w *isolation.BoundWay, loads [][2]int64) error {
	if len(w.Nodes) < 2 || w.Amount < 1 || w.Amount > 1<<32 || w.Rise != -1 {
		return fmt.Errorf("%d nodes, rising at %d, amount %d: no way", len(w.Nodes), w.Rise, w.Amount)
	}
	first, last := v.number(w.Nodes[0]), v.number(w.Nodes[len(w.Nodes)-1])
	if !slices.ContainsFunc(v.kept, func(h keptOff) bool { return h.node == last && slices.Contains(h.from, first) }) {
		return fmt.Errorf("nothing keeps %s from %s", w.Nodes[len(w.Nodes)-1], w.Nodes[0])
	}
	for n, id := range w.Nodes {
		i := v.number(id)
		if i < 0 || n > 0 && !slices.Contains(v.next[v.number(w.Nodes[n-1])], i) {
			return fmt.Errorf("the plant has no way on to %s", id)
		}
		loads[i][0] += w.Amount
		loads[i][1] += w.Amount
	}
	return nil
}

// mayBegin reports whether a way may begin at a node: at a source that must be cut twice in any layer, at one that must
// be cut once in the inner one.
func (v *prover) mayBegin(i int32, rise int) bool {
	demand, is := v.asked[i]
	return is && (rise < 0 || demand != isolation.DemandSingle)
}

// mayServe reports whether some plan could make the passage of a layer at a node. What is no point, or may not be
// relied on, is in no plan. A blank or spool serves the inner layer of a blank demand alone; behind it everything else
// serves only what a single or double demand asks for.
func (v *prover) mayServe(i int32, layer int) bool {
	if !v.reliable[i] {
		return false
	}
	if v.plant.Nodes[i].Kind.IsBlanking() {
		return layer == 1 && v.blanks
	}
	return layer == 0 || !v.blanks || v.plainly[i]
}

// reliances marks what a plan may shut and rely on, and where sources come that ask for a single or a double cut.
func (v *prover) reliances() {
	v.reliable = make([]bool, len(v.plant.Nodes))
	for i := range v.plant.Nodes {
		n := &v.plant.Nodes[i]
		step := isolation.Step{Point: n.ID, Lock: n.Lockable, Measure: n.Measure}
		if n.Kind == isolation.AutomaticValve {
			step.Measure = "its supply is isolated"
		}
		v.reliable[i] = !v.work[i] && v.isolates(&step, n) == nil && (n.Kind != isolation.AutomaticValve || stays(n))
	}
	var plain []int32
	for s, demand := range v.asked {
		if demand == isolation.DemandBlank {
			v.blanks = true
		} else {
			plain = append(plain, s)
		}
	}
	v.plainly = v.spread(v.next, plain, func(i int32) bool { return v.work[i] })
}
