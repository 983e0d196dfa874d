package proof

import (
	"fmt"
	"slices"

	"stillwatch/isolation"
)

// Lifted checks what is to come off a proved plan for a test run: each step once, the highest first; with these off,
// current comes to what is to run and to no earth that stays on; every one of them is needed for it; no drain, vent or
// blank is touched; and everything to which something comes then is named. Returns an error that says what does not
// hold.
func Lifted(p *isolation.Plant, plan *isolation.Plan, l isolation.Lifting) error {
	v := &prover{plant: p, plan: plan, edition: Edition}
	if err := v.links(); err != nil {
		return fmt.Errorf("lift for a test: %w", err)
	}
	v.work, v.shut = make([]bool, len(p.Nodes)), make([]*isolation.Step, len(p.Nodes))
	off := map[int]bool{}
	for i, n := range l.Steps {
		if n < 1 || n > len(plan.Steps) || i > 0 && n >= l.Steps[i-1] {
			return fmt.Errorf("lift for a test: step %d comes off out of its turn, or is none", n)
		}
		off[n] = true
	}
	for i := range plan.Steps {
		if s := &plan.Steps[i]; s.Isolates() && !off[s.N] {
			v.shut[v.number(s.Point)] = s
		}
	}
	run := v.number(l.Run)
	if run < 0 || p.Nodes[run].Kind != isolation.Consumer || !v.supplied(v.isShut)[run] {
		return fmt.Errorf("lift for a test: with these locks off no current comes to %s", l.Run)
	}
	if err := v.allNeeded(run, off); err != nil {
		return fmt.Errorf("lift for a test: %w", err)
	}
	return v.allNamed(l)
}

// allNeeded checks each step that comes off, and each earth that stays.
func (v *prover) allNeeded(run int32, off map[int]bool) error {
	fed := v.supplied(v.isShut)
	for i := range v.plan.Steps {
		s := &v.plan.Steps[i]
		at := v.number(s.Point)
		live := slices.ContainsFunc(v.next[at], func(j int32) bool { return fed[j] })
		switch {
		case s.Phase == isolation.PhaseEarth && !off[s.N] && live:
			return fmt.Errorf("current would come to the earth of step %d, which stays on", s.N)
		case !off[s.N] || s.Phase == isolation.PhaseStop || s.Phase == isolation.PhaseEarth && live:
			continue
		case !s.Isolates() || s.Phase == isolation.PhaseBlank:
			return fmt.Errorf("step %d comes off, and no current needs that", s.N)
		}
		if v.supplied(func(j int32) bool { return v.isShut(j) || j == at })[run] {
			return fmt.Errorf("step %d comes off, and %s runs without that", s.N, v.plant.Nodes[run].ID)
		}
	}
	return nil
}

// allNamed checks that everything is named to which something comes while the locks are off.
func (v *prover) allNamed(l isolation.Lifting) error {
	parts := slices.Clone(v.plan.Opens)
	for _, h := range v.plan.Kept {
		parts = append(parts, h.ID)
	}
	for _, id := range parts {
		at := v.number(id)
		if at < 0 || id == l.Run {
			continue
		}
		for s, comes := range v.pressedBy(at) {
			n := &v.plant.Nodes[s]
			if comes && n.Kind == isolation.Source &&
				!slices.Contains(l.Comes, isolation.Coming{Source: n.ID, Node: id}) {
				return fmt.Errorf("lift for a test: %s comes to %s then, and it is not said", n.ID, id)
			}
		}
	}
	return nil
}
