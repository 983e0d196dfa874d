package plantfile

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
	"stillwatch/isolation/atmosphere"
)

// work reads what a job is beside the opening of a machine: its kinds of work, gases of its space, adjoining spaces.
func (l *loader) work(e *entry, j *isolation.Job) {
	var known []string
	for _, r := range isolation.WorkRows() {
		known = append(known, string(r.Kind))
	}
	for _, w := range e.words("kinds") {
		i := slices.IndexFunc(known, func(k string) bool { return isolation.Hyphened(k) == isolation.Hyphened(w.text) })
		if i < 0 {
			e.r.refuse(w.at.Line, w.at.Column, "%s: unknown kind of work %q%s", e.what, shorten(w.text),
				offerOrList(w.text, known))
			continue
		}
		if k := isolation.WorkKind(known[i]); !slices.Contains(j.WorkKinds, k) {
			j.WorkKinds = append(j.WorkKinds, k)
		}
	}
	j.Adjoining = e.texts("adjoining")
	switch live := slices.Contains(j.WorkKinds, isolation.WorkLive); {
	case live:
		j.LiveBecause = e.required("live_because")
	case e.has("live_because"):
		e.refuse("live_because", "the job is no live work")
	}
	for i, n := range e.items("gases") {
		x := newEntry(l.report, fmt.Sprintf("%s: gas %d", e.what, i+1), n)
		if x == nil {
			continue
		}
		g := isolation.GasLimit{Gas: x.required("gas"), Because: x.required("because")}
		ppm, given := x.number("limit_ppm")
		if g.LimitPPM = ppm; !given && !x.has("limit_ppm") {
			x.required("limit_ppm")
		}
		if alwaysTested(g.Gas) {
			x.refuse("gas", "%s is tested in every space, by the set of rules that the rules file names", g.Gas)
		}
		if slices.ContainsFunc(j.Gases, func(o isolation.GasLimit) bool { return o.Gas == g.Gas }) {
			x.refuse("gas", "%s is listed twice", shorten(g.Gas))
		}
		x.done("gas", "limit_ppm", "because")
		j.Gases = append(j.Gases, g)
	}
	kinds := j.Kinds()
	if slices.Contains(kinds, isolation.WorkEntry) && j.Exposure != isolation.Enter {
		e.refuse("kinds", "people go in, so the exposure is enter, by which lines are cut; it is %q", string(j.Exposure))
	}
	if slices.Contains(kinds, isolation.WorkHot) && j.Exposure != isolation.HotWork && j.Exposure != isolation.Enter {
		e.refuse("kinds", "it is hot work, so the exposure is hot work or enter, by which lines are cut; it is %q",
			string(j.Exposure))
	}
	if len(j.Gases) > 0 && !slices.ContainsFunc(kinds, testsAir) {
		e.refuse("gases", "the job is of no kind for which air is tested; gases are for entry and hot work")
	}
	if len(j.Adjoining) > 0 && !slices.Contains(kinds, isolation.WorkHot) {
		e.refuse("adjoining", "the job is no hot work; adjoining spaces are for hot work")
	}
}

func testsAir(k isolation.WorkKind) bool {
	r, _ := k.Row()
	return len(r.Levels) > 0
}

func alwaysTested(gas string) bool {
	for _, s := range atmosphere.Sets() {
		if slices.ContainsFunc(s.Limits, func(l atmosphere.Limit) bool { return l.Gas == gas }) {
			return true
		}
	}
	return false
}

// readAir reads by which set of rules the air of a space is judged, and how often it is tested.
func readAir(r *isolation.Rules, top *entry) {
	var ids []string
	for _, s := range atmosphere.Sets() {
		ids = append(ids, s.ID)
	}
	if set := top.text("atmosphere"); set != "" {
		if r.AirRules = set; !slices.Contains(ids, set) {
			top.refuse("atmosphere", "unknown set of rules %q%s", shorten(set), offerOrList(set, ids))
		}
	}
	if m, given := top.number("air_every_min"); given {
		r.AirEveryMin = m
	}
	if m, given := top.number("air_break_min"); given {
		r.AirBreakMin = m
	}
}

// holds reads how long parts of the work are watched after they have run out.
func (l *loader) holds(e *entry, j *isolation.Job) {
	for i, n := range e.items("holds") {
		x := newEntry(l.report, fmt.Sprintf("%s: hold %d", e.what, i+1), n)
		if x == nil {
			continue
		}
		h := isolation.Hold{ID: isolation.NodeID(x.required("id")), Because: x.required("because")}
		minutes, given := x.number("minutes")
		switch h.Minutes = minutes; {
		case h.ID != "" && !slices.Contains(j.Opens, h.ID):
			x.refuse("id", "%s is not among what the job opens, and nobody watches it for the job", h.ID)
		case !given && !x.has("minutes"):
			x.required("minutes")
		case given && minutes < leastHoldMin:
			x.refuse("minutes", "a hold of %g minutes is shorter than the %d that every part is watched", minutes, leastHoldMin)
		}
		j.Holds = append(j.Holds, h)
		x.done("id", "minutes", "because")
	}
}

// leastHoldMin is how long every drained part is watched: common practice, no source. Package drain holds a reading to
// the same.
const leastHoldMin = 10
