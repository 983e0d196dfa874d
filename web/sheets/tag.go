package sheets

import (
	"slices"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/paper"
	"stillwatch/web/screens"
)

// LockTag puts one step on a tag; code and address come from whoever prints it.
func LockTag(p permits.Permit, l permits.Lock, name func(permits.PersonID) string) paper.LockTag {
	t := paper.LockTag{
		Permit: screens.PermitNumber(p.ID()), Title: p.Plan().Title, Machine: p.Plan().MachineName, Step: l.Step.N,
		Of:    len(p.Locks()),
		Point: string(l.Step.Point), Name: l.Step.Name, Place: Place(l.Step.Place),
		Held: Position(l.Step.Kind, l.Step.Position), Clearance: Position(l.Step.Kind, l.Step.Clearance),
		Proves: provesDrained(p, l), TagOnly: !l.Step.Lock, Measure: l.Step.Measure, LockNumber: string(l.Padlock),
		AuthorisedBy: name(p.Authorised().By), AuthorisedAt: p.Authorised().At.Local(), ValidUntil: p.Until().Local(),
	}
	if l.IsOn() {
		t.FittedBy, t.FittedAt = name(l.Fitted.By), l.Fitted.At.Local()
	}
	if l.IsChecked() {
		t.CheckedBy, t.CheckedAt = name(l.Checked.By), l.Checked.At.Local()
	}
	return t
}

// provesDrained reports whether a step opens a drain or vent that proves a section empty.
func provesDrained(p permits.Permit, l permits.Lock) bool {
	return slices.ContainsFunc(p.Plan().Sections, func(sec isolation.Section) bool {
		return l.Step.Position == isolation.Open && (slices.Contains(sec.Drains, l.Step.Point) ||
			slices.Contains(sec.Vents, l.Step.Point))
	})
}
