package main

import (
	"fmt"
	"io"
	"math"
	"strings"

	"stillwatch/isolation"
)

// sheet writes lines and keeps the first error.
type sheet struct {
	out io.Writer
	err error
}

func (s *sheet) line(format string, a ...any) {
	if s.err == nil {
		_, s.err = fmt.Fprintf(s.out, format+"\n", a...)
	}
}

func (s *sheet) list(title string, lines []string) {
	if len(lines) == 0 {
		return
	}
	s.line("\n%s", title)
	for _, l := range lines {
		s.line("  - %s", l)
	}
}

// printPlan writes a plan for a person.
func printPlan(out io.Writer, p *isolation.Plan) error {
	s := &sheet{out: out}
	s.line("%s", heading(p))
	s.line("plant %.12s, rules %.12s", p.PlantSHA256, p.RulesSHA256)
	s.line("\n%s", p.Words)
	if !p.Feasible {
		s.line("\nThere is no plan. The way that cannot be cut: %s", wayOf(p.Uncut))
		return s.err
	}
	s.list("Before", p.Prepare)
	s.steps(p)
	s.line("\nIt comes off in exactly the reverse order. %s", walk(p))
	var kept []string
	for _, k := range p.Kept {
		kept = append(kept, fmt.Sprintf("%s %s: %s", k.ID, k.Name, k.Why))
	}
	s.list("Kept off, and not opened", kept)
	s.list("Prove", p.Proofs)
	s.sections(p)
	s.restoring(p)
	s.sources(p)
	var passes []string
	for _, w := range p.Passes {
		passes = append(passes, w.Words)
	}
	s.list("If one point passes", passes)
	s.list("Hazards", p.Hazards)
	s.list("Precautions", p.Precautions)
	s.list("Protective equipment", p.Protective)
	s.line("\nComputed from the plant file. It does not replace the company's safety management system, the flag " +
		"state's rules or licensed practice.")
	return s.err
}

// phaseTitles head the steps of each phase.
var phaseTitles = map[isolation.Phase]string{
	isolation.PhaseStop:    "Stop",
	isolation.PhaseIsolate: "Isolate",
	isolation.PhaseEarth:   "Earth: only what was proved dead",
	isolation.PhaseDrain:   "Vent and drain",
	isolation.PhaseBlank:   "Blank off: no joint is broken before its line is drained and vented",
}

func (s *sheet) steps(p *isolation.Plan) {
	phase := isolation.Phase("")
	for _, st := range p.Steps {
		if st.Phase != phase {
			phase = st.Phase
			s.line("\n%s", phaseTitles[phase])
		}
		hang := "tag"
		if st.Lock {
			hang = "lock"
		}
		s.line("  %2d  %-9s %-4s %s, %s", st.N, st.Kind.Word(st.Position), hang, label(st), st.Place)
		if st.Why != "" {
			s.line("      %s", st.Why)
		}
		if st.Measure != "" {
			s.line("      takes no lock, so also: %s", st.Measure)
		}
		if st.Clearance == st.Position {
			s.line("      stays %s when the %s comes off", st.Kind.Word(st.Clearance), hang)
		} else {
			s.line("      goes back to %s", st.Kind.Word(st.Clearance))
		}
	}
}

// restoring writes how all comes back; what stands between two locks has its reason behind it.
func (s *sheet) restoring(p *isolation.Plan) {
	if len(p.Restore) == 0 {
		return
	}
	s.line("\nComing back")
	for _, r := range p.Restore {
		number := "  "
		if r.Step > 0 {
			number = fmt.Sprintf("%2d", r.Step)
		}
		s.line("  %s  %s", number, strings.TrimSpace(strings.TrimSpace(r.Do)+" "+r.Why))
	}
}

func (s *sheet) sections(p *isolation.Plan) {
	if len(p.Sections) == 0 {
		return
	}
	s.line("\nWhat stands in it")
	for _, c := range p.Sections {
		s.line("  %s: %s held, %s should come out (give or take %s) in about %s, %s stay", c.Name,
			isolation.Litres(c.TrappedL), isolation.Litres(c.OutL),
			isolation.Litres(c.SpreadL), minutes(c.DrainS), isolation.Litres(c.KeptL))
		for _, k := range c.Pockets {
			s.line("    stays at %s: %s", orID(k.Name, string(k.At)), isolation.Litres(k.Litres))
		}
		if !c.Provable {
			s.line("    draining proves nothing here: %s", c.Why)
		}
	}
}

func (s *sheet) sources(p *isolation.Plan) {
	if len(p.Sources) == 0 {
		return
	}
	s.line("\nSources and what is demanded of each")
	names := map[[2]string][]string{}
	var order [][2]string
	for _, c := range p.Sources {
		key := [2]string{c.Demand, c.Because}
		if names[key] == nil {
			order = append(order, key)
		}
		names[key] = append(names[key], orID(c.Name, string(c.ID)))
	}
	for _, key := range order {
		s.line("  %-6s %s", key[0], strings.Join(names[key], ", "))
		s.line("         because: %s", key[1])
	}
}

// walk says how far the round goes, and how much the order saves.
func walk(p *isolation.Plan) string {
	switch saved := p.ListWalkM - p.WalkM; {
	case p.ListWalkM < 0.5:
		return "All of it stands in one place."
	case saved >= 0.5:
		return fmt.Sprintf("The walk is %.0f m, %.0f m shorter than in the order of the plant file.", p.WalkM, saved)
	}
	return fmt.Sprintf("The walk is %.0f m.", p.WalkM)
}

// heading names the job, its machine where it has one, and how far people go into it.
func heading(p *isolation.Plan) string {
	s := p.Job
	if p.Title != p.Job {
		s += ": " + p.Title
	}
	if p.Machine != "" {
		s += ", " + orID(p.MachineName, p.Machine)
	}
	return fmt.Sprintf("%s (%s)", s, p.Exposure)
}

// label returns the name painted at a step's point, with its id.
func label(st isolation.Step) string {
	if st.Name == "" {
		return string(st.Point)
	}
	return fmt.Sprintf("%s %s", st.Point, st.Name)
}

func orID(name, id string) string {
	if name == "" {
		return id
	}
	return name
}

func wayOf(ids []isolation.NodeID) string {
	var out []string
	for _, id := range ids {
		out = append(out, string(id))
	}
	return strings.Join(out, " – ")
}

// minutes returns a time as a person says it, rounded up: nobody is to come too early.
func minutes(s float64) string {
	switch {
	case s <= 0:
		return "no time computed"
	case s < 90:
		return fmt.Sprintf("%.0f s", math.Ceil(s-1e-9))
	case s < 5400:
		return fmt.Sprintf("%.0f min", math.Ceil(s/60-1e-9))
	}
	return fmt.Sprintf("%.1f h", math.Ceil(s/360-1e-9)/10)
}
