package isolation

import (
	"cmp"
	"fmt"
	"slices"
)

// Change is in a plan that stands in place of an earlier one of the same permit, because work was added to its job
// while locks hung. Such a plan begins with every step of the one before, in its order: nothing that hangs comes off or
// moves, and the new steps come after.
type Change struct {
	Number int      `json:"number"`         // of the plan on its permit: 2 for the first that stands in place of another
	Added  Added    `json:"added"`          // all that was added since the first plan
	Hang   int      `json:"hang"`           // how many of the first steps hang since the plan before
	Idle   []NodeID `json:"idle,omitempty"` // which of these nothing asks for any more: they stay until the end
}

// Added is what is added to a job: other jobs of the same machine, further parts that are opened, and points that are
// shut though nothing asks for it.
type Added struct {
	Jobs   []string `json:"jobs,omitempty"`
	Opens  []NodeID `json:"opens,omitempty"`
	Points []NodeID `json:"points,omitempty"`
}

// Len returns how many things are added.
func (a Added) Len() int { return len(a.Jobs) + len(a.Opens) + len(a.Points) }

// And returns what is added by both, each once.
func (a Added) And(b Added) Added {
	return Added{union(a.Jobs, b.Jobs), union(a.Opens, b.Opens), union(a.Points, b.Points)}
}

// union returns the elements of both lists, each once, in their order; nil for none.
func union[E comparable](a, b []E) []E {
	var out []E
	for _, e := range slices.Concat(a, b) {
		if !slices.Contains(out, e) {
			out = append(out, e)
		}
	}
	return out
}

// Number returns which plan of its permit it is, from 1.
func (p *Plan) Number() int {
	if p.Change == nil {
		return 1
	}
	return p.Change.Number
}

// NewSteps returns the steps that the plan before did not have: all of a first plan.
func (p *Plan) NewSteps() []Step {
	if p.Change == nil {
		return p.Steps
	}
	return p.Steps[min(max(p.Change.Hang, 0), len(p.Steps)):]
}

// Widened returns the plant with one of its jobs widened by what is added; p is not changed. The job keeps its id. What
// several jobs ask for is asked for together: the farther exposure, every hazard and measure, and no deviation that one
// of them does not have. It returns an error, in a plain sentence, for what cannot be added.
func (p *Plant) Widened(id string, a Added) (*Plant, error) {
	base := p.Job(id)
	if base == nil {
		return nil, fmt.Errorf("the plant has no job %s", id)
	}
	job := *base
	for i, name := range a.Jobs {
		if slices.Contains(a.Jobs[:i], name) {
			return nil, fmt.Errorf("job %s is added twice", name)
		}
		if err := p.join(&job, name); err != nil {
			return nil, err
		}
	}
	for _, part := range a.Opens {
		if err := p.open(&job, part); err != nil {
			return nil, err
		}
	}
	for i, point := range a.Points {
		n := p.Node(point)
		switch {
		case n == nil || !n.Kind.IsPoint():
			return nil, fmt.Errorf("%s is no point that can be shut", point)
		case slices.Contains(a.Points[:i], point):
			return nil, fmt.Errorf("%s is added twice", n.Label())
		case slices.Contains(job.Opens, point):
			return nil, fmt.Errorf("%s is opened itself and so keeps nothing off", n.Label())
		}
	}
	out := *p
	out.Jobs = slices.Clone(p.Jobs)
	out.Jobs[p.job[id]] = job
	return &out, nil
}

// join adds another job of the machine to a job.
func (p *Plant) join(job *Job, id string) error {
	other := p.Job(id)
	switch {
	case other == nil:
		return fmt.Errorf("the plant has no job %s", id)
	case id == job.ID:
		return fmt.Errorf("%s is this work itself", other.Title)
	case other.Machine != job.Machine:
		return fmt.Errorf("%s is a job on another machine, and has a permit of its own", other.Title)
	case job.LiveBecause != "" || other.LiveBecause != "":
		return fmt.Errorf("live work is done under a permit of its own, and nothing is added to it")
	}
	job.Title += "; " + other.Title
	job.Opens, job.KeptOff = union(job.Opens, other.Opens), union(job.KeptOff, other.KeptOff)
	// before the exposures are one: entry and fire each mean a kind of work, and the wider exposure only one of them
	job.WorkKinds = union(job.Kinds(), other.Kinds())
	if slices.Index(Exposures(), other.Exposure) > slices.Index(Exposures(), job.Exposure) {
		job.Exposure = other.Exposure
	}
	job.Hazards, job.Precautions = union(job.Hazards, other.Hazards), union(job.Precautions, other.Precautions)
	job.Protective, job.Adjoining = union(job.Protective, other.Protective), union(job.Adjoining, other.Adjoining)
	job.Holds, job.Gases = union(job.Holds, other.Holds), union(job.Gases, other.Gases)
	job.Live = slices.DeleteFunc(slices.Clone(job.Live), func(l LivePart) bool {
		return !slices.ContainsFunc(other.Live, func(m LivePart) bool { return m.ID == l.ID })
	})
	job.Deviations = slices.DeleteFunc(slices.Clone(job.Deviations), func(d Deviation) bool {
		return !slices.ContainsFunc(other.Deviations, func(e Deviation) bool {
			return e.Source == d.Source && e.Demand == d.Demand
		})
	})
	return nil
}

// open adds a part to what a job opens.
func (p *Plant) open(job *Job, id NodeID) error {
	n := p.Node(id)
	switch {
	case n == nil:
		return fmt.Errorf("the plant has no %s", id)
	case n.Kind == Source || n.Kind == Opening || n.Kind == Earth:
		return fmt.Errorf("%s is a %s, which is not opened as a part of the work", n.Label(), n.Kind)
	case slices.Contains(job.Opens, id):
		return fmt.Errorf("%s is opened already", n.Label())
	}
	for _, m := range p.Machines {
		if m.ID != job.Machine && slices.Contains(m.Nodes, id) {
			return fmt.Errorf("%s is a part of %s, and work there has a permit of its own", n.Label(), m.Name)
		}
	}
	job.Opens = append(slices.Clip(job.Opens), id)
	job.KeptOff = slices.DeleteFunc(slices.Clone(job.KeptOff), func(k NodeID) bool { return k == id })
	job.Title += "; " + cmp.Or(n.Name, string(id)) + " opened too"
	return nil
}

// Difference is one thing in which a changed plan is another than the one before.
type Difference struct {
	What  string // "Step 6", "Opened", "Exposure"
	Point NodeID // of a step
	Words string
}

// Differences says in what a plan is another than the one in whose place it stands: what is added, what has another
// reason, what nothing asks for any more.
func Differences(before, after *Plan) []Difference {
	var out []Difference
	say := func(what string, point NodeID, format string, args ...any) {
		out = append(out, Difference{what, point, fmt.Sprintf(format, args...)})
	}
	for _, id := range after.Opens {
		if !slices.Contains(before.Opens, id) {
			say("Opened too", id, "%s.", id)
		}
	}
	if before.Exposure != after.Exposure {
		say("Exposure", "", "%s before, %s now.", before.Exposure, after.Exposure)
	}
	for _, k := range after.Kinds {
		if !slices.Contains(before.Kinds, k) {
			say("Kind of work", "", "%s too.", k)
		}
	}
	for i, s := range after.Steps {
		what := fmt.Sprintf("Step %d", s.N)
		switch {
		case i >= len(before.Steps):
			say(what, s.Point, "New: %s (%s) is brought to %s and tagged. %s", s.Name, s.Point, s.Kind.Word(s.Position), s.Why)
		case after.Change != nil && slices.Contains(after.Change.Idle, s.Point):
			say(what, s.Point, "Nothing asks for %s (%s) any more. It stays %s, tagged, until the end.", s.Name, s.Point,
				s.Kind.Word(s.Position))
		case s.Why != before.Steps[i].Why || !slices.Equal(s.Cuts, before.Steps[i].Cuts):
			say(what, s.Point, "%s (%s) stays %s for another reason. Before: %s Now: %s", s.Name, s.Point,
				s.Kind.Word(s.Position), before.Steps[i].Why, s.Why)
		case s.Clearance != before.Steps[i].Clearance:
			say(what, s.Point, "%s (%s) is left %s in the end, not %s.", s.Name, s.Point, s.Kind.Word(s.Clearance),
				s.Kind.Word(before.Steps[i].Clearance))
		}
	}
	for _, u := range after.Unproved {
		if !slices.Contains(before.Unproved, u) {
			say("Not proved", u.Node, "%s", u.Words)
		}
	}
	for _, l := range after.Losses {
		if !slices.ContainsFunc(before.Losses, func(b Loss) bool { return b.ID == l.ID }) {
			say("Without supply", l.ID, "%s too.", cmp.Or(l.Name, string(l.ID)))
		}
	}
	return out
}
