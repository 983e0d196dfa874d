package planner

import (
	"errors"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/cut"
	"stillwatch/isolation/graph"
)

// mostRounds is how often withDeadDrains mends an answer before it gives up on one of its two ways.
const mostRounds = 8

// errUnmended says that no set with drains that can be opened was found from one answer. It does not mean that none is.
var errUnmended = errors.New("no set of points was found whose drains between two points can be opened")

// withDeadDrains sees to it that the drain between the two points of a double can be opened: a drain that some other
// source can come to would run for ever, and proves nothing. The solver knows nothing of this, so an answer that relies
// on such drains is mended in two ways, and the cheaper is taken: without those drains; or with the sources that come
// to them cut as a double too. Both are sound; the bound stays that of the first answer, so a dearer plan does not
// claim to be the least. Returns a *cut.Uncut where neither way leads anywhere.
func (k *task) withDeadDrains(p cut.Problem, s cut.Solution) (cut.Solution, error) {
	if k.deadDrains(p, s.Chosen) {
		return s, nil
	}
	without, errWithout := k.mend(p, s, k.dropLive)
	if errWithout == nil && without.Cost == s.Cost { // the other way cannot be cheaper
		without.Bound, without.Unique = s.Bound, false
		return without, nil
	}
	stricter, errStricter := k.mend(p, s, k.raiseLive)
	switch {
	case errWithout != nil && errStricter != nil:
		var u *cut.Uncut
		if errors.As(errWithout, &u) {
			u.Drain = true
		}
		return s, errWithout
	case errWithout != nil || errStricter == nil && stricter.Cost < without.Cost:
		without = stricter
	}
	without.Bound = s.Bound
	without.Unique = false
	return without, nil
}

// mend changes the question until the answer relies on dead drains only.
func (k *task) mend(p cut.Problem, s cut.Solution, change func(*cut.Problem, []int32)) (cut.Solution, error) {
	var err error
	for range mostRounds {
		change(&p, s.Chosen)
		if s, err = solve(p); err != nil {
			return s, err
		}
		if k.deadDrains(p, s.Chosen) {
			return s, nil
		}
	}
	return s, errUnmended
}

// deadDrains reports whether chosen still meets every demand when only drains that no source can come to count, and
// for what flows only drains, not breaks in cables.
func (k *task) deadDrains(p cut.Problem, chosen []int32) bool {
	if p.Vents == nil {
		return true
	}
	chosen = k.withSupplies(chosen)
	p.Vents = slices.Clone(p.Vents)
	for i, live := range k.Live(k.Marks(chosen)) {
		p.Vents[i] = p.Vents[i] && !live
	}
	if cut.Verify(p, chosen) != nil {
		return false
	}
	for i := len(k.Plant.Nodes); i < p.N; i++ {
		p.Vents[i] = false
	}
	p.Sources = slices.DeleteFunc(slices.Clone(p.Sources),
		func(s cut.Source) bool { return !k.At(s.Vertex).Energy.Flows() })
	return cut.Verify(p, chosen) == nil
}

// withSupplies adds the motive supplies of the automatic valves among some points: they are shut with them, and a
// supply that is itself in the line parts what stands between two points.
func (k *task) withSupplies(points []int32) []int32 {
	out := slices.Clone(points)
	for _, i := range points {
		if s := k.Number(k.At(i).Supply); k.At(i).Kind == isolation.AutomaticValve && !slices.Contains(out, s) {
			out = append(out, s)
		}
	}
	return out
}

// liveBetween lists the openings that stand between the points of a double and that a source can come to.
func (k *task) liveBetween(p *cut.Problem, chosen []int32) []int32 {
	shut := k.Marks(k.withSupplies(chosen))
	live := k.Live(shut)
	var out []int32
	for _, w := range k.Sources {
		if w.Rule.Demand != isolation.DemandDouble {
			continue
		}
		for i, is := range k.Between(w, shut) {
			if is && live[i] && p.Vents[i] {
				out = append(out, int32(i))
			}
		}
	}
	return out
}

// dropLive lets the live openings between two points no longer count.
func (k *task) dropLive(p *cut.Problem, chosen []int32) {
	p.Vents = slices.Clone(p.Vents)
	between := k.liveBetween(p, chosen)
	for _, o := range between {
		p.Vents[o] = false
	}
	if len(between) == 0 { // then a break in a cable was taken for a drain
		for i := len(k.Plant.Nodes); i < p.N; i++ {
			p.Vents[i] = false
		}
	}
}

// raiseLive demands a double of every source that can come to a live opening between two points.
func (k *task) raiseLive(p *cut.Problem, chosen []int32) {
	shut := k.Marks(k.withSupplies(chosen))
	reach := graph.Flood(k.In, k.liveBetween(p, chosen), func(i int32) bool { return shut[i] })
	p.Sources = slices.Clone(p.Sources)
	for i := range p.Sources {
		if v := p.Sources[i].Vertex; reach[v] && p.Sources[i].Demand == cut.Single {
			p.Sources[i].Demand = cut.Double
		}
	}
}
