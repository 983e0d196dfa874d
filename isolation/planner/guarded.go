package planner

import (
	"errors"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/cut"
	"stillwatch/isolation/graph"
)

// A point that other permits share is as good as any: both hang their locks on it. But one that stands behind another
// permit's boundary is not proved by anything that this permit can do: nothing presses on it until that boundary is
// lifted, and then this work is open. So it counts only where the plan holds that boundary too. (Own reasoning, after
// the rule that isolation is verified: 29 CFR 1910.147(d)(6).)

// heldShut returns the permits that hold a point in the position in which it isolates.
func (k *task) heldShut() map[int32]string {
	out := map[int32]string{}
	for _, h := range k.facts.Held {
		i := k.Number(h.Point)
		if i < 0 || k.At(i).Kind == isolation.Opening || h.Position != k.At(i).Kind.Isolating() {
			continue
		}
		if _, has := out[i]; !has {
			out[i] = h.Permit
		}
	}
	return out
}

// unproved lists the points on which nothing presses, other than through the work, only because of what other permits
// hold and these points lack.
func (k *task) unproved(points []int32) []int32 {
	held := k.heldShut()
	if len(held) == 0 {
		return nil
	}
	sources := k.allSources()
	others := k.othersOnly(points)
	reach := graph.Flood(k.Out, sources, func(i int32) bool { return others(i) || k.InZone[i] })
	ever := graph.Flood(k.Out, sources, func(i int32) bool { return k.InZone[i] })
	return slices.DeleteFunc(slices.Clone(points), func(i int32) bool { return held[i] != "" || reach[i] || !ever[i] })
}

// othersOnly tells the points that others hold shut and that are not among points.
func (k *task) othersOnly(points []int32) func(int32) bool {
	held, own := k.heldShut(), k.Marks(points)
	return func(i int32) bool { return held[i] != "" && !own[i] }
}

// guards lists the points of others that keep everything from the unproved ones.
func (k *task) guards(bad, points []int32) []int32 {
	others := k.othersOnly(points)
	var out []int32
	for i, seen := range graph.Flood(k.In, bad, func(i int32) bool { return others(i) || k.InZone[i] }) {
		if seen && others(int32(i)) {
			out = append(out, int32(i))
		}
	}
	return out
}

func (k *task) allSources() []int32 {
	var out []int32
	for i := range k.Plant.Nodes {
		if k.Plant.Nodes[i].Kind == isolation.Source {
			out = append(out, int32(i))
		}
	}
	return out
}

// proving returns what makes points on which nothing presses count: one of the points of others that keep everything
// from them, held by the plan too. nil where no other permit holds anything.
func (k *task) proving(t terms) func(points []int32) []cut.Need {
	if len(k.heldShut()) == 0 {
		return nil
	}
	return func(points []int32) []cut.Need {
		var out []cut.Need
		for _, i := range k.unproved(points) {
			guards := slices.DeleteFunc(k.guards([]int32{i}, points), func(g int32) bool { return !k.usable(g) || t.forbid[g] })
			out = append(out, cut.Need{If: i, OneOf: guards})
		}
		return out
	}
}

// errNone says in a sentence why there is no set of points where no one way is to blame.
type errNone string

func (e errNone) Error() string { return string(e) }

// The reasons of errNone.
const (
	errGuarded errNone = "Every set of points relies on some behind another permit's boundary, on which nothing presses " +
		"until it is lifted."
	errTight errNone = "No set of points lets every line down before its joint is broken."
	errLong  errNone = "The search for a set of points was stopped before it had found any; there may be one."
)

// choose finds the least set of points, see chooseFreely, that relies on none behind another permit's boundary which
// the set does not hold itself. It returns a *cut.Uncut with a way that cannot be cut, or an errNone.
func (k *task) choose(t terms) (choice, error) {
	p := k.problem(t)
	c, err := k.chooseFreely(p)
	if errors.Is(err, cut.ErrUndecided) {
		return c, errLong
	}
	var uncut *cut.Uncut
	if !errors.As(err, &uncut) || !uncut.Bleed && !uncut.Exhausted {
		return c, err
	}
	// Nothing does: it is told which of the conditions that bear on no one way is to blame.
	if p.Further != nil {
		p.Further = nil
		if _, free := k.chooseFreely(p); free == nil {
			return c, errGuarded
		}
	}
	for i := range p.Counts {
		p.Counts[i] &^= cut.Joint
	}
	if _, free := k.chooseFreely(p); free == nil {
		return c, errTight
	}
	return c, err
}
