package sheets

import (
	"stillwatch/permits"
	"stillwatch/permits/paper"
	"stillwatch/web/screens"
)

// Audit returns the sheet of the tags that hang and of the plans, as they are due.
func Audit(set permits.Setting, tell *screens.Teller) paper.AuditSheet {
	page := screens.AuditOf(screens.Frame{}, set, "")
	sheet := paper.AuditSheet{At: set.At.Local(), Every: page.Days, Longest: page.Most, Sighted: page.Audited.Tags}
	if by := page.Audited.By; by != "" {
		sheet.Signed = paper.Signature{Name: tell.Name(by), Act: "signed the audit", At: page.Audited.At.Local()}
	}
	for _, l := range page.Lines {
		t := paper.AuditTag{Permit: screens.PermitNumber(l.Permit), Step: l.Step, Point: string(l.Point), Name: l.Name,
			Held: Position(l.Kind, l.Position), Lock: string(l.Padlock), HungBy: tell.Name(l.Hung.By),
			HungAt: l.Hung.At.Local(), Due: l.TagDue.Due.Local(), Overdue: l.Overdue}
		if set.Plant != nil && set.Plant.Node(l.Point) != nil {
			t.Place = Place(set.Plant.Node(l.Point).Place)
		}
		if !t.Held.IsSet() { // another plant file is in force, which does not have the point
			t.Held = paper.Position{Mark: paper.OtherWord, Word: string(l.Position)}
		}
		if !l.Sighted.IsZero() {
			t.SeenBy, t.SeenAt = tell.Name(l.Sighted.By), l.Sighted.At.Local()
		}
		if !l.Unreadable.IsZero() {
			t.Note = "CANNOT BE READ: hang a new one"
		}
		sheet.Tags = append(sheet.Tags, t)
	}
	for _, l := range screens.InspectionsOf(screens.Frame{}, set, "").Lines {
		p := paper.AuditPlan{Job: l.Job.ID, Machine: l.Machine, Title: l.Job.Title, Overdue: l.Overdue,
			Wrong: l.Last.Act.Wrong}
		if !l.PlanDue.Due.IsZero() {
			p.Due = l.PlanDue.Due.Local()
		}
		if !l.Last.IsZero() {
			p.By, p.At = tell.Name(l.Last.By), l.Last.At.Local()
			for _, id := range l.Last.Act.With {
				p.With = append(p.With, tell.Name(id))
			}
		}
		sheet.Plans = append(sheet.Plans, p)
	}
	return sheet
}

// AuditFinding says what an entry of an audit found; ok is false for a tag as it was left.
func AuditFinding(e permits.Entry, tell *screens.Teller) (words string, ok bool) {
	a, is := e.Act.(permits.SightTag)
	if !is || a.Seen == permits.AsFound {
		return "", false
	}
	return e.At.Local().Format("2006-01-02 15:04 -07:00") + ", " + tell.Name(e.By) + ", permit " +
		screens.PermitNumber(e.Permit) + ": " + tell.Tell(e), true
}
