package web

import (
	"io"
	"slices"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/paper"
)

// tagsPrint prints the lock tags of an authorised permit.
func (s *Server) tagsPrint(c *gin.Context) error {
	p, err := s.permitOf(c)
	if err != nil {
		return err
	}
	if p.State().IsOver() || p.Authorised().IsZero() {
		return &permits.Refusal{Kind: permits.Refused, Gate: "print", What: "Permit " + permitNumber(p.ID()) + " is " +
			p.State().String() + ": it has no tags that could be hung.",
			Opens: "Tags exist from the authorisation until the permit is over."}
	}
	codes, err := s.reg.TagCodes(c.Request.Context(), p.ID())
	if err != nil {
		return err
	}
	sheet := paper.LockTagSheet{Stamp: s.stamp(c)}
	name := s.teller(c.Request.Context()).name
	held := s.reg.Held()
	for _, l := range p.Locks() {
		t := lockTag(p, l, name)
		if code, drawn := codes[l.Step.N]; drawn {
			t.Code, t.URL = code.Text(), s.tagURL(c, code)
		}
		for _, h := range held.At(l.Step.Point, p.ID()) {
			t.SharedWith = append(t.SharedWith, permitNumber(h.Permit))
		}
		sheet.Tags = append(sheet.Tags, t)
	}
	return s.print(c, "permit-"+permitNumber(p.ID())+"-tags.pdf",
		func(w io.Writer) error { return paper.WriteLockTags(w, sheet) })
}

// lockTag puts one step on a tag; code and address come from whoever prints it.
func lockTag(p permits.Permit, l permits.Lock, name func(permits.PersonID) string) paper.LockTag {
	t := paper.LockTag{
		Permit: permitNumber(p.ID()), Title: p.Plan().Title, Machine: p.Plan().MachineName, Step: l.Step.N,
		Of:    len(p.Locks()),
		Point: string(l.Step.Point), Name: l.Step.Name, Place: paperPlace(l.Step.Place),
		Held: paperPosition(l.Step.Kind, l.Step.Position), Clearance: paperPosition(l.Step.Kind, l.Step.Clearance),
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

// labelsPrint prints the labels of points that were issued; with ?point= only those.
func (s *Server) labelsPrint(c *gin.Context) error {
	codes, err := s.reg.LabelCodes(c.Request.Context())
	if err != nil {
		return err
	}
	plant := s.reg.Plant()
	if plant == nil {
		return notThere("No plant file is in force.", "The chief engineer puts one in force.")
	}
	only := c.QueryArray("point")
	sheet := paper.PointLabelSheet{Stamp: s.stamp(c)}
	for _, n := range plant.Points() {
		code, issued := codes[n.ID]
		if !issued || len(only) > 0 && !slices.Contains(only, string(n.ID)) {
			continue
		}
		sheet.Labels = append(sheet.Labels, paper.PointLabel{Point: string(n.ID), Name: n.Name, Kind: string(n.Kind),
			Place: paperPlace(n.Place), URL: s.tagURL(c, code), Code: code.Text()})
	}
	return s.print(c, "point-labels.pdf", func(w io.Writer) error { return paper.WritePointLabels(w, sheet) })
}
