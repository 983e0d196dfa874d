package planner

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/envelope"
	"stillwatch/isolation/sequence"
)

// A plan in place of another is made with what hangs as given: it is shut, open or off in any case, so nothing is asked
// of it, and what it does not cut is cut at the least cost beside it. A cheaper plan without it is none: whoever works
// relies on what hangs. What hangs stands first, in the order in which it was fitted, and the new steps behind it, so
// that the exact reverse takes the new ones off first and leaves the state that the plan before was proved in. (Own
// reasoning, after 29 CFR 1910.147(d) and (e), read: nothing is opened before what keeps energy off it hangs.)

// Change computes the plan of a job to which work is added, in place of the plan before, whose steps all hang. It says
// in plain words what cannot be done without taking off, or moving, something that hangs. As with Make, a demand that
// nothing can meet is no error.
func Change(p *isolation.Plant, r *isolation.Rules, before *isolation.Plan, a isolation.Added,
	c isolation.Circumstances) (isolation.Plan, error) {
	if a.Len() == 0 {
		return isolation.Plan{}, errors.New("nothing is added to the work")
	}
	for _, s := range before.Steps {
		if slices.Contains(a.Points, s.Point) {
			return isolation.Plan{}, fmt.Errorf("%s (%s) hangs already, as step %d", s.Name, s.Point, s.N)
		}
	}
	if before.Change != nil {
		if had := before.Change.Added; had.And(a).Len() < had.Len()+a.Len() {
			return isolation.Plan{}, errors.New("some of it was added to the work already")
		}
		a = before.Change.Added.And(a)
	}
	wide, err := p.Widened(before.Job, a)
	if err != nil {
		return isolation.Plan{}, fmt.Errorf("the work cannot be added: %w", err)
	}
	c.Hang = before.Steps
	k, err := newTask(wide, r, before.Job, c)
	if err != nil {
		return isolation.Plan{}, err
	}
	k.change = &isolation.Change{Number: before.Number() + 1, Added: a, Hang: len(before.Steps)}
	for _, s := range before.Steps {
		if i := k.Number(s.Point); i < 0 || k.InZone[i] {
			return isolation.Plan{}, fmt.Errorf("%s (%s) hangs for this permit as step %d and would be opened itself: the work "+
				"is ended first, and a new permit requested", s.Name, s.Point, s.N)
		}
	}
	if err := k.mayBeAdded(); err != nil {
		return isolation.Plan{}, err
	}
	return k.make()
}

// mayBeAdded refuses points that were asked for and cannot be relied on, or that would be opened under load.
func (k *task) mayBeAdded() error {
	held := k.held()
	for _, i := range k.Numbers(k.change.Added.Points) {
		if !k.usable(i) {
			return fmt.Errorf("%s cannot be added as a point: %s", k.At(i).Label(), k.barred[i])
		}
		if kind := k.At(i).Kind; kind != isolation.Disconnector && kind != isolation.Fuse {
			continue
		}
		if oneOf, need := k.breakers(i); need && !slices.ContainsFunc(oneOf,
			func(b int32) bool { return slices.Contains(held, b) }) {
			return fmt.Errorf("%s cannot be added as a point: it may be opened only without load, and no breaker or switch on "+
				"its cable is opened before it; ask for that too", k.At(i).Label())
		}
	}
	return nil
}

// held lists the nodes that are shut in any case: what hangs and isolates, and what was asked for.
func (k *task) held() []int32 {
	if k.change == nil {
		return nil
	}
	var out []int32
	for _, s := range k.facts.Hang {
		if s.Isolates() {
			out = append(out, k.Number(s.Point))
		}
	}
	return append(out, k.Numbers(k.change.Added.Points)...)
}

// sparing makes what is shut in any case cost next to nothing.
func (k *task) sparing(t terms) terms {
	held := k.held()
	if len(held) == 0 {
		return t
	}
	free := map[int32]bool{}
	for i := range t.free {
		free[i] = true
	}
	for _, i := range held {
		free[i] = true
	}
	t.free = free
	return t
}

// hold puts to a choice what is shut in any case, and notes what of it nothing asks for.
func (k *task) hold(c *choice) {
	if k.change == nil || c.outer == nil {
		return
	}
	k.change.Idle = nil
	for _, i := range k.held() {
		if slices.Contains(c.points, i) {
			continue
		}
		c.points = append(c.points, i)
		if id := k.At(i).ID; !slices.Contains(k.change.Added.Points, id) {
			k.change.Idle = append(k.change.Idle, id)
		}
	}
	slices.Sort(c.points)
	c.cost = int64(len(c.points))
	c.plain, c.bound = c.cost, 0 // whether fewer would do from the start nobody asked
}

// keepOpen leaves open what hangs open.
func (k *task) keepOpen(d *envelope.DrawOff) {
	if k.change == nil {
		return
	}
	for _, s := range k.facts.Hang {
		i := k.Number(s.Point)
		if s.Phase != isolation.PhaseDrain || d.Has(i) ||
			slices.ContainsFunc(d.Cocks, func(o envelope.Opened) bool { return o.Node == i }) {
			continue
		}
		if o := (envelope.Opened{Node: i, Why: idleWords}); k.At(i).Kind == isolation.Opening {
			d.Open = append(d.Open, o)
		} else {
			d.Cocks = append(d.Cocks, o)
		}
		k.change.Idle = append(k.change.Idle, s.Point)
	}
}

const idleWords = "Nothing asks for it any more, and it stays until the end."

// idleWhy says of a step that nothing asks for any more what it was for.
func idleWhy(h isolation.Step) string {
	if strings.HasPrefix(h.Why, idleWords) {
		return h.Why
	}
	return idleWords + " Before: " + h.Why
}

// hangingFirst brings what hangs to the front, in the order in which it was fitted. It returns an error where the
// changed work needs a point in another position than it hangs in.
func (k *task) hangingFirst(plan *isolation.Plan) error {
	if k.change == nil {
		return nil
	}
	var steps []isolation.Step
	for _, h := range k.facts.Hang {
		i := slices.IndexFunc(plan.Steps, func(s isolation.Step) bool { return s.Point == h.Point })
		if i < 0 {
			h.First, h.Why, h.Cuts = nil, idleWhy(h), []isolation.NodeID{}
			k.change.Idle = append(k.change.Idle, h.Point)
			steps = append(steps, h)
			continue
		}
		s := plan.Steps[i]
		if s.Position != h.Position || s.Phase != h.Phase {
			return fmt.Errorf("%s (%s) hangs %s for this permit, and the changed work needs it %s: the work is ended "+
				"first, and a new permit requested", h.Name, h.Point, h.Kind.Word(h.Position), s.Kind.Word(s.Position))
		}
		if s.Isolates() && s.Why == "" && !slices.Contains(k.change.Idle, h.Point) {
			k.change.Idle = append(k.change.Idle, h.Point) // it stands behind another that hangs
		}
		if slices.Contains(k.change.Idle, h.Point) { // it still does what it was fitted for, and comes back as it would have
			h.First, h.Why = nil, idleWhy(h)
			s = h
		}
		steps = append(steps, s)
		plan.Steps = slices.Delete(plan.Steps, i, i+1)
	}
	var walk []sequence.Stop // to what is still to be fitted
	var order []int
	for i, s := range plan.Steps {
		walk, order = append(walk, stopAt(s.Place)), append(order, i)
	}
	plan.WalkM = tenths(sequence.Walk(walk, order))
	plan.ListWalkM = plan.WalkM
	plan.Steps = append(steps, plan.Steps...)
	for i := range plan.Steps {
		s := &plan.Steps[i]
		if s.N = i + 1; s.Why == "" && slices.Contains(k.change.Added.Points, s.Point) {
			s.Why = "Shut beside what must be, because somebody asked for it."
		}
	}
	return nil
}
