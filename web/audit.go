package web

import (
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/gin-gonic/gin"

	"stillwatch/permits"
	"stillwatch/permits/paper"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
	"stillwatch/web/sheets"
)

func (s *Server) auditShow(c *gin.Context) error { return s.auditAgain(c, screens.Back{}) }

// auditAgain shows the sight audit, with a form that was refused.
func (s *Server) auditAgain(c *gin.Context, b screens.Back) error {
	frame := s.base(c, "Sight audit", "board")
	frame.Live, frame.Back, frame.Path = true, b, "/audit"
	chosen := c.Query("tag")
	if b.Form == "sight" {
		chosen = b.Values.Get("tag")
	}
	return s.render(c, statusOfForm(b), "audit_show", screens.AuditOf(frame, s.setting(me(c)), chosen))
}

// sightOf reads what an auditor saw of a tag; code is that of the tag, where it was read.
func (f *form) sightOf(n int, code permits.TagCode) permits.SightTag {
	act := permits.SightTag{N: n, Seen: permits.Sight(f.text("seen")), Words: f.text("words")}
	if act.Seen == permits.AsFound && !code.IsZero() {
		act.Tag, act.How = code.Digest(), f.how()
	}
	return act
}

// tagSight takes what the auditor saw of the tag whose form the page showed.
func (s *Server) tagSight(c *gin.Context) error {
	f := formOf(c)
	d := doing{form: "sight", then: "/audit", again: s.auditAgain}
	id, n, ok := screens.ParseTagKey(f.text("tag"))
	if !ok {
		return notThere("There is no such tag.", "Choose one on the page of the audit.")
	}
	p, err := s.reg.Permit(c.Request.Context(), id)
	if err != nil {
		return err
	}
	l, _ := p.Lock(n)
	var code permits.TagCode
	if typed := codeTyped(f.text("code")); permits.Sight(f.text("seen")) == permits.AsFound {
		if typed == "" {
			f.wrong("code", "As it was left means that you read the tag. Scan it or type its code; or say that it cannot "+
				"be read.")
		}
		var no *permits.Refusal
		if code, err = permits.ParseTagCode(typed); errors.As(err, &no) {
			f.wrong("code", "%s", no.What)
		}
	}
	act := f.sightOf(n, code)
	act.Point = l.Step.Point
	d.permit, d.act, d.done = id, act, sightDone(act)
	return s.do(c, d)
}

// lockSight takes what the auditor saw of the tag whose own page was scanned.
func (s *Server) lockSight(c *gin.Context) error {
	tag, code, err := s.onTag(c)
	if err != nil {
		return s.tagFault(c, "sight", err)
	}
	act := formOf(c).sightOf(tag.Step, code)
	act.Point = tag.Point
	return s.do(c, doing{form: "sight", permit: tag.Permit, act: act, then: "/audit", done: sightDone(act),
		again: func(c *gin.Context, b screens.Back) error { return s.tagAgain(c, code.Text(), b) }})
}

// sightDone says what was recorded, and what comes of it.
func sightDone(a permits.SightTag) string {
	switch a.Seen {
	case permits.AsFound:
		return fmt.Sprintf("Recorded: %s was sighted, as it was left.", a.Point)
	case permits.WrongPosition:
		return fmt.Sprintf("Recorded: %s stands wrong. Work is stopped on every permit that holds it. Tell the officer of "+
			"the watch now.", a.Point)
	case permits.TagMissing:
		return fmt.Sprintf("Recorded: the tag at %s is missing. Work on its permit is stopped. Tell the officer of the "+
			"watch now.", a.Point)
	}
	return fmt.Sprintf("Recorded: the tag at %s cannot be read. Print it again from the permit's page, hang it, and "+
		"sight it again.", a.Point)
}

// auditSign takes the auditor's signature that every tag was sighted.
func (s *Server) auditSign(c *gin.Context) error {
	f := formOf(c)
	act := permits.SignAudit{Tags: f.count("tags", "The number of tags"), Each: true, Words: f.text("words")}
	return s.do(c, doing{form: "audit", act: act, then: "/audit", again: s.auditAgain, done: "The audit is signed."})
}

// auditEvery takes the chief engineer's word on how often tags are audited.
func (s *Server) auditEvery(c *gin.Context) error {
	act := permits.SetAuditEvery{Days: formOf(c).count("days", "The days")}
	return s.do(c, doing{form: "interval", act: act, then: "/audit", again: s.auditAgain,
		done: "Set: every tag is sighted at least every " + screens.Plural(act.Days, "day", "days") + "."})
}

func (s *Server) inspectionsList(c *gin.Context) error {
	return s.inspectionsAgain(c, c.Query("job"), screens.Back{})
}

// inspectionsAgain shows the inspections of the plans, with a form that was refused.
func (s *Server) inspectionsAgain(c *gin.Context, job string, b screens.Back) error {
	frame := s.base(c, "Inspection of the plans", "board")
	frame.Back, frame.Path = b, "/inspections"
	return s.render(c, statusOfForm(b), "inspections_list", screens.InspectionsOf(frame, s.setting(me(c)), job))
}

// planInspect takes the signature under the inspection of a plan.
func (s *Server) planInspect(c *gin.Context) error {
	f := formOf(c)
	act := permits.InspectPlan{Job: f.text("job"), Words: f.text("words"), Wrong: f.text("wrong")}
	for _, id := range f.Values["with"] {
		act.With = append(act.With, permits.PersonID(strings.TrimSpace(id)))
	}
	return s.do(c, doing{form: "inspect", act: act, then: "/inspections", done: "The inspection is signed.",
		again: func(c *gin.Context, b screens.Back) error { return s.inspectionsAgain(c, act.Job, b) }})
}

// findingsDays is for how long back the audit's sheet says what was found.
const findingsDays = 365

// auditPrint prints the tags that hang and the plans, with when each is due.
func (s *Server) auditPrint(c *gin.Context) error {
	tell := s.teller(c.Request.Context())
	sheet := sheets.Audit(s.setting(me(c)), tell)
	sheet.Stamp, sheet.Since = s.stamp(c), s.now().Add(-findingsDays*24*time.Hour).Local()
	entries, err := s.reg.Entries(c.Request.Context(), register.EntryQuery{Kind: permits.KindSightTag, Limit: entriesMost})
	if err != nil {
		return err
	}
	for _, e := range entries {
		if words, found := sheets.AuditFinding(e, tell); found && e.At.After(sheet.Since) {
			sheet.Findings = append(sheet.Findings, words)
		}
	}
	return s.print(c, "audit.pdf", func(w io.Writer) error { return paper.WriteAudit(w, sheet) })
}
