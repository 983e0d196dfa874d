package planner

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/cut"
	"stillwatch/isolation/envelope"
	"stillwatch/isolation/graph"
)

// Why explains one point of a plan, or why a point is not in it: which sources it cuts, what a plan without it would
// cost, or what a plan with it would. Each answer is computed by asking again with that point forbidden, or free.
// Returns an error for an unknown job or node, as Make does.
func Why(
	p *isolation.Plant,
	r *isolation.Rules,
	jobID string,
	c isolation.Circumstances,
	point isolation.NodeID,
) (string, error) {
	k, err := newTask(p, r, jobID, c)
	if err != nil {
		return "", err
	}
	i := k.Number(point)
	if i < 0 {
		return "", fmt.Errorf("explain %s: the plant has no such node", point)
	}
	label := k.At(i).Label()
	if k.At(i).Kind == isolation.Opening {
		return k.whyOpening(point)
	}
	if why, no := k.barred[i]; no {
		return fmt.Sprintf("%s is not a point of the plan and cannot be: %s.", label, why), nil
	}
	if !k.usable(i) {
		return fmt.Sprintf("%s is %s, which isolates nothing.", label, isolation.WithArticle(string(k.At(i).Kind))), nil
	}
	picked, err := k.pick(terms{})
	var uncut *cut.Uncut
	if errors.As(err, &uncut) {
		return fmt.Sprintf("There is no plan, with or without %s: %s", label, k.uncutWords(uncut)), nil
	}
	var none errNone
	if errors.As(err, &none) {
		return fmt.Sprintf("There is no plan, with or without %s. %s", label, none), nil
	}
	if err != nil {
		return "", fmt.Errorf("explain %s: %w", point, err)
	}
	if slices.Contains(picked.points, i) {
		return k.whyIn(i, picked)
	}
	if alone := []int32{i}; len(k.unproved(alone)) > 0 {
		held := k.heldShut()
		by := k.guards(alone, alone)[0]
		return fmt.Sprintf("%s is not in the plan. It stands behind %s, which permit %s holds: nothing presses on it until "+
			"that is lifted, so nothing would prove that it holds.",
			label, k.At(by).Label(), held[by]), nil
	}
	return k.whyOut(i, picked)
}

// whyIn says what a chosen point is for and what it would cost to do without.
func (k *task) whyIn(i int32, picked choice) (string, error) {
	cuts := k.CutBy(picked.points)[i]
	s := fmt.Sprintf("%s is in the plan. %s", k.At(i).Label(),
		k.stepWhy(i, cuts, k.motive(picked.points)[i], picked.outer[i]))
	if k.At(i).BreaksJoint() {
		s += " Its joint is broken only after its line has been let down."
	}
	other, err := k.choose(terms{forbid: map[int32]bool{i: true}})
	var none errNone
	var uncut *cut.Uncut
	switch {
	case errors.As(err, &none):
		return s + " Without it there is no plan. " + string(none), nil
	case errors.As(err, &uncut):
		return s + " Without it there is no plan: " + k.uncutWords(uncut), nil
	case err != nil:
		return "", fmt.Errorf("explain %s: %w", k.At(i).ID, err)
	}
	instead, dropped := k.difference(other.points, picked.points), k.difference(picked.points, other.points)
	switch {
	case other.lost.standby > picked.lost.standby:
		s += fmt.Sprintf(" Without it %s of what runs instead would lose a supply instead of %d: %s in place of %s.",
			isolation.Amount(other.lost.standby, "part", "parts"), picked.lost.standby, instead, dropped)
	case picked.lost.less(other.lost):
		s += fmt.Sprintf(" Without it %s would lose a supply instead of %d: %s in place of %s.",
			isolation.Amount(other.lost.others, "consumer or part of another machine", "consumers or parts of other machines"),
			picked.lost.others, instead, dropped)
	case other.cost > picked.cost:
		s += fmt.Sprintf(" Without it the plan would need %s instead of %d: %s in place of %s.",
			isolation.Amount(int(other.cost), "point", "points"), picked.cost, instead, dropped)
	default:
		s += fmt.Sprintf(" %s in place of %s would take as many points, but in places that are harder to reach or farther "+
			"from the work.", instead, dropped)
	}
	return s, nil
}

// whyOut says what it would cost to use a point that was not chosen: it is asked for as if it cost nothing, so that it
// is taken where it saves any other.
func (k *task) whyOut(i int32, picked choice) (string, error) {
	label := k.At(i).Label()
	with, err := k.choose(terms{free: map[int32]bool{i: true}})
	if err != nil {
		return "", fmt.Errorf("explain %s: %w", k.At(i).ID, err)
	}
	if !slices.Contains(with.points, i) {
		return fmt.Sprintf("%s is not in the plan. Shutting it as well would save no other point: the plan would have %s "+
			"instead of %d.",
			label, isolation.Amount(int(with.cost)+1, "point", "points"), picked.cost), nil
	}
	switch {
	case with.lost.standby > picked.lost.standby:
		return fmt.Sprintf("%s is not in the plan. A plan that uses it would take the supply of %s of what runs instead, "+
			"where this one takes that of %d.",
			label, isolation.Amount(with.lost.standby, "part", "parts"), picked.lost.standby), nil
	case picked.lost.less(with.lost):
		return fmt.Sprintf(
			"%s is not in the plan. A plan that uses it would take the supply of %s instead of %d.",
			label,
			isolation.Amount(with.lost.others, "consumer or part of another machine", "consumers or parts of other machines"),
			picked.lost.others,
		), nil
	}
	return fmt.Sprintf("%s is not in the plan. It could take the place of %s in a plan of %s, but it is harder to reach "+
		"or farther from the work.",
		label, k.difference(picked.points, with.points), isolation.Amount(int(with.cost), "point", "points")), nil
}

// difference names the points of a that are not in b.
func (k *task) difference(a, b []int32) string {
	var out []string
	for _, i := range a {
		if !slices.Contains(b, i) {
			out = append(out, k.At(i).Label())
		}
	}
	if len(out) == 0 {
		return "nothing"
	}
	return strings.Join(out, " and ")
}

// whyOpening says what a drain or vent is opened for, or that it stays as it is.
func (k *task) whyOpening(point isolation.NodeID) (string, error) {
	plan, err := Make(k.Plant, k.rules, k.job.ID, k.facts)
	if err != nil {
		return "", err
	}
	label := k.Plant.Node(point).Label()
	for _, s := range plan.Steps {
		if s.Point == point {
			return fmt.Sprintf("%s is tagged OPEN in step %d. %s", label, s.N, s.Why), nil
		}
	}
	if !plan.Feasible {
		return fmt.Sprintf("%s is not opened, because there is no plan: %s", label, plan.Words), nil
	}
	return fmt.Sprintf("%s is not opened: it stands in no part that this plan isolates, or another drain or vent there "+
		"does as much.", label), nil
}

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
			return isolation.DemandWordsFor(w.Rule.Demand, k.At(source))
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
