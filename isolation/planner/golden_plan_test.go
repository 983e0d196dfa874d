package planner

import (
	"fmt"
	"strings"
	"testing"

	"stillwatch/isolation"
)

// plainly writes what a person would want to compare of a plan.
func plainly(p isolation.Plan) string {
	var b strings.Builder
	say := func(format string, a ...any) { fmt.Fprintf(&b, format+"\n", a...) }
	say("%s, %s (%s)", p.Title, p.MachineName, p.Exposure)
	say("%s", p.Words)
	say("cost %d, bound %d, locks %d, walk %.1f m of %.1f m", p.Cost, p.LowerBound, p.Locks, p.WalkM, p.ListWalkM)
	for _, s := range p.Steps {
		say("%2d %-8s %-12s %-8s lock %-5v cuts %v back to %s", s.N, s.Phase, s.Point, s.Position, s.Lock, s.Cuts,
			s.Clearance)
	}
	for _, s := range p.Sources {
		at := ""
		if s.GaugeBar != 0 {
			at = fmt.Sprintf(" at %.4g bar", s.GaugeBar)
		}
		say("source %s: %s, met %v%s", s.ID, s.Demand, s.Met, at)
	}
	for _, s := range p.Sections {
		say("section %s: trapped %.1f L, out %.1f ± %.1f L, %.0f s, drains %v, vents %v, provable %v", s.ID, s.TrappedL,
			s.OutL, s.SpreadL, s.DrainS, s.Drains, s.Vents, s.Provable)
	}
	for _, s := range p.Stored {
		say("stored %s: %.4g to %.4g %s, %.0f s", s.ID, s.Now, s.Limit, s.Unit, s.WaitS)
	}
	for _, d := range p.DeadTests {
		say("dead %s, %g V", d.Node, d.Volt)
	}
	say("lost %v, standby %q", p.Lost, p.Standby)
	if p.StandbyCut != "" {
		say("standby cut: %s", p.StandbyCut)
	}
	for _, s := range p.Steps {
		if len(s.First) > 0 {
			say("before step %d read %v", s.N, s.First)
		}
	}
	for _, r := range p.Restore {
		say("back %2d %s %s", r.Step, r.Do, r.Why)
	}
	for _, list := range [][]string{p.Prepare, p.Proofs} {
		for _, l := range list {
			say("- %s", l)
		}
	}
	for _, w := range p.Passes {
		say("- %s", w.Words)
	}
	return b.String()
}

// The plans of the demo plant as an engineer would read them; -update writes them anew, and a person reads the
// difference.
func TestDemoPlansAreAsAPersonReadThem(t *testing.T) {
	p := readFile(t, demoPlant)
	for _, j := range p.Jobs {
		t.Run(j.ID, func(t *testing.T) {
			golden(t, "../../testdata/plans/"+j.ID+".golden", plainly(makeProved(t, p, j.ID, isolation.Circumstances{})))
		})
	}
}
