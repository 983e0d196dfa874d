package planner

import (
	"fmt"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/cut"
	"stillwatch/isolation/envelope"
	"stillwatch/isolation/graph"
)

// sayUncut puts the way that cannot be cut into a plan that is none: node ids from the source to the work, and a
// sentence with the reason why each thing on it that looks like a point does not count.
func (k *task) sayUncut(plan *isolation.Plan, u *cut.Uncut) {
	plan.Uncut = append(plan.Uncut, k.IDs(u.Path)...)
	for i := range plan.Sources {
		s := &plan.Sources[i]
		s.Met = len(plan.Uncut) == 0 || s.ID != plan.Uncut[0]
	}
	plan.Words = k.uncutWords(u)
}

// sayNone says that there is no plan though no one way is to blame, with a way to look at.
func (k *task) sayNone(plan *isolation.Plan, what errNone) {
	plan.Words = string(what)
	for i, w := range k.Sources {
		if envelope.Need(w.Rule.Demand) < 2 {
			continue
		}
		plan.Sources[i].Met = false
		if len(plan.Uncut) == 0 {
			way := graph.WayTo(k.Out, []int32{w.Node}, func(j int32) bool { return k.InZone[j] }, nil)
			plan.Uncut = append(plan.Uncut, k.IDs(way)...)
			plan.Words += " Look at the way " + strings.Join(k.names(way), " – ") + "."
		}
	}
}

// uncutWords says which way cannot be cut, and why.
func (k *task) uncutWords(u *cut.Uncut) string {
	path := u.Path
	if len(path) == 0 {
		return "No set of points meets every demand."
	}
	from, to := k.At(path[0]), k.At(path[len(path)-1])
	demand := k.demandOf(path[0])
	if u.Kept {
		demand = isolation.DemandWords(isolation.DemandSingle) + ", because " + k.whyKept(path[len(path)-1])
	}
	s := fmt.Sprintf("%s cannot be isolated from %s: the demand is %s, and the way %s %s.",
		from.Label(), to.Label(), demand, strings.Join(k.names(path), " – "), k.shortOf(u))
	if why := k.whyNot(path); len(why) > 0 {
		s += " " + strings.Join(why, " ")
	}
	return s
}

// whyKept returns why a node is kept off, as the end of a sentence.
func (k *task) whyKept(i int32) string {
	for _, h := range k.Keeps {
		if h.Node == i {
			return strings.ToLower(h.Why[:1]) + strings.TrimSuffix(h.Why[1:], ".")
		}
	}
	return "it is kept off"
}

// names returns what a person calls the nodes of a way.
func (k *task) names(path []int32) []string {
	var out []string
	for _, i := range path {
		out = append(out, string(k.At(i).ID))
	}
	return out
}

func (k *task) demandOf(source int32) string {
	for _, w := range k.Sources {
		if w.Node == source {
			return isolation.DemandWords(w.Rule.Demand)
		}
	}
	return "not known"
}

func (k *task) wantsBlank(source int32) bool {
	return slices.ContainsFunc(
		k.Sources,
		func(w envelope.Wanted) bool { return w.Node == source && w.Rule.Demand == isolation.DemandBlank },
	)
}

// shortOf says how far the points on the way go towards the demand.
func (k *task) shortOf(u *cut.Uncut) string {
	switch {
	case u.Bleed:
		return "has the points, but no choice of them leaves a drain or bleed between two that no source can come to"
	case u.Exhausted:
		return "cannot be cut so together with the others"
	case u.Have == 0:
		return "has no point that counts towards it"
	}
	return fmt.Sprintf("has only %d of the %d that it takes", u.Have, u.Need)
}

// whyNot returns one sentence for each thing on a way that looks as if it could be closed and does not count.
func (k *task) whyNot(path []int32) []string {
	var out []string
	for _, i := range path {
		switch why, no := k.barred[i]; {
		case no && !k.InZone[i]:
			out = append(out, fmt.Sprintf("%s does not count: %s.", k.At(i).Label(), why))
		case !k.InZone[i] && k.At(i).Kind.IsBlanking() && !k.wantsBlank(path[0]):
			out = append(out, fmt.Sprintf("%s does not count: it is a %s, which counts only where a blank is demanded.",
				k.At(i).Label(), k.At(i).Kind))
		}
	}
	return out
}
