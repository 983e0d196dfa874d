package planner

import (
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
)

// checkChange wants of a plan in place of another that it begins with what hangs, each point once, and that the way
// back is the exact reverse of all of it.
func checkChange(t interface{ Fatalf(string, ...any) }, before, after *isolation.Plan) {
	points := map[isolation.NodeID]bool{}
	for i, s := range after.Steps {
		if points[s.Point] || s.N != i+1 {
			t.Fatalf("%s stands twice, or as step %d in place %d", s.Point, s.N, i+1)
		}
		points[s.Point] = true
		if i < len(before.Steps) && (s.Point != before.Steps[i].Point || s.Position != before.Steps[i].Position) {
			t.Fatalf("step %d is %s %s, and there hangs %s %s", s.N, s.Point, s.Position, before.Steps[i].Point,
				before.Steps[i].Position)
		}
	}
	next := len(after.Steps)
	for _, r := range after.Restore {
		if r.Step > 0 && r.Step != next {
			t.Fatalf("step %d comes off where step %d should", r.Step, next)
		} else if r.Step > 0 {
			next--
		}
	}
	if len(after.Steps) < len(before.Steps) || next != 0 {
		t.Fatalf("%d steps before, %d after, %d stay on", len(before.Steps), len(after.Steps), next)
	}
}

// TestChangedPlansKeepWhatHangs adds random parts and points to random jobs, twice. Nothing that hangs comes off or
// moves, and what the planner makes the proof passes, which knows of what hangs by itself; without any new point that
// was not asked for it does not.
func TestChangedPlansKeepWhatHangs(t *testing.T) {
	feasible, proved, idle, grown := 0, 0, 0, 0
	rapid.Check(t, func(t *rapid.T) {
		text := drivenPlant(t)
		p, err := plantfile.Read("driven", []byte(text))
		if err != nil {
			t.Skip(err)
		}
		r := plantfile.ShippedRules()
		before, err := Make(p, r, "j", isolation.Circumstances{})
		if err != nil || !before.Feasible {
			return
		}
		for _, n := range p.Nodes {
			a := isolation.Added{Opens: []isolation.NodeID{n.ID}}
			if n.Kind.IsPoint() && rapid.Bool().Draw(t, "as a point") {
				a = isolation.Added{Points: []isolation.NodeID{n.ID}}
			}
			after, err := Change(p, r, &before, a, isolation.Circumstances{})
			if err != nil || !after.Feasible {
				continue // it says in words what cannot be done
			}
			feasible++
			checkChange(t, &before, &after)
			facts := isolation.Circumstances{Hang: before.Steps}
			if _, err := proof.Prove(p, r, after, facts); err != nil {
				continue
			}
			proved++
			idle += len(after.Change.Idle)
			grown += len(after.NewSteps())
			if rapid.Bool().Draw(t, "on from there") {
				before = after
			}
		}
	})
	t.Logf("%d changed plans, %d of them proved, %d points that nothing asks for any more, %d new", feasible, proved, idle,
		grown)
	if proved*10 < feasible*8 || grown == 0 { // of the rest the proof says what does not hold, and nobody is shown them
		t.Error("want most of them proved, and some with new points")
	}
}

// TestChangeIsProvedAgainstWhatHangs holds the proof against changed plans that would take something off, move it, or
// forget what was asked for. (What was fitted stays: 29 CFR 1910.147(e), read, knows no other way off than the end of
// the work.)
func TestChangeIsProvedAgainstWhatHangs(t *testing.T) {
	p, r := readFile(t, demoPlant), plantfile.ShippedRules()
	before, err := Make(p, r, "R1-entry", isolation.Circumstances{})
	if err != nil {
		t.Fatal(err)
	}
	a := isolation.Added{Jobs: []string{"R1-weld"}, Points: []isolation.NodeID{spare(t, p, r, &before)}}
	after, err := Change(p, r, &before, a, isolation.Circumstances{})
	if err != nil {
		t.Fatal(err)
	}
	checkChange(t, &before, &after)
	if !slices.Contains(after.Kinds, isolation.WorkHot) || after.Number() != 2 {
		t.Errorf("plan %d is for %v, want plan 2 for hot work too", after.Number(), after.Kinds)
	}
	facts := isolation.Circumstances{Hang: before.Steps}
	if _, err := proof.Prove(p, r, after, facts); err != nil {
		t.Fatal(err)
	}
	for name, tc := range map[string]struct {
		spoil func(*isolation.Plan, *isolation.Circumstances)
		want  string
	}{
		"nothing hangs":       {func(_ *isolation.Plan, c *isolation.Circumstances) { c.Hang = nil }, "0 do"},
		"one came off":        {func(_ *isolation.Plan, c *isolation.Circumstances) { c.Hang = c.Hang[1:] }, "do"},
		"taken for the first": {func(q *isolation.Plan, _ *isolation.Circumstances) { q.Change = nil }, "as if none did"},
		"another order": {func(q *isolation.Plan, _ *isolation.Circumstances) {
			q.Steps[0], q.Steps[1] = q.Steps[1], q.Steps[0]
		}, "there hangs"},
		"moved": {func(q *isolation.Plan, _ *isolation.Circumstances) {
			q.Steps[0].Position = isolation.Closed + isolation.Open
		}, "there hangs"},
		"one left out": {func(q *isolation.Plan, _ *isolation.Circumstances) {
			q.Steps = slices.Delete(q.Steps, 1, 2)
		}, "there hangs"},
		"what was asked for left out": {func(q *isolation.Plan, _ *isolation.Circumstances) {
			q.Steps = slices.DeleteFunc(q.Steps, func(s isolation.Step) bool { return s.Point == a.Points[0] })
		}, "asked for"},
		"other work": {func(q *isolation.Plan, _ *isolation.Circumstances) {
			q.Change = &isolation.Change{Number: 2, Hang: len(before.Steps), Added: isolation.Added{Points: a.Points,
				Opens: []isolation.NodeID{"R1-F"}}}
		}, "other work"},
	} {
		t.Run(name, func(t *testing.T) {
			q, c := after, facts
			q.Steps = slices.Clone(after.Steps)
			tc.spoil(&q, &c)
			if _, err := proof.Prove(p, r, q, c); err == nil || !strings.Contains(err.Error(), tc.want) {
				t.Errorf("Prove = %v, want it refused for %q", err, tc.want)
			}
		})
	}
}

// spare finds a point that may be shut beside the plan.
func spare(t *testing.T, p *isolation.Plant, r *isolation.Rules, before *isolation.Plan) isolation.NodeID {
	t.Helper()
	for _, n := range p.Nodes {
		if n.Kind != isolation.Valve || slices.ContainsFunc(before.Steps, func(s isolation.Step) bool {
			return s.Point == n.ID
		}) {
			continue
		}
		after, err := Change(p, r, before, isolation.Added{Points: []isolation.NodeID{n.ID}}, isolation.Circumstances{})
		if err != nil || !after.Feasible || len(after.NewSteps()) != 1 {
			continue
		}
		if _, err := proof.Prove(p, r, after, isolation.Circumstances{Hang: before.Steps}); err == nil {
			return n.ID
		}
	}
	t.Fatal("no point can be added")
	return ""
}

// TestWhatCannotBeAddedIsSaid asks for what would take a lock off, and for work that has a permit of its own.
func TestWhatCannotBeAddedIsSaid(t *testing.T) {
	p, r := readFile(t, demoPlant), plantfile.ShippedRules()
	before, err := Make(p, r, "S1-bowl", isolation.Circumstances{})
	if err != nil {
		t.Fatal(err)
	}
	hangs := before.Steps[slices.IndexFunc(before.Steps, func(s isolation.Step) bool { return s.Kind == isolation.Valve })]
	for name, tc := range map[string]struct {
		add  isolation.Added
		want string
	}{
		"nothing":                    {isolation.Added{}, "nothing is added"},
		"a point that hangs, opened": {isolation.Added{Opens: []isolation.NodeID{hangs.Point}}, "hangs for this permit"},
		"a part of another machine":  {isolation.Added{Opens: []isolation.NodeID{"S2-bowl"}}, "a permit of its own"},
		"a job on another machine":   {isolation.Added{Jobs: []string{"S2-bowl"}}, "on another machine"},
		"the job itself":             {isolation.Added{Jobs: []string{"S1-bowl"}}, "this work itself"},
		"a job that is none":         {isolation.Added{Jobs: []string{"S9"}}, "no job S9"},
		"a part twice":               {isolation.Added{Opens: []isolation.NodeID{"S1-bowl"}}, "opened already"},
		"a source":                   {isolation.Added{Opens: []isolation.NodeID{"STM"}}, "is a source"},
		"a part that is none":        {isolation.Added{Opens: []isolation.NodeID{"S9-bowl"}}, "no S9-bowl"},
		"a point that hangs":         {isolation.Added{Points: []isolation.NodeID{hangs.Point}}, "hangs already"},
		"no point":                   {isolation.Added{Points: []isolation.NodeID{"S1-bowl"}}, "no point"},
	} {
		t.Run(name, func(t *testing.T) {
			if _, err := Change(p, r, &before, tc.add, isolation.Circumstances{}); err == nil ||
				!strings.Contains(err.Error(), tc.want) {
				t.Errorf("Change = %v, want it refused for %q", err, tc.want)
			}
		})
	}
}

// TestWhatNothingAsksForStays opens a part, or shuts a point, that makes something needless which hangs: it stays on,
// and is told of.
func TestWhatNothingAsksForStays(t *testing.T) {
	p, r := readFile(t, demoPlant), plantfile.ShippedRules()
	before, err := Make(p, r, "S1-pump", isolation.Circumstances{})
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, n := range p.Nodes {
		after, err := Change(p, r, &before, isolation.Added{Opens: []isolation.NodeID{n.ID}}, isolation.Circumstances{})
		if err != nil || !after.Feasible || len(after.Change.Idle) == 0 {
			continue
		}
		if _, err := proof.Prove(p, r, after, isolation.Circumstances{Hang: before.Steps}); err != nil {
			continue
		}
		found++
		checkChange(t, &before, &after)
		said := ""
		for _, d := range isolation.Differences(&before, &after) {
			said += d.Words + "\n"
		}
		if want := "Nothing asks for"; !strings.Contains(said, want) || !strings.Contains(said, string(n.ID)+".") {
			t.Errorf("said of %s: %s", n.ID, said)
		}
	}
	if found == 0 {
		t.Error("no part makes a point needless: the test looks at too little")
	}
}
