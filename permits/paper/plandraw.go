package paper

import (
	"fmt"
	"math"
	"strings"
)

// planHead says what the plan is for, from what it was made, and that it is no permit.
func (p *sheet) planHead(s PlanSheet) {
	p.title(strings.TrimPrefix(s.Machine+": "+s.JobTitle, ": "))
	if len(s.Uncut) > 0 {
		p.framed("NO PLAN. Do not open anything: this job can't be isolated with the points that there are.")
	}
	p.fact("Job", s.JobID)
	p.fact("Opened", strings.Join(s.Opens, ", "))
	if len(s.KeptOff) > 0 {
		p.fact("Kept off, not opened", strings.Join(s.KeptOff, ", "))
	}
	p.fact("Exposure", s.Exposure)
	p.fact("Permit", s.Permit)
	p.fact("Plant", s.PlantName)
	p.fact("Plant file, SHA-256", s.PlantSHA256)
	p.fact("Rules", s.RulesName)
	if len(s.Uncut) == 0 {
		p.fact("Locks and tags", fmt.Sprintf("%d points are held, %d by a lock", len(s.Steps), s.Locks))
		p.fact("Fewest points", fewestPoints(s))
		p.fact("Independent check", s.Checked)
	}
	p.y += 1
	if len(s.Uncut) > 0 {
		return
	}
	p.para(bold, "This sheet plans; it permits nothing. Work begins when the permit is live.")
}

// fewestPoints says what was proved about the number of points, and no more.
func fewestPoints(s PlanSheet) string {
	switch head := fmt.Sprintf("%d isolate. ", s.Cost); s.LowerBound {
	case s.Cost:
		return head + "No plan with fewer exists."
	case 0:
		return head + "It is not proved that no fewer would do."
	default:
		return head + fmt.Sprintf("It is proved that fewer than %d do not; between the two nothing is proved.", s.LowerBound)
	}
}

// planUncut says which path is the reason that there is no plan.
func (p *sheet) planUncut(s PlanSheet) {
	p.heading("Paths from a source to the work that can't be cut as the rules demand", 10)
	p.y += 1
	var paths []string
	for _, path := range s.Uncut {
		paths = append(paths, strings.Join(path, " → "))
	}
	p.list(paths, "–")
}

// planSources lists what could reach the work and how the rules want it cut.
func (p *sheet) planSources(s PlanSheet) {
	p.heading("Sources of energy", 18)
	var rows [][]cell
	for _, src := range s.Sources {
		met := "met"
		if !src.Met {
			met = "NOT MET"
		}
		rows = append(rows, texts(src.ID, src.Name, strings.TrimPrefix(src.Energy+": "+src.State, ": "), src.Demand, met,
			src.Because))
	}
	if len(rows) == 0 {
		p.para(sans, "The plan found none that reaches what is opened.")
		return
	}
	p.table([]column{{"source", 27, mono}, {"name", 34, sans}, {"energy and state", 36, sans},
		{"demand", 14, bold}, {"result", 15, bold}, {"because", 52, sans}}, rows)
}

// planUnproved says what the plan leaves open. A plan that proves everything says that too.
func (p *sheet) planUnproved(s PlanSheet) {
	p.heading("What this plan does not prove", 8)
	p.list(s.Unproved, "Nothing is listed. The plan knows only what the plant file says.")
}

// planChanges is what plans this one stands in place of, and what each change was; nothing for a first plan.
func (p *sheet) planChanges(list []PlanChange) {
	for _, c := range list {
		p.heading(fmt.Sprintf("Plan %d, in place of plan %d of this permit", c.Number+1, c.Number), 12)
		p.para(sans, "Work was added. Authorised by "+c.By+", "+clock(c.At)+". What hung stayed on; the new points came "+
			"after.")
		p.list(c.Words, "Nothing is another.")
	}
}

// planRestore is how the plant comes back: the locks in the reverse order, and what is done between them, with why.
func (p *sheet) planRestore(s PlanSheet) {
	p.heading("4  When the work is done: the way back, in this order", 12)
	p.tasks(s.Restore)
}

// planOrder is the order of work: before, the points, after.
func (p *sheet) planOrder(s PlanSheet) {
	p.heading("1  Before the first lock: warn, change over, stop", 12)
	p.tasks(s.Before)
	p.heading("2  Isolate, lock and tag, in this order; take off in the exact reverse", 24)
	rows := make([][]cell, 0, len(s.Steps))
	for _, st := range s.Steps {
		lock := "lock and tag"
		if !st.Lock {
			lock = "tag only"
			if st.Measure != "" {
				lock += "; also " + st.Measure
			}
		}
		row := texts(fmt.Sprint(st.N), st.Phase, st.Point, withCuts(st), "", lock, st.Place.String(), "")
		row[4].pos, row[7].pos = st.Held, st.Clearance
		rows = append(rows, row)
	}
	p.table([]column{{"no.", 8, bold}, {"phase", 17, sans}, {"point", 22, mono}, {"name · cuts", 39, sans},
		{"held", 26, bold}, {"by", 21, sans}, {"place", 22, sans}, {"returns to", 23, sans}}, rows)
	p.heading("3  After the last lock: drain, vent and prove", 12)
	p.tasks(s.Proofs)
}

// withCuts is a step's name with the sources that it cuts, and what is read first.
func withCuts(st PlanStep) string {
	parts := []string{st.Name}
	if len(st.Cuts) > 0 {
		parts = append(parts, "cuts "+strings.Join(st.Cuts, ", "))
	}
	if len(st.First) > 0 {
		parts = append(parts, "FIRST READ "+strings.Join(st.First, ", "))
	}
	return strings.TrimPrefix(strings.Join(parts, " · "), " · ")
}

// tasks writes what to do, each behind its phase and a box to tick while working.
func (p *sheet) tasks(tasks []PlanTask) {
	if len(tasks) == 0 {
		p.para(sans, "Nothing is planned here.")
		return
	}
	for _, t := range tasks {
		p.setFace(sans, bodyPt)
		p.room(2 * p.lineMM())
		p.pdf.Rect(leftMM+0.5, p.y+0.8, 2.4, 2.4, "D")
		p.block(box{x: leftMM + 5, y: p.y, w: 22, h: 4, face: bold, maxPt: bodyPt, minPt: 5}, t.Phase)
		before := p.y
		p.indented(28, sans, t.Text)
		if p.y == before {
			p.y += 4
		}
		p.y += 0.6
	}
}

// planSections lists what has to come out of each isolated section.
func (p *sheet) planSections(s PlanSheet) {
	p.heading("Sections to drain", 20)
	if len(s.Sections) == 0 {
		p.para(sans, "The plan found none that holds liquid.")
		return
	}
	rows := make([][]cell, 0, len(s.Sections))
	for _, d := range s.Sections {
		fluid := strings.TrimPrefix(fmt.Sprintf("%s, %.0f °C", d.Fluid, d.TempC), ", ")
		rows = append(rows, texts(d.Name, fluid, fmt.Sprintf("%s ± %s", litres(d.OutL), litres(d.SpreadL)),
			litres(d.KeptL), d.Drain, orNone(d.Vent), drainTime(d), drainProof(d)))
	}
	p.table([]column{{"section", 28, bold}, {"fluid", 22, sans}, {"must come out, litres", 21, bold},
		{"stays, litres", 14, sans},
		{"drain", 20, mono}, {"vent", 20, mono}, {"time", 18, sans}, {"proof and pockets", 35, sans}}, rows)
}

// drainTime is the predicted time, or that there is none.
func drainTime(d PlanSection) string {
	if d.TimeUnknown {
		return "not known"
	}
	return duration(d.Time)
}

// drainProof says whether draining proves anything, and where liquid stays.
func drainProof(d PlanSection) string {
	s := "Proves, once measured."
	if !d.Provable {
		s = "PROVES NOTHING."
	}
	if d.Why != "" {
		s += " " + d.Why
	}
	if len(d.Pockets) > 0 {
		s += " Stays in: " + strings.Join(d.Pockets, ", ") + "."
	}
	return s
}

// planStored lists the stored energies with their limits.
func (p *sheet) planStored(s PlanSheet) {
	p.heading("Stored energy: a wait is only a prediction, a reading opens the gate", 20)
	if len(s.Stored) == 0 {
		p.para(sans, "None is recorded for this machine.")
		return
	}
	rows := make([][]cell, 0, len(s.Stored))
	for _, e := range s.Stored {
		wait := "not known"
		if !e.WaitUnknown {
			wait = duration(e.Wait)
		}
		rows = append(rows, texts(e.Name, e.Kind, e.Figure, e.Limit, wait, e.Read, e.Source))
	}
	p.table([]column{{"what", 32, bold}, {"kind", 20, sans}, {"now at most", 24, sans}, {"limit", 24, bold},
		{"wait", 19, sans}, {"read or see", 29, sans}, {"source", 30, sans}}, rows)
}

// planConsequences says what the isolation does to the rest of the ship.
func (p *sheet) planConsequences(s PlanSheet) {
	p.heading("Must run first", 8)
	p.list(s.Standby, "No standby is named.")
	p.heading("Loses its supply", 8)
	p.list(s.Lost, "The plan found nothing.")
	p.heading("Other open permits that hold one of these points", 8)
	p.list(s.Shared, "The plan found none.")
	p.heading("If one point passed", 18)
	if len(s.Passing) == 0 {
		p.para(sans, "The plan found no single point whose passing lets anything reach the work.")
		return
	}
	rows := make([][]cell, 0, len(s.Passing))
	for _, c := range s.Passing {
		rows = append(rows, texts(c.Point, c.Reaches))
	}
	p.table([]column{{"if this passes", 36, mono}, {"this reaches the work", 142, sans}}, rows)
}

// orNone is s, or "none" where a missing part must be seen to be missing.
func orNone(s string) string {
	if s == "" {
		return "none"
	}
	return s
}

// litres is a volume with as many digits as can be poured: tenths below 100 l.
// A figure that is no number is "not known".
func litres(l float64) string {
	if math.IsNaN(l) || math.IsInf(l, 0) {
		return "not known"
	}
	if l > -100 && l < 100 {
		return fmt.Sprintf("%.1f", l)
	}
	return fmt.Sprintf("%.0f", l)
}
