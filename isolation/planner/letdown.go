package planner

import (
	"errors"
	"fmt"
	"slices"

	"stillwatch/isolation/cut"
	"stillwatch/isolation/envelope"
	"stillwatch/isolation/graph"
)

// A joint is broken for a blank or a spool only in a line that has been let down. So its step comes after the drains
// and vents, and until then the line is held by the valves alone: what counts for the drains is what is shut early.

// errTight says that no set was found with which every line can be let down before its joint is broken. It does not
// mean that none is.
var errTight = fmt.Errorf("no set of points was found with which every line can be let down before its joint is "+
	"broken: %w", errUnmended)

// errGuarded says that no set was found that does without points behind what only other permits hold.
var errGuarded = fmt.Errorf("no set of points was found that does without those behind another permit's boundary: %w",
	errUnmended)

// tight lists the blanks and spools among chosen whose joint cannot be broken safely: a source can come to it, or no
// drain or vent can be opened that lets its line down.
func (k *task) tight(chosen []int32) []int32 {
	shut := k.Marks(k.withSupplies(chosen))
	early, live := k.Early(shut), k.Live(shut)
	var out []int32
	for _, b := range chosen {
		if k.At(b).BreaksJoint() && (live[b] || len(k.OpeningsFrom(b, early, live)) == 0) {
			out = append(out, b)
		}
	}
	return out
}

// withLetDown sees to it that every line can be let down before its joint is broken. The solver knows nothing of this,
// so an answer with a tight joint is mended in two ways, and the cheaper is taken: without the blanks and spools in
// question; or without the valves that stand next to them. The bound stays that of the first answer. Returns errTight,
// or the way that is left uncut, where neither way leads anywhere.
func (k *task) withLetDown(p cut.Problem, s cut.Solution) (cut.Solution, error) {
	if len(k.tight(s.Chosen)) == 0 {
		return s, nil
	}
	best, err := k.loosen(p, s, func(bad, _ []int32) []int32 { return bad })
	if err != nil || best.Cost > s.Cost {
		if other, errOther := k.loosen(p, s, k.valvesBeside); err != nil || errOther == nil && other.Cost < best.Cost {
			best, err = other, errOther
		}
	}
	if err != nil {
		return s, errTight
	}
	best.Bound, best.Unique = s.Bound, false
	return best, nil
}

// loosen forbids points until no joint of the answer is tight.
func (k *task) loosen(p cut.Problem, s cut.Solution, forbid func(bad, chosen []int32) []int32) (cut.Solution, error) {
	for range mostRounds {
		bad := k.tight(s.Chosen)
		if len(bad) == 0 {
			return s, nil
		}
		p.Cost = slices.Clone(p.Cost)
		for _, v := range forbid(bad, s.Chosen) {
			p.Cost[v] = 0
		}
		var err error
		if s, err = solve(p); err != nil {
			return s, err
		}
		if s, err = k.withDeadDrains(p, s); err != nil {
			return s, err
		}
	}
	return s, errTight
}

// valvesBeside lists the chosen points at the edge of what is joined to some blanks or spools until their joints are
// broken.
func (k *task) valvesBeside(bad, chosen []int32) []int32 {
	early := k.Early(k.Marks(k.withSupplies(chosen)))
	stop := func(i int32) bool { return early[i] }
	to, from := graph.Flood(k.Out, bad, stop), graph.Flood(k.In, bad, stop)
	return slices.DeleteFunc(slices.Clone(chosen), func(i int32) bool { return !early[i] || !to[i] && !from[i] })
}

// unmended reports whether an error says only that nothing was found, and what.
func unmended(err error) (what string, is bool) {
	switch {
	case errors.Is(err, errTight):
		return "No set of points was found with which every line can be let down before its joint is broken.", true
	case errors.Is(err, errGuarded):
		return "No set of points was found that does without those behind another permit's boundary, on which nothing " +
			"presses until it is lifted.", true
	case errors.Is(err, errUnmended):
		return "No set of points was found whose drains between two points can be opened: other sources come to them.", true
	}
	return "", false
}

// jointWhy says what must be open before the joint at a blank or spool is broken: the nearest, and rather one that
// stands not beyond the work.
func (k *task) jointWhy(i int32, d envelope.DrawOff, early []bool) string {
	way := graph.WayTo(k.Out, []int32{i}, d.Has, func(j int32) bool { return early[j] || k.InZone[j] })
	if way == nil {
		way = graph.WayTo(k.Out, []int32{i}, d.Has, func(j int32) bool { return early[j] })
	}
	if way == nil {
		return ""
	}
	return fmt.Sprintf(" Its joint is broken only when %s is open and blows and runs no more.",
		k.At(way[len(way)-1]).Label())
}
