package screens

import (
	"cmp"
	"slices"
	"strconv"
	"strings"
	"time"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// AuditPage is the sight audit of the tags that hang: the next one to go to, then all of them in the order of the walk.
type AuditPage struct {
	Frame
	Due     DueLines
	Lines   []auditLine
	Next    *auditLine // the one whose form is shown; nil: none is left for whoever reads
	Sights  []permits.Sight
	SignNo  *permits.Refusal // why whoever reads cannot sign the audit yet; nil if they can
	Days    int
	Most    int
	Audited permits.Audited
}

// auditLine is one tag that hangs.
type auditLine struct {
	permits.TagDue
	Key   string // permit and step, for the form
	Kind  isolation.Kind
	Name  string
	Place string
	Own   bool // whoever reads fitted it or owns its lock, and so does not audit it
	Done  bool // sighted on this walk
	Left  string
	at    isolation.Place
}

// DueLines is what is due, for the board and the pages of what is due.
type DueLines struct {
	Tags, TagsOverdue, TagsSoon    int
	FirstTag                       time.Time // when the first is due; zero: no tag hangs
	Plans, PlansOverdue, PlansSoon int
	FirstPlan                      time.Time // zero: none is due
}

// DueOf counts what is due.
func DueOf(set permits.Setting) DueLines {
	var d DueLines
	for i, t := range permits.AuditDue(set) {
		if i == 0 {
			d.FirstTag = t.Due
		}
		d.Tags++
		d.TagsOverdue += count(t.Overdue)
		d.TagsSoon += count(t.Soon)
	}
	for _, p := range permits.InspectionsDue(set) {
		if p.Due.IsZero() {
			continue
		}
		if d.FirstPlan.IsZero() {
			d.FirstPlan = p.Due
		}
		d.Plans++
		d.PlansOverdue += count(p.Overdue)
		d.PlansSoon += count(p.Soon)
	}
	return d
}

// Overdue says what is overdue, in sentences; none if nothing is.
func (d DueLines) Overdue() []string {
	var out []string
	if d.TagsOverdue > 0 {
		out = append(out, "Audit overdue: "+Plural(d.TagsOverdue, "tag was", "tags were")+" not sighted in time.")
	}
	if d.PlansOverdue > 0 {
		out = append(out, "Inspection overdue: "+Plural(d.PlansOverdue, "plan", "plans")+".")
	}
	return out
}

func count(is bool) int {
	if is {
		return 1
	}
	return 0
}

// TagKey names a tag that hangs in a form: its permit and its step.
func TagKey(id permits.PermitID, step int) string { return PermitNumber(id) + "-" + strconv.Itoa(step) }

// ParseTagKey reads what TagKey wrote.
func ParseTagKey(text string) (id permits.PermitID, step int, ok bool) {
	permit, of, _ := strings.Cut(text, "-")
	n, err := strconv.ParseInt(permit, 10, 64)
	step, err2 := strconv.Atoi(of)
	return permits.PermitID(n), step, err == nil && err2 == nil && n > 0 && step > 0
}

// AuditOf puts every tag that hangs on the page. The form is that of the tag chosen, else of the first in the order of
// the walk that whoever reads may sight and that was not sighted on this walk.
func AuditOf(b Frame, set permits.Setting, chosen string) AuditPage {
	page := AuditPage{Frame: b, Due: DueOf(set), Sights: permits.Sights(), Days: set.Ship.AuditDays(),
		Most: permits.AuditMostDays, Audited: set.Ship.Audited, SignNo: permits.AuditOpen(set)}
	for _, d := range permits.AuditDue(set) {
		page.Lines = append(page.Lines, auditLineOf(set, d))
	}
	slices.SortStableFunc(page.Lines, func(x, y auditLine) int {
		return cmp.Or(cmp.Compare(y.at.Deck, x.at.Deck), cmp.Compare(x.at.Frame, y.at.Frame),
			strings.Compare(x.at.Side, y.at.Side), strings.Compare(string(x.Point), string(y.Point)))
	})
	for i := range page.Lines {
		l := &page.Lines[i]
		if l.Key == chosen && !l.Own || page.Next == nil && !l.Own && !l.Done && b.Me.IsCompetent() {
			page.Next = l
		}
		if l.Key == chosen && !l.Own {
			break
		}
	}
	return page
}

func auditLineOf(set permits.Setting, d permits.TagDue) auditLine {
	l := auditLine{TagDue: d, Key: TagKey(d.Permit, d.Step), Done: d.Seen(set.At), Left: "due " + dayWords(d.Due),
		Own: d.Hung.By == set.By.ID || d.Owner == set.By.ID, Place: isolation.Place{}.String()}
	switch {
	case !d.Unreadable.IsZero():
		l.Left = "cannot be read"
	case l.Done:
		l.Left = "sighted"
	case d.Overdue:
		l.Left = "overdue since " + dayWords(d.Due)
	}
	if set.Plant != nil {
		if n := set.Plant.Node(d.Point); n != nil {
			l.Name, l.Kind, l.Place, l.at = n.Name, n.Kind, n.Place.String(), n.Place
		}
	}
	return l
}

// listedMost is how many tags are listed without being folded away.
const listedMost = 12

// Long reports whether the list of tags is folded away.
func (p AuditPage) Long() bool { return len(p.Lines) > listedMost }

// LeftToOthers returns how many tags are left that whoever reads may not sight.
func (p AuditPage) LeftToOthers() int {
	n := 0
	for _, l := range p.Lines {
		n += count(l.Own && !l.Done)
	}
	return n
}

// DoneCount returns how many tags were sighted on this walk.
func (p AuditPage) DoneCount() int {
	n := 0
	for _, l := range p.Lines {
		n += count(l.Done)
	}
	return n
}

// SightWords says on the page what may be seen of a tag.
func SightWords(s permits.Sight) string {
	switch s {
	case permits.AsFound:
		return "As it was left"
	case permits.WrongPosition:
		return "Wrong position"
	case permits.TagMissing:
		return "Tag missing"
	}
	return "Cannot be read"
}

// InspectionsPage is the plans of the jobs with when each must be inspected next, and the form of an inspection.
type InspectionsPage struct {
	Frame
	Due   DueLines
	Lines []inspectionLine
	Job   *inspectionLine // whose form is shown; nil: none was chosen
	No    *permits.Refusal
}

// inspectionLine is the plan of one job.
type inspectionLine struct {
	permits.PlanDue
	Machine string
	Users   []permits.PersonID // who used it within the year
	State   string
}

// InspectionsOf puts the plan of every job on the page.
func InspectionsOf(b Frame, set permits.Setting, job string) InspectionsPage {
	page := InspectionsPage{Frame: b, Due: DueOf(set)}
	for _, d := range permits.InspectionsDue(set) {
		l := inspectionLine{PlanDue: d, Machine: d.Job.Machine, Users: set.Uses.Users(d.Job.ID, set.At)}
		if m := set.Plant.Machine(d.Job.Machine); m != nil {
			l.Machine = m.Name
		}
		switch {
		case d.Due.IsZero():
			l.State = "not used yet"
		case d.Overdue:
			l.State = "overdue since " + dayWords(d.Due)
		default:
			l.State = "due " + dayWords(d.Due)
		}
		page.Lines = append(page.Lines, l)
	}
	if i := slices.IndexFunc(page.Lines, func(l inspectionLine) bool { return l.Job.ID == job }); i >= 0 {
		page.Job = &page.Lines[i]
		page.No = permits.InspectOpen(set, job)
	}
	return page
}

// Inspectors is the signing part of the form: those who have not used the plan.
func (p InspectionsPage) Inspectors() signBox {
	box := p.Sign("inspect", string(permits.KindInspectPlan))
	box.People = slices.DeleteFunc(box.People, func(s Signer) bool {
		return slices.Contains(p.Job.Users, permits.PersonID(s.ID))
	})
	return box
}

// TookPart reports whether somebody was ticked as having taken part, in a form that was refused.
func (p InspectionsPage) TookPart(id permits.PersonID) bool {
	return p.Picked("inspect", "with", string(id))
}

// dayWords returns the day on the ship.
func dayWords(t time.Time) string { return t.Local().Format("2 Jan 2006") }
