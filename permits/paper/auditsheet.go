package paper

import (
	"fmt"
	"io"
	"time"
)

// AuditSheet is every tag that hangs, and the plan of every job, with when each was looked at last and must be next.
type AuditSheet struct {
	Stamp
	At       time.Time // when it was printed: what stands in it was so then
	Every    int       // days between two sights of a tag
	Longest  int       // days that these may be at most
	Signed   Signature // under the last audit; zero: none was signed
	Sighted  int       // tags in that
	Tags     []AuditTag
	Plans    []AuditPlan
	Findings []string // what audits found, newest first, in words
	Since    time.Time
}

// AuditTag is one tag that hangs.
type AuditTag struct {
	Permit  string // must not be empty
	Step    int
	Point   string // must not be empty
	Name    string
	Place   Place
	Held    Position // must be set
	Lock    string   // "" where a tag hangs alone
	HungBy  string
	HungAt  time.Time
	SeenBy  string // "" if no audit has seen it
	SeenAt  time.Time
	Due     time.Time
	Overdue bool
	Note    string
}

// AuditPlan is the plan of one job.
type AuditPlan struct {
	Job, Machine, Title string
	By                  string // who inspected it last; "" if nobody has
	At                  time.Time
	With                []string
	Wrong               string    // what was found wrong
	Due                 time.Time // zero: it has not been used
	Overdue             bool
}

// WriteAudit writes the sheet as PDF. Refuses (ErrIncomplete) a tag without permit, point or position. Nothing is
// written on error.
func WriteAudit(w io.Writer, s AuditSheet) error {
	for _, t := range s.Tags {
		if t.Permit == "" || t.Point == "" || !t.Held.IsSet() {
			return fmt.Errorf("%w: the tag of step %d has no permit, no point or no position", ErrIncomplete, t.Step)
		}
	}
	return produce(w, s.Stamp, func(p *sheet) error {
		p.begin("AUDIT OF TAGS AND PLANS", "")
		p.auditFacts(s)
		p.heading("Tags that hang, in the order of the walk", 20)
		if len(s.Tags) == 0 {
			p.para(sans, "No tag hung at the entry of the log named below.")
		} else {
			p.auditTags(s.Tags)
		}
		p.heading("What audits found since "+clock(s.Since), 8)
		p.list(s.Findings, "Nothing but tags as they were left.")
		p.heading("Plans, each inspected at least yearly by somebody who has not used it within the year", 20)
		if len(s.Plans) == 0 {
			p.para(sans, "No plant file with jobs is in force.")
		} else {
			p.auditPlans(s.Plans)
		}
		p.para(sans, paperCounts)
		return nil
	})
}

// auditFacts says how many there are and how many are overdue.
func (p *sheet) auditFacts(s AuditSheet) {
	tags, plans := 0, 0
	for _, t := range s.Tags {
		tags += one(t.Overdue)
	}
	for _, t := range s.Plans {
		plans += one(t.Overdue)
	}
	p.fact("As it stood at", clock(s.At))
	p.fact("Tags that hang", fmt.Sprintf("%d, of these overdue: %d", len(s.Tags), tags))
	p.fact("Plans", fmt.Sprintf("%d, of these overdue: %d", len(s.Plans), plans))
	p.fact("Each tag sighted", fmt.Sprintf("at least every %d days (never less often than every %d), by somebody who "+
		"neither fitted it nor owns its lock; by sight only, nothing is operated", s.Every, s.Longest))
	last := "none was signed yet"
	if s.Signed.IsSigned() {
		last = fmt.Sprintf("%s; %d tags", signatureWords(s.Signed), s.Sighted)
	}
	p.fact("Last audit signed", last)
	if tags > 0 {
		p.framed(fmt.Sprintf("OVERDUE: %d of %d tags have not been sighted in time.", tags, len(s.Tags)))
	}
	if plans > 0 {
		p.framed(fmt.Sprintf("OVERDUE: %d of %d plans have not been inspected in time.", plans, len(s.Plans)))
	}
}

func one(is bool) int {
	if is {
		return 1
	}
	return 0
}

// auditTags draws the table of the tags.
func (p *sheet) auditTags(tags []AuditTag) {
	cols := []column{{"Permit, step", 17, mono}, {"Point", 43, sans}, {"Must be", 25, bold}, {"Lock", 17, mono},
		{"Hung", 26, sans}, {"Sighted last", 26, sans}, {"Due", 24, sans}}
	var rows [][]cell
	for _, t := range tags {
		where := t.Point + " " + t.Name
		if place := t.Place.String(); place != "" {
			where += ", " + place
		}
		seen := "never"
		if t.SeenBy != "" {
			seen = clock(t.SeenAt) + " " + t.SeenBy
		}
		due := clock(t.Due)
		if t.Overdue {
			due = "OVERDUE since " + due
		}
		if t.Note != "" {
			due = t.Note
		}
		row := texts(fmt.Sprintf("%s, %d", t.Permit, t.Step), where, "", t.Lock, clock(t.HungAt)+" "+t.HungBy, seen, due)
		row[2].pos = t.Held
		rows = append(rows, row)
	}
	p.table(cols, rows)
}

// auditPlans draws the table of the plans.
func (p *sheet) auditPlans(plans []AuditPlan) {
	cols := []column{{"Job", 58, sans}, {"Inspected last", 38, sans}, {"With", 30, sans}, {"Found", 28, sans},
		{"Due", 24, sans}}
	var rows [][]cell
	for _, t := range plans {
		last, found, due := "never", "", clock(t.Due)
		if t.By != "" {
			last, found = clock(t.At)+" "+t.By, "nothing to put right"
		}
		if t.Wrong != "" {
			found = "WRONG: " + t.Wrong
		}
		switch {
		case t.Due.IsZero():
			due = "not used yet"
		case t.Overdue:
			due = "OVERDUE since " + due
		}
		rows = append(rows, texts(t.Machine+": "+t.Title+" ("+t.Job+")", last, joinNames(t.With), found, due))
	}
	p.table(cols, rows)
}

// joinNames joins names; none is nothing.
func joinNames(names []string) string {
	if len(names) == 0 {
		return ""
	}
	return orNobody(names)
}
