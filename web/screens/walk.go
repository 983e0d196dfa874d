package screens

import (
	"stillwatch/isolation"
	"stillwatch/permits"
)

// WalkPage is the walk past all points of a permit, on one page: the step that is next with its form, and those
// after it ready in the page, so that the phone needs no line between two points. While there is no line the page's
// script keeps what was fitted on the phone; taking off waits for the line, since without it nobody can say whether a
// lock may come off.
type WalkPage struct {
	Frame
	ID      permits.PermitID
	State   permits.State
	Machine string
	Job     string
	Alarms  []permits.Alarm
	Steps   []walkRow
	// the first is next, each later one comes when those before it are done; none: nothing is fitted or taken off
	Forms []stepForm
	Due   *dueStep // what is done before the next lock comes off
	Waits string   // what the permit waits for then

	Looks  bool           // it is the second person's walk
	Looked []permits.Lock // what whoever reads has looked at and not signed yet
}

// walkRow is one point of the walk's list.
type walkRow struct {
	N             int
	Point         isolation.NodeID
	Status, Class string
	Where         string
}

// Fits reports whether locks are fitted on this walk; otherwise they come off.
func (p WalkPage) Fits() bool { return len(p.Forms) > 0 && p.Forms[0].V.Use == permits.UseFit }

// RestoreForm returns the form for what is done between two locks; where is "" or "/walk".
func (p WalkPage) RestoreForm(a dueStep, where string) restoreForm {
	return restoreForm{p.Frame, p.ID, a, where}
}

// restoreForm is the form that signs what is done between two locks.
type restoreForm struct {
	B     Frame
	ID    permits.PermitID
	Step  dueStep
	Where string // part of the address: on the walk it leads back to the walk
}

// Ahead returns the forms that come later.
func (p WalkPage) Ahead() []stepForm { return p.Forms[min(1, len(p.Forms)):] }

// stepForm is the form by which one tag is hung or taken off: on the tag's own page, and on the walk, where there may
// be many, so that its parts have names: templates find those several times faster than what is embedded.
type stepForm struct {
	B      Frame
	V      TagView
	Action string     // address to which it is sent
	Later  bool       // it waits in the page: the page's script says where it goes, who fills it in, and the act's id
	Asks   bool       // the tag's code is a field of the form
	How    string     // how the code came here
	Label  *ReadLabel // the point label that was scanned before
}

// NextStep tells a script which step of a permit is next, so that it shows no later form that has become wrong.
type NextStep struct {
	N      int                `json:"n"`
	Barred bool               `json:"barred,omitempty"` // the page says why
	Leave  isolation.Position `json:"leave,omitempty"`  // in which a point must be left
}

// ViewWalk makes the page of fitting and taking off for whoever reads.
func ViewWalk(b Frame, set permits.Setting, p permits.Permit) WalkPage {
	page := newWalk(b, WalkPath(p.ID()), set, p)
	for _, use := range permits.Walk(set, p) {
		if page.put(viewUse(set, p, use), string(use.Use)); use.No != nil {
			break
		}
	}
	if page.Due = dueOf(set, p); page.Due != nil {
		page.Forms = nil
	}
	if len(page.Forms) == 0 {
		page.Waits = waitsFor(set, p)
	}
	return page
}

// ViewLooks makes the page of the second person's walk: the looks that are still to be made, and the list that whoever
// reads signs at its end.
func ViewLooks(b Frame, set permits.Setting, p permits.Permit) WalkPage {
	page := newWalk(b, LooksPath(p.ID()), set, p)
	page.Looks = true
	for _, use := range permits.Looks(set, p) {
		page.put(viewUse(set, p, use), "look")
	}
	page.Looked = p.LooksOf(b.Me.ID)
	for _, l := range page.Looked {
		page.Steps[l.Step.N-1].Status, page.Steps[l.Step.N-1].Class = "looked at", "lk-looked-at"
	}
	if len(page.Forms) == 0 {
		page.Waits = waitsFor(set, p)
	}
	return page
}

// newWalk is a walk without its forms.
func newWalk(b Frame, path string, set permits.Setting, p permits.Permit) WalkPage {
	b.Live, b.Path = true, path
	page := WalkPage{Frame: b, ID: p.ID(), State: p.State(), Machine: p.Plan().MachineName, Job: p.Plan().Title,
		Alarms: AlarmsOf(set, p)}
	for _, l := range lockViews(set, p) {
		page.Steps = append(page.Steps, walkRow{l.Step.N, l.Step.Point, l.Status, "lk-" + Slug(l.Status), l.Step.Name + ", " +
			l.Step.Place.String()})
	}
	return page
}

// put adds the form of one tag; the first is shown, the others wait in the page.
func (p *WalkPage) put(v TagView, does string) {
	f := stepForm{V: v, Asks: true, How: "typed", Later: len(p.Forms) > 0}
	if !f.Later {
		f.B, f.Action = p.Frame, WalkPath(p.ID)+"/"+does
	}
	p.Forms = append(p.Forms, f)
}

// waitsFor says in a sentence what a permit waits for first; "" for one that is over.
func waitsFor(set permits.Setting, p permits.Permit) string {
	for _, n := range permits.WhatNext(set, p) {
		return "The permit waits for the " + n.Who + ". " + n.What
	}
	return ""
}
