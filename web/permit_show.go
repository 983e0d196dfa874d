package web

import (
	"slices"
	"strconv"
	"time"

	"github.com/gin-gonic/gin"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/oilrecord"
	"stillwatch/permits/register"
)

// permitShowPage is everything about one permit: what is next and for whom, the way, the locks, the readings, the
// people, and the forms of all acts that may follow now.
type permitShowPage struct {
	base
	permitView
	History []entryLine
	Older   bool              // there is more history than is shown
	Oil     []oilrecord.Draft // for the officer, who writes the book
}

// permitView is what of a permit the pages show, beyond its own methods.
type permitView struct {
	P         permits.Permit
	Alarms    []permits.Alarm
	Passing   []isolation.NodeID // points of this permit that are recorded as passing
	Plan      planView
	Next      []nextView
	Way       []wayMark
	Locks     []lockView
	Owners    []permits.PersonID // who still has a lock on, for releasing an absent owner's
	Unproved  []string
	Overdue   bool
	Left      float64 // seconds until the authorisation runs out
	MostHours float64
	Wait      permits.OpeningTime // how long to wait before the work could be opened; never a proof
	Waits     []waitView          // each wait that runs
	Master    bool                // the master's signature is waited for
	// which form of the work itself is next for the reader: "sign-on", "sign-off" or "hand-back"
	WorkTurn string
	set      permits.Setting
	history  permits.History
}

// nextView is one thing that a permit waits for, with what a reader could do marked.
type nextView struct {
	permits.Next
	Yours bool
}

// nextViews returns what a permit waits for.
func nextViews(set permits.Setting, p permits.Permit) []nextView {
	var out []nextView
	for _, n := range permits.WhatNext(set, p) {
		out = append(out, nextView{n, n.IsFor(set.By)})
	}
	return out
}

// Form returns the name of the form on the permit's page that does it; "" where a tag is scanned.
func (n nextView) Form() string {
	switch n.Kind {
	case permits.KindRecordDrain:
		return "drain:" + n.At.Section
	case permits.KindRecordStored:
		return "reading:" + n.At.Check
	case permits.KindRecordDead:
		return "dead:" + n.At.Test
	case permits.KindRecordStart:
		return "start"
	case permits.KindFitLock, permits.KindCheckLock, permits.KindRemoveLock:
		return ""
	}
	return slug(string(n.Kind))
}

// wayMark is one state on the line of the way.
type wayMark struct {
	State permits.State
	Now   bool
	Past  bool
}

type lockView struct {
	permits.Lock
	Status string // "to come", "next", "hangs", "checked", "wrong", "off"
}

// historyMost is how many entries the permit's page shows.
const historyMost = 200

// permitID reads the permit's number from the address.
func permitID(c *gin.Context) (permits.PermitID, error) {
	n, err := strconv.ParseInt(c.Param("id"), 10, 64)
	if err != nil || n < 1 {
		return 0, notThere("There is no permit "+shorten(c.Param("id"), 20)+".", "Permits have numbers: 1, 2, 3 …")
	}
	return permits.PermitID(n), nil
}

// permitOf returns the permit that the address names.
func (s *Server) permitOf(c *gin.Context) (permits.Permit, error) {
	id, err := permitID(c)
	if err != nil {
		return permits.Permit{}, err
	}
	return s.reg.Permit(c.Request.Context(), id)
}

func (s *Server) permitShow(c *gin.Context) error { return s.permitAgain(c, back{}) }

// permitAgain shows the permit's page, with a form that was refused.
func (s *Server) permitAgain(c *gin.Context, b back) error {
	p, err := s.permitOf(c)
	if err != nil {
		return err
	}
	entries, err := s.reg.Entries(c.Request.Context(), register.EntryQuery{Permit: p.ID(), Limit: historyMost})
	if err != nil {
		return err
	}
	page := permitShowPage{base: s.base(c, "Permit "+strconv.FormatInt(int64(p.ID()), 10), "permits"),
		Older: len(entries) == historyMost}
	page.back, page.Live = b, true
	page.Path = permitPath(p.ID())
	page.permitView = viewPermit(s.setting(page.Me), p)
	drained, err := s.reg.Entries(c.Request.Context(), register.EntryQuery{Permit: p.ID(), Kind: permits.KindRecordDrain,
		After: before(0), Limit: entriesMost})
	if err != nil {
		return err
	}
	if page.history, err = s.readingsOf(c.Request.Context(), p.ID()); err != nil {
		return err
	}
	page.Oil = oilrecord.Drafts(oilrecord.Totals(p.ID(), p.Drains(), drained), time.Local)
	tell := s.teller(c.Request.Context())
	for _, e := range entries {
		page.History = append(page.History, tell.line(e))
	}
	return s.render(c, b.status(), "permit_show", page)
}

// viewPermit makes the view.
func viewPermit(set permits.Setting, p permits.Permit) permitView {
	v := permitView{P: p, set: set, Plan: planViewOf(p.Plan(), set.Plant, set.Held, p.ID()), Overdue: p.IsOverdue(set.At),
		MostHours: set.MostHours()}
	if !p.Until().IsZero() {
		v.Left = p.Until().Sub(set.At).Seconds()
	}
	v.Alarms, v.Passing = permits.Alarms(set, p), p.PassingPoints(set.Ship)
	v.Next = nextViews(set, p)
	v.Master = slices.ContainsFunc(v.Next, func(n nextView) bool { return n.Kind == permits.KindCountersign })
	v.WorkTurn = workTurn(p, set.By)
	v.Way = wayOf(p)
	v.Wait = p.EarliestOpen(set.At)
	for _, w := range v.Wait.Waiting {
		v.Waits = append(v.Waits, waitViewOf(w, set.At))
	}
	if p.Has(permits.KindProve) {
		v.Unproved = p.Unproved(set.At)
	}
	v.Locks = lockViews(p)
	seen := map[permits.PersonID]bool{}
	for _, l := range p.Locks() {
		if owner := l.Fitted.By; l.IsOn() && !seen[owner] && v.CanAt(string(permits.KindReleaseOwner), string(owner)) {
			v.Owners = append(v.Owners, owner)
		}
		seen[l.Fitted.By] = true
	}
	return v
}

// At reports whether the way has a place for an act of this kind now, whoever reads.
func (v permitView) At(kind string) bool { return v.P.Has(permits.Kind(kind)) }

// Can reports whether the page has a form for an act of this kind: none where its gate is shut to everybody who could
// do it on this device.
func (v permitView) Can(kind string) bool {
	return v.CanAt(kind, "")
}

// CanAt is Can for the part of the permit that a section, a check or a test names.
func (v permitView) CanAt(kind, id string) bool {
	return permits.Offers(v.set, v.P, permits.Kind(kind), permits.Target{Section: id, Check: id, Test: id,
		Person: permits.PersonID(id)})
}

// Stops reports whether the page offers to stop the work: while it is on, and while people are where it was lost.
func (v permitView) Stops() bool {
	return v.Can(string(permits.KindSuspend)) && (v.P.State() == permits.Live || len(v.P.SignedOn()) > 0)
}

// LocksOpen reports whether the table of locks stands open: while locks are fitted or taken off, and while one is
// wrong.
func (v permitView) LocksOpen() bool {
	switch v.P.State() {
	case permits.Proving, permits.Live, permits.Closed, permits.Cancelled:
		return len(v.Passing) > 0 || slices.ContainsFunc(v.Locks, func(l lockView) bool { return l.Status == "wrong" })
	}
	return true
}

// Walks reports whether there is something to fit or to take off, for which the page leads to the walk.
func (v permitView) Walks() bool { return len(permits.Walk(v.set, v.P)) > 0 }

// SectionName returns the name of a section of the permit.
func (v permitView) SectionName(id string) string {
	for _, d := range v.P.Drains() {
		if d.Section.ID == id {
			return d.Section.Name
		}
	}
	return id
}

// HandsBack returns who may hand the work back beside the chief engineer.
func (v permitView) HandsBack() permits.PersonID { return v.P.Accepted().By }

// Stopped returns who stopped the work, when, and why.
func (v permitView) Stopped() stopWords {
	by, why := v.P.Suspended()
	return stopWords{by, permits.AsSentence(why)}
}

type stopWords struct {
	permits.Mark
	Why string
}

// NotRight returns how many records of a section (kind "drain") or of a stored energy ("reading") before the last were
// not right.
func (v permitView) NotRight(kind, id string) int {
	list := v.history.Stored[id]
	if kind == "drain" {
		list = v.history.Sections[id]
	}
	n := 0
	for i, m := range list {
		if i < len(list)-1 && !m.Finding.OK {
			n++
		}
	}
	return n
}

// DrainChart returns the chart of a section, or nil.
func (v permitView) DrainChart(section string) *chartView {
	return drainChart(v.P.Drains(), v.history, section)
}

// StoredChart returns the chart of a stored energy, or nil.
func (v permitView) StoredChart(check string) *chartView {
	return storedChart(v.P.Stored(), v.history, check)
}

// Open reports whether a form of the work itself stands open on the page: the one that is next for the reader, and one
// that was refused.
func (p permitShowPage) Open(form string) bool {
	return p.WorkTurn == form && p.RefusedForm() == "" || p.RefusedForm() == form
}

// workTurn says which form of the work is next for somebody: whoever is at work signs off, else signs on; when all have
// signed off the work is handed back.
func workTurn(p permits.Permit, who permits.Person) string {
	on := p.SignedOn()
	switch {
	case slices.Contains(on, who.ID):
		return "sign-off"
	case len(on) == 0 && len(p.Crew()) > 0:
		return "hand-back"
	}
	return "sign-on"
}

// lockViews returns every step with where it stands.
func lockViews(p permits.Permit) []lockView {
	var out []lockView
	first, fitting := p.NextFit()
	fitting = fitting && p.Has(permits.KindFitLock)
	for _, l := range p.Locks() {
		out = append(out, lockView{l, lockStatus(l, fitting && l.Step.N == first.Step.N)})
	}
	return out
}

func lockStatus(l permits.Lock, isNext bool) string {
	switch {
	case !l.Removed.IsZero():
		return "off"
	case l.IsOn() && l.Wrong != "":
		return "wrong"
	case isNext:
		return "next"
	case l.IsChecked():
		return "checked"
	case l.IsOn():
		return "hangs"
	}
	return "to come"
}

// wayOf returns the line of states that a permit walks, with where it stands. The states beside the line (suspended,
// under test, cancelled) show only while the permit stands in them.
func wayOf(p permits.Permit) []wayMark {
	line := []permits.State{permits.Draft, permits.Authorised, permits.Isolating, permits.Proving, permits.Live,
		permits.HandedBack, permits.Restoring, permits.Closed}
	now := p.State()
	at := -1
	for i, st := range line {
		if st == now {
			at = i
		}
	}
	switch now {
	case permits.Suspended:
		line = append(line[:5:5], append([]permits.State{now}, line[5:]...)...)
		at = 5
	case permits.Cancelled:
		line = []permits.State{permits.Draft, permits.Cancelled}
		at = 1
	}
	if p.Cancelling() != "" && now == permits.Restoring {
		line = []permits.State{permits.Draft, permits.Authorised, permits.Isolating, permits.Restoring, permits.Cancelled}
		at = 3
	}
	out := make([]wayMark, len(line))
	for i, st := range line {
		out[i] = wayMark{State: st, Now: i == at, Past: i < at}
	}
	return out
}
