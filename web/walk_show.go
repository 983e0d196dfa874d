package web

import (
	"strings"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
)

// walkShowPage is the walk past all points of a permit, on one page: the step that is next with its form, and those
// after it ready in the page, so that the phone needs no line between two points. While there is no line the page's
// script keeps what was fitted on the phone; taking off waits for the line, since without it nobody can say whether a
// lock may come off.
type walkShowPage struct {
	base
	ID      permits.PermitID
	State   permits.State
	Machine string
	Job     string
	Alarms  []permits.Alarm
	Steps   []walkRow
	// the first is next, each later one comes when those before it are done; none: nothing is fitted or taken off
	Forms []stepForm
	Waits string // what the permit waits for then
}

// walkRow is one point of the walk's list.
type walkRow struct {
	N             int
	Point         isolation.NodeID
	Status, Class string
	Where         string
}

// Fits reports whether locks are fitted on this walk; otherwise they come off.
func (p walkShowPage) Fits() bool { return len(p.Forms) > 0 && p.Forms[0].V.Use == permits.UseFit }

// Ahead returns the forms that come later.
func (p walkShowPage) Ahead() []stepForm { return p.Forms[min(1, len(p.Forms)):] }

// stepForm is the form by which one tag is hung or taken off: on the tag's own page, and on the walk, where there may
// be many, so that its parts have names: templates find those several times faster than what is embedded.
type stepForm struct {
	B      base
	V      tagView
	Action string     // address to which it is sent
	Later  bool       // it waits in the page: the page's script says where it goes, who fills it in, and the act's id
	Asks   bool       // the tag's code is a field of the form
	How    string     // how the code came here
	Label  *readLabel // the point label that was scanned before
}

// nextStep tells a script which step of a permit is next, so that it shows no later form that has become wrong.
type nextStep struct {
	N      int                `json:"n"`
	Barred bool               `json:"barred,omitempty"` // the page says why
	Leave  isolation.Position `json:"leave,omitempty"`  // in which a point must be left
}

func walkPath(id permits.PermitID) string { return permitPath(id) + "/walk" }

// onWalk reports whether a form came from the walk and not from a tag's own page.
func onWalk(c *gin.Context) bool { return strings.Contains(c.FullPath(), "/walk") }

func (s *Server) walkShow(c *gin.Context) error { return s.walkAgain(c, back{}) }

// walkAgain shows the walk, with a form that was refused.
func (s *Server) walkAgain(c *gin.Context, b back) error {
	p, err := s.permitOf(c)
	if err != nil {
		return err
	}
	page := viewWalk(s.base(c, "Walk of permit "+permitNumber(p.ID()), "permits"), s.setting(me(c)), p)
	page.back = b
	if len(page.Forms) > 0 {
		page.Forms[0].B.back = b
	}
	return s.render(c, b.status(), "walk_show", page)
}

// viewWalk makes the page for whoever reads.
func viewWalk(b base, set permits.Setting, p permits.Permit) walkShowPage {
	b.Live, b.Path = true, walkPath(p.ID())
	page := walkShowPage{base: b, ID: p.ID(), State: p.State(), Machine: p.Plan().MachineName, Job: p.Plan().Title,
		Alarms: permits.Alarms(set, p)}
	for _, l := range lockViews(p) {
		page.Steps = append(page.Steps, walkRow{l.Step.N, l.Step.Point, l.Status, "lk-" + slug(l.Status), l.Step.Name + ", " +
			l.Step.Place.String()})
	}
	for _, use := range permits.Walk(set, p) {
		v := viewUse(set, p, use)
		f := stepForm{V: v, Asks: true, How: "typed", Later: len(page.Forms) > 0}
		if !f.Later {
			f.B, f.Action = b, walkPath(p.ID())+"/"+string(v.Use)
		}
		page.Forms = append(page.Forms, f)
		if v.Barred() {
			break
		}
	}
	if len(page.Forms) == 0 {
		page.Waits = waitsFor(set, p)
	}
	return page
}

// waitsFor says in a sentence what a permit waits for first; "" for one that is over.
func waitsFor(set permits.Setting, p permits.Permit) string {
	for _, n := range permits.WhatNext(set, p) {
		return "The permit waits for the " + n.Who + ". " + n.What
	}
	return ""
}

// nextOnWalk tells a script what is next on a permit for whoever is signed in.
func (s *Server) nextOnWalk(c *gin.Context, p permits.Permit) *nextStep {
	for _, use := range permits.Walk(s.setting(me(c)), p) {
		return &nextStep{N: use.Lock.Step.N, Barred: use.No != nil, Leave: use.Leave}
	}
	return nil
}
