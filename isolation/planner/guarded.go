package planner

import (
	"errors"
	"maps"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/cut"
	"stillwatch/isolation/envelope"
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

// choose finds the least set of points, see chooseFreely, that relies on none behind another permit's boundary which
// the set does not hold itself. Where the least set does, the better of two is taken: the least without such points,
// and the first together with the boundary. The bound stays the first one's.
func (k *task) choose(t terms) (choice, error) {
	first, err := k.chooseFreely(t)
	if err != nil || len(k.unproved(first.points)) == 0 {
		return first, err
	}
	best, found := k.sharingBoundary(t, first)
	without := terms{forbid: maps.Clone(t.forbid), free: t.free}
	if without.forbid == nil {
		without.forbid = map[int32]bool{}
	}
	for _, i := range k.unproved(k.everyPoint()) {
		without.forbid[i] = true
	}
	second, err := k.chooseFreely(without)
	if err == nil && len(k.unproved(second.points)) == 0 && (!found || second.lost.less(best.lost) ||
		second.lost == best.lost && second.cost <= best.cost) {
		best, found = second, true
	}
	if !found {
		return choice{}, errGuarded
	}
	best.bound, best.unique = min(first.bound, best.cost), false
	best.exact, best.plain = best.bound == best.cost, min(first.plain, best.cost)
	return best, nil
}

// everyPoint lists what a plan could close and no other permit holds shut.
func (k *task) everyPoint() []int32 {
	held := k.heldShut()
	var out []int32
	for i := range k.Plant.Nodes {
		if v := int32(i); held[v] == "" && k.usable(v) {
			out = append(out, v)
		}
	}
	return out
}

// sharingBoundary adds the boundary to a set, and takes away what is then not needed.
func (k *task) sharingBoundary(t terms, first choice) (choice, bool) {
	points := slices.Clone(first.points)
	for bad := k.unproved(points); len(bad) > 0; bad = k.unproved(points) {
		more := slices.DeleteFunc(k.guards(bad, points), func(i int32) bool { return !k.usable(i) || t.forbid[i] })
		if len(more) == 0 {
			return choice{}, false
		}
		points = append(points, more...)
	}
	slices.Sort(points)
	if k.holds(t, points) != nil {
		return choice{}, false
	}
	for _, i := range first.points {
		less := slices.DeleteFunc(slices.Clone(points), func(j int32) bool { return j == i })
		if k.holds(t, less) == nil {
			points = less
		}
	}
	out := first
	out.points, out.cost, out.outer = points, int64(len(points)), maps.Clone(first.outer)
	out.lost = k.tollOf(points)
	for _, w := range k.Sources {
		for _, i := range points {
			if envelope.Need(w.Rule.Demand) == 2 && k.At(i).Kind != isolation.Blank && k.At(i).Kind != isolation.Spool &&
				k.Stages(w, k.Marks(points))[0][i] {
				out.outer[i] = true
			}
		}
	}
	return out, true
}

var errUnheld = errors.New("the points do not hold")

// holds reports by an error that a set of points is no isolation.
func (k *task) holds(t terms, points []int32) error {
	away := map[int32]bool{}
	for _, s := range k.withSupplies(points) {
		if !slices.Contains(points, s) {
			return errUnheld // an automatic valve without its supply
		}
		away[s] = true
	}
	p := k.problem(t, away, k.large())
	if !k.deadDrains(p, points) || len(k.tight(points)) > 0 || len(k.unproved(points)) > 0 {
		return errUnheld
	}
	return cut.Verify(p, points)
}
