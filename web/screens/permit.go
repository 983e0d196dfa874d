package screens

import (
	"slices"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/oilrecord"
)

// PermitPage is everything about one permit: what is next and for whom, the way, the locks, the readings, the
// people, and the forms of all acts that may follow now.
type PermitPage struct {
	Frame
	PermitView
	History []EntryLine
	Older   bool              // there is more history than is shown
	Oil     []oilrecord.Draft // for the officer, who writes the book
	Tests   []testView        // what could be run for a test, where one may be asked for
}

// PermitView is what of a permit the pages show, beyond its own methods.
type PermitView struct {
	P         permits.Permit
	Alarms    []permits.Alarm
	Passing   []isolation.NodeID // points of this permit that are recorded as passing
	Plan      planView
	Next      []nextView
	Way       []wayMark
	Locks     []lockView
	Owners    []permits.PersonID // who still has a lock on, for releasing an absent owner's
	Unproved  []string
	Added     []permits.AddedStep   // what is done between the locks on the way back
	Due       *dueStep              // the one that is to be done now
	First     []permits.StoredState // what must be read before the next step is fitted
	FirstDead []permits.DeadState   // what must be tested dead before it
	Overdue   bool
	Left      float64 // seconds until the authorisation runs out
	MostHours float64
	Wait      permits.OpeningTime // how long to wait before the work could be opened; never a proof
	WaitLeft  float64             // the same in seconds
	Waits     []waitView          // each wait that runs
	Master    bool                // the master's signature is waited for
	Test      *testView           // that is asked for or under way
	// which form of the work itself is next for the reader: "sign-on", "sign-off" or "hand-back"
	WorkTurn string
	set      permits.Setting
	Measured permits.History
}

// ViewPermit makes the view.
func ViewPermit(set permits.Setting, p permits.Permit) PermitView {
	v := PermitView{P: p, set: set, Plan: PlanViewOf(p.Plan(), set.Plant, set.Held, p.ID()), Overdue: p.IsOverdue(set.At),
		MostHours: p.MostHours(set)}
	if !p.Until().IsZero() {
		v.Left = p.Until().Sub(set.At).Seconds()
	}
	v.Alarms, v.Passing = AlarmsOf(set, p), p.PassingPoints(set.Ship)
	v.Next = nextViews(set, p)
	v.Master = slices.ContainsFunc(v.Next, func(n nextView) bool { return n.Kind == permits.KindCountersign })
	v.WorkTurn = WorkTurn(p, set.By)
	if t, under := p.Testing(); under && p.State() == permits.Testing {
		view := testViewOf(set, p, t)
		v.Test = &view
	}
	v.Way = wayOf(p)
	v.Wait = p.EarliestOpen(set.At)
	v.Waits, v.WaitLeft = waitViews(v.Wait, set.At), v.Wait.Left(set.At).Seconds()
	if p.Has(permits.KindProve) {
		v.Unproved = p.Unproved(set.At)
	}
	v.Added, v.Due = p.Added(), dueOf(set, p)
	v.First, v.FirstDead, v.Locks = p.FirstReadings(set.At), p.FirstTests(set.At), lockViews(set, p)
	seen := map[permits.PersonID]bool{}
	for _, l := range p.Locks() {
		if owner := l.Owner; l.IsOn() && !seen[owner] && v.CanAt(string(permits.KindReleaseOwner), string(owner)) {
			v.Owners = append(v.Owners, owner)
		}
		seen[l.Owner] = true
	}
	for _, a := range v.OwnLocks() {
		if !seen[a.Person] && v.CanAt(string(permits.KindReleaseOwner), string(a.Person)) {
			v.Owners = append(v.Owners, a.Person)
		}
		seen[a.Person] = true
	}
	return v
}

// At reports whether the way has a place for an act of this kind now, whoever reads.
func (v PermitView) At(kind string) bool { return v.P.Has(permits.Kind(kind)) }

// Can reports whether the page has a form for an act of this kind: none where its gate is shut to everybody who could
// do it on this device.
func (v PermitView) Can(kind string) bool {
	return v.CanAt(kind, "")
}

// CanAt is Can for the part of the permit that a section, a check or a test names.
func (v PermitView) CanAt(kind, id string) bool {
	return permits.Offers(v.set, v.P, permits.Kind(kind), permits.Target{Section: id, Check: id, Test: id,
		Person: permits.PersonID(id)})
}

// CanStep is Can for one step, or one thing between the locks.
func (v PermitView) CanStep(kind string, n int) bool {
	return permits.Offers(v.set, v.P, permits.Kind(kind), permits.Target{Step: n})
}

// AtWork reports whether the permit has a page of what is looked after at the work.
func (v PermitView) AtWork() bool { return HasAtWork(v.P) }

// DeviationOn returns the words of the last deviation that was accepted on something; "" for none.
func (v PermitView) DeviationOn(name string) string {
	said := ""
	for _, d := range v.P.Deviations() {
		if d.On == name {
			said = d.Words
		}
	}
	return said
}

// Stops reports whether the page offers to stop the work: while it is on, and while people are where it was lost.
func (v PermitView) Stops() bool {
	return v.Can(string(permits.KindSuspend)) && (v.P.State() == permits.Live || len(v.P.SignedOn()) > 0)
}

// WrongCount returns how many locks were found wrong and are not fitted anew yet.
func (v PermitView) WrongCount() int { return wrongCount(v.P) }

// LocksOn returns how many hang and were not found wrong.
func (v PermitView) LocksOn() int { return v.P.LocksOn() - v.WrongCount() }

// LocksOpen reports whether the table of locks stands open: while one is wrong, or its point passes.
func (v PermitView) LocksOpen() bool {
	return len(v.Passing) > 0 || slices.ContainsFunc(v.Locks, func(l lockView) bool { return l.Status == "wrong" })
}

// Looks reports whether whoever reads has something to look at as second person, or to sign.
func (v PermitView) Looks() bool {
	return len(permits.Looks(v.set, v.P))+len(v.P.LooksOf(v.set.By.ID)) > 0
}

// More reports whether something besides the way itself can be done: it is folded together.
func (v PermitView) More() bool {
	return v.ShowsChange() || v.Can(string(permits.KindOfferWork)) || v.Can(string(permits.KindExtend)) && !v.Overdue ||
		len(v.Owners) > 0 || v.Can(string(permits.KindCancel)) && len(v.P.SignedOn()) == 0
}

// OpensMore reports whether one of these was refused, or is next for the reader.
func (p PermitPage) OpensMore() bool {
	return slices.Contains([]string{"offer-work", "extend", "release", "cancel"}, p.RefusedForm())
}

// Runs reports whether something may be asked for to run for a test now.
func (p PermitPage) Runs() bool {
	return slices.ContainsFunc(p.Tests, func(t testView) bool { return t.No == nil })
}

// PrintsTags reports whether the tags are what comes next: nothing hangs yet.
func (v PermitView) PrintsTags() bool {
	return v.P.State() == permits.Authorised && v.P.Under() == 0
}

// Walks reports whether there is something to fit or to take off, for which the page leads to the walk.
func (v PermitView) Walks() bool { return len(permits.Walk(v.set, v.P)) > 0 }

// HandsBack returns who may hand the work back beside the chief engineer.
func (v PermitView) HandsBack() permits.PersonID { return v.P.Accepted().By }

// LongOnly returns why the stop can't be taken for a short one; nil if it can.
func (v PermitView) LongOnly() *permits.Refusal { return v.P.LongOnly(v.set) }

// Stopped returns who stopped the work, when, and why.
func (v PermitView) Stopped() stopWords {
	by, why := v.P.Suspended()
	return stopWords{by, permits.AsSentence(why)}
}

type stopWords struct {
	permits.Mark
	Why string
}

// NotRight returns how many records of a section (kind "drain") or of a stored energy ("reading") before the last were
// not right.
func (v PermitView) NotRight(kind, id string) int {
	list := v.Measured.Stored[id]
	if kind == "drain" {
		list = v.Measured.Sections[id]
	}
	n := 0
	for i, m := range list {
		if i < len(list)-1 && !m.Finding.OK {
			n++
		}
	}
	return n
}

// effort is the part of a release that says of one condition who saw to it, when and how.
type effort struct {
	PermitPage
	Tick, Of, Legend, Such string
	Past                   bool // its time is asked
}

// Effort returns that part of the form.
func (p PermitPage) Effort(tick, of, legend, such string, past bool) effort {
	return effort{p, tick, of, legend, such, past}
}

// deviation is the form by which the chief engineer accepts a reading, with the page that it stands on.
type deviation struct {
	PermitPage
	Of, To string // the section or check; the end of the form's address
}

// Deviation returns the form for a section or a check.
func (p PermitPage) Deviation(of, to string) deviation { return deviation{p, of, to} }

// RestoreForm returns the form for what is done between two locks; where is "" or "/walk".
func (p PermitPage) RestoreForm(a dueStep, where string) restoreForm {
	return restoreForm{p.Frame, p.P.ID(), a, where}
}

// DrainChart returns the chart of a section, or nil.
func (v PermitView) DrainChart(section string) *chartView {
	return drainChart(v.P.Drains(), v.Measured, section)
}

// StoredChart returns the chart of a stored energy, or nil.
func (v PermitView) StoredChart(check string) *chartView {
	return storedChart(v.P.Stored(), v.Measured, check)
}

// Open reports whether a form of the work itself stands open on the page: the one that is next for the reader, and one
// that was refused.
func (p PermitPage) Open(form string) bool {
	return p.WorkTurn == form && p.RefusedForm() == "" || p.RefusedForm() == form
}

// WorkTurn says which form of the work is next for somebody: whoever is at work signs off, else signs on; when all have
// signed off the work is handed back.
func WorkTurn(p permits.Permit, who permits.Person) string {
	on := p.SignedOn()
	switch {
	case slices.Contains(on, who.ID):
		return "sign-off"
	case len(on) == 0 && len(p.Crew()) > 0:
		return "hand-back"
	}
	return "sign-on"
}
