package proved

import (
	"slices"

	"stillwatch/isolation"
)

// Effects returns, for the jobs of the later plant in the order of its file, what becomes of their plans; of most jobs
// at most. before may be nil. Each job costs two plans and their proofs: some 15 ms for a separator.
func Effects(
	before, after *isolation.Plant, rules *isolation.Rules, c isolation.Circumstances, most int,
) []isolation.Effect {
	var out []isolation.Effect
	for _, j := range after.Jobs[:min(len(after.Jobs), most)] {
		e := isolation.Effect{Job: j.ID, Title: j.Title}
		var was []isolation.Step
		if before != nil && before.Job(j.ID) != nil {
			was, _ = steps(before, rules, j.ID, c)
		}
		var is []isolation.Step
		is, e.Fault = steps(after, rules, j.ID, c)
		e.Before, e.After = len(was), len(is)
		e.New, e.Gone = missing(is, was), missing(was, is)
		e.Other = !slices.EqualFunc(was, is, func(a, b isolation.Step) bool {
			return a.Point == b.Point && a.Position == b.Position
		}) && len(e.New)+len(e.Gone) == 0
		out = append(out, e)
	}
	return out
}

// steps returns the steps of a proved plan, or why there is none.
func steps(
	p *isolation.Plant, rules *isolation.Rules, job string, c isolation.Circumstances,
) ([]isolation.Step, string) {
	made, err := Make(p, rules, job, c)
	switch {
	case err != nil:
		return nil, err.Error()
	case !made.Plan.Feasible:
		return nil, made.Plan.Words
	}
	return made.Plan.Steps, ""
}

// missing returns the points of one plan that are not in the other.
func missing(of, in []isolation.Step) []isolation.NodeID {
	var out []isolation.NodeID
	for _, s := range of {
		if !slices.ContainsFunc(in, func(o isolation.Step) bool { return o.Point == s.Point }) {
			out = append(out, s.Point)
		}
	}
	return out
}
