package main

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"

	"stillwatch/cmd/stillwatch/demo"
	"stillwatch/permits"
	"stillwatch/web/screens"
)

// crewAtWork is a small job, a shaft seal of a feed pump, in real browsers: two technicians at their phones, the
// officer of the watch and the chief engineer at desks. Everybody sees and presses only what their own page offers.
type crewAtWork struct {
	t                        *testing.T
	ship                     *testShip
	tove, bao, officer, head *hands
	id                       permits.PermitID
	page                     string // the permit's
	tags                     map[int]string
	labels                   map[string]string
}

// TestJobIsDoneInRealBrowsers goes from signing in to the closed permit by pressing what the pages offer.
func TestJobIsDoneInRealBrowsers(t *testing.T) {
	w := manTheShip(t)
	w.request()
	w.authorise()
	w.isolate()
	w.prove()
	w.work()
	w.restore()
	w.close()
}

// TestTagsWorkWithoutScripts hangs, checks and takes off every tag of a job, which is cancelled on the way, on devices
// whose scripts are off.
func TestTagsWorkWithoutScripts(t *testing.T) {
	w := manTheShip(t)
	for _, h := range []*hands{w.tove, w.bao, w.officer, w.head} {
		h.withoutScripts()
	}
	w.request()
	w.tove.open("/")
	if ask[bool](w.tove, `!document.querySelector("[data-live-state]").hidden`) {
		t.Fatal("the board calls itself live although scripts are off")
	}
	w.authorise()
	w.isolate()
	w.officer.open(w.page)
	w.officer.unfolds("", "More that can be done")
	w.officer.unfolds("", "Cancel this permit")
	w.officer.types("Cancel this permit", "Why", "The spare seal is the wrong size")
	w.officer.signs("Cancel this permit", "ilse")
	w.officer.sends("Cancel this permit", "Cancel the permit")
	w.restore()
	w.close()
	w.wantState(permits.Cancelled)
}

func manTheShip(t *testing.T) *crewAtWork {
	t.Helper()
	t.Parallel()
	s := setSail(t)
	browser := startBrowser(t)
	w := &crewAtWork{t: t, ship: s, labels: map[string]string{}}
	w.tove, w.bao = s.hands(t, browser, phone), s.hands(t, browser, phone)
	w.officer, w.head = s.hands(t, browser, desk), s.hands(t, browser, desk)
	d := s.drive()
	w.labels = d.Labels()
	s.went(d)
	return w
}

func (w *crewAtWork) wantState(want permits.State) {
	w.t.Helper()
	if got := w.ship.permit(w.id).State(); got != want {
		w.t.Fatalf("State() = %s, want %s", got, want)
	}
}

// request: the technician signs in on her phone, chooses the machine and the job, reads the plan, asks for the permit.
func (w *crewAtWork) request() {
	h := w.tove
	h.open("/")
	h.signIn("tove")
	h.follows("", "New permit")
	h.unfolds("1. Machine and job", "Feed pump 1")
	h.follows("1. Machine and job", "Shaft seal of the feed pump")
	h.sees("S1-Q2", "S1-V4", "S1-V5")
	h.types("2. Request", "What is to be done, and why", "Seal leaks: renew it")
	h.sends("2. Request", "Request this permit")
	w.page = h.where()
	if _, err := fmt.Sscanf(w.page, "/permits/%d", &w.id); err != nil {
		w.t.Fatalf("the request ended at %s, want the permit's page", w.page)
	}
	w.page = screens.PermitPath(w.id)
	w.wantState(permits.Draft)
}

// authorise: the officer finds the permit on the board, reads the plan and signs.
func (w *crewAtWork) authorise() {
	h := w.officer
	h.open("/")
	h.signIn("ilse")
	h.follows("", "Feed pump 1: Shaft seal")
	h.follows("Authorise the isolation", "the plan")
	h.sees("The steps, in the order of fitting", "S1-Q2")
	h.follows("", fmt.Sprintf("Permit %d", w.id))
	h.types("Authorise the isolation", "For how long", "12")
	h.signs("Authorise the isolation", "ilse")
	h.refused("Authorise the isolation", "Authorise", "keeps its electrical supply")
	h.picks("Authorise the isolation", "I have seen to it")
	h.signs("Authorise the isolation", "ilse")
	h.sends("Authorise the isolation", "Authorise")
	w.wantState(permits.Authorised)
	w.head.open("/")
	w.head.signIn("aram")
	w.head.open(w.page)
	w.head.signs("Answer for what the plan does not prove", "aram")
	w.head.sends("Answer for what the plan does not prove", "Answer for it")
	w.tags = w.ship.tags(w.id)
}

// isolate: every tag is scanned as it hangs; at each second point the label is scanned first, at the others its code is
// typed. Then the second person scans, looks on his own phone, where the scan
// asks him to sign in first, and signs once for all but the first.
func (w *crewAtWork) isolate() {
	h := w.tove
	h.open(w.tags[2])
	h.sees("Tag 1 comes first")
	for i, l := range w.ship.permit(w.id).Locks() {
		label := w.labels[string(l.Step.Point)]
		if i%2 == 0 {
			h.open("/T/" + label)
			h.sees("Label of " + string(l.Step.Point) + " read")
		}
		h.open(w.tags[l.Step.N])
		h.sees(string(l.Step.Point), l.Step.Name)
		if i%2 == 1 {
			h.types("", "Code of the point's label", label)
		}
		w.fits(l)
	}
	w.wantState(permits.Isolating)
	for i, l := range w.ship.permit(w.id).Locks() {
		w.bao.open(w.tags[l.Step.N])
		if i == 0 {
			w.bao.signIn("bao")
			w.bao.unfolds("Second person", "Sign this one now")
			w.bao.signs("Second person", "bao")
			w.bao.sends("Second person", "Sign the check")
			continue
		}
		w.bao.sends("Second person", "It is right. I sign at the end")
	}
	w.wantState(permits.Isolating)
	w.bao.follows("", "Sign what you have seen")
	w.bao.signs("", "bao")
	w.bao.sends("", "Sign once for all of them")
	w.wantState(permits.Proving)
}

func (w *crewAtWork) fits(l permits.Lock) {
	part := fmt.Sprintf("Fit tag %d", l.Step.N)
	if l.Step.Lock {
		part = fmt.Sprintf("Fit lock %d", l.Step.N)
		w.tove.types(part, "Number on the lock", fmt.Sprintf("L1-%02d", l.Step.N))
	}
	w.tove.sends(part, l.Step.Kind.Word(l.Step.Position))
}

// prove: the drain, the reading, the dead test and the start attempt, then the signature.
func (w *crewAtWork) prove() {
	h, p := w.tove, w.ship.permit(w.id)
	w.ship.wait(demo.LongestWait(p) + 20*time.Minute)
	for _, d := range p.Drains() {
		part := "Drain: " + d.Section.Name
		h.open(w.page)
		h.types(part, "Came out", strings.ReplaceAll(demo.Number(d.Section.OutL), ".", ","))
		h.types(part, "Hold, minutes", "15")
		h.types(part, "Temperature", "40")
		h.types(part, "Came in the hold", "0")
		h.refused(part, "Record", "pressure is missing")
		h.types(part, "Pressure", "0")
		h.types(part, "Temperature", "40")
		h.types(part, "Into which tank", "Sludge tank")
		h.sends(part, "Record")
	}
	for _, r := range p.Stored() {
		if r.Check.Unit == "" {
			h.sends(r.Check.Name, "Yes")
			continue
		}
		h.types(r.Check.Name, r.Check.Quantity, demo.Number(r.Check.Limit+30))
		h.sends(r.Check.Name, "Record")
		h.types(r.Check.Name, r.Check.Quantity, demo.Number(r.Check.Limit-5))
		h.sends(r.Check.Name, "Record")
	}
	for _, d := range p.Dead() {
		part := "Dead test: " + d.Test.Name
		h.unfolds(part, "Not all three")
		h.picks(part, "Dead on all poles")
		h.sends(part, "Record what is so")
		h.sees("not proved dead")
		h.sends(part, "All three are so")
	}
	h.sees("the start attempt, with the controls back to off, is not recorded")
	h.sends("Start attempt", "Nothing moved, and the controls are off again")
	h.signs("Sign the proof", "tove")
	h.sends("Sign the proof", "Sign the proof")
}

// goLive: issued at the desk, accepted on the phone.
func (w *crewAtWork) goLive() {
	h := w.tove
	w.officer.open(w.page)
	w.officer.signs("Issue the permit", "ilse")
	w.officer.sends("Issue the permit", "Issue")
	h.open(w.page)
	h.types("Accept the permit", "How many tools and loose parts", "7")
	h.signs("Accept the permit", "bao")
	h.sends("Accept the permit", "Accept")
	w.wantState(permits.Live)
}

// work: signed on, one of them on the other's phone; signed off, tools counted, handed back.
func (w *crewAtWork) work() {
	w.goLive()
	h := w.tove
	for _, id := range []string{"tove", "bao"} {
		h.unfolds("", "Sign on to the work")
		h.signs("Sign on to the work", id)
		h.sends("Sign on to the work", "Sign on")
	}
	w.officer.open("/")
	w.officer.sees("People at work 2")
	for _, id := range []string{"bao", "tove"} {
		h.unfolds("", "Sign off")
		h.signs("Sign off", id)
		h.sends("Sign off", "Sign off")
	}
	h.unfolds("", "Hand back")
	h.types("Hand back", "Tools and loose parts that came back", "6")
	h.picks("Hand back", "Guards and covers")
	h.signs("Hand back", "bao")
	h.refused("Hand back", "Hand back", "7 tools")
	h.types("Hand back", "Tools and loose parts that came back", "7")
	h.signs("Hand back", "bao")
	h.sends("Hand back", "Hand back")
	w.wantState(permits.HandedBack)
}

// takesOff has the technician take one lock or tag off at its own page; why, "" or " for the test", ends its heading.
func (w *crewAtWork) takesOff(l permits.Lock, why string) {
	h := w.tove
	h.open(w.tags[l.Step.N])
	part := fmt.Sprintf("Take off tag %d", l.Step.N)
	if l.Step.Lock {
		part = fmt.Sprintf("Take off lock %d", l.Step.N)
	}
	h.sends(part+why, l.Step.Kind.Word(l.Step.Clearance))
}

// restore: the tags come off in reverse, each at its own page.
func (w *crewAtWork) restore() {
	h := w.tove
	h.open(w.tags[1])
	h.sees("comes off next")
	for {
		p := w.ship.permit(w.id)
		w.between()
		l, on := p.NextRemove()
		if !on {
			break
		}
		w.takesOff(l, "")
	}
	for i, l := range w.ship.permit(w.id).Unseen() {
		w.bao.open(w.tags[l.Step.N])
		if i > 0 {
			w.bao.sends("Second person", "It is right. I sign at the end")
			continue
		}
		w.bao.unfolds("Second person", "It is wrong, or sign this one now")
		w.bao.picks("Second person", "Right")
		w.bao.signs("Second person", "bao")
		w.bao.sends("Second person", "Sign the check")
	}
	w.bao.follows("", "Sign what you have seen")
	w.bao.signs("", "bao")
	w.bao.sends("", "Sign once for all of them")
	w.between()
}

// between signs on the walk what comes before the next lock, or after the last.
func (w *crewAtWork) between() {
	for {
		p := w.ship.permit(w.id)
		a, due, _ := p.NextAdded()
		if !due || a.Before == 0 && len(p.Unseen()) > 0 {
			return
		}
		part := "Before the next lock"
		if a.Before == 0 {
			part = "Before the end"
		}
		w.tove.open(w.page + "/walk")
		w.tove.sees(a.Do)
		w.tove.signs(part, "tove")
		w.tove.sends(part, "It is done")
	}
}

// close: the chief engineer closes at the desk, and a tag scanned afterwards says that it does nothing.
func (w *crewAtWork) close() {
	h := w.head
	h.open("/")
	h.follows("", "Feed pump 1: Shaft seal")
	part := "Chief engineer: close the"
	h.unfolds("", part)
	h.picks(part, "Every point was seen")
	h.picks(part, "Everybody concerned was told")
	h.signs(part, "aram")
	h.sends(part, "Close the")
	if !w.ship.permit(w.id).State().IsOver() {
		w.t.Fatalf("State() = %s, want the permit over", w.ship.permit(w.id).State())
	}
	w.tove.answered("scan an old tag", chromedp.Navigate(w.ship.base+w.tags[1]))
	w.tove.sees("Does nothing")
}

// TestWatchIsHandedOverInRealBrowsers has the off-going officer sign at the desk and the oncoming one on a phone; then
// only the second extends.
func TestWatchIsHandedOverInRealBrowsers(t *testing.T) {
	w := manTheShip(t)
	d := w.ship.drive()
	w.takes(d.Request("tove", "S1-pump", "Seal leaks: renew it"))
	d.Authorise("ilse", w.id, "12")
	w.ship.went(d)
	const offer, take, extend = "Off-going officer", "Oncoming officer", "Extend the authorisation"
	h := w.officer
	h.open("/")
	h.follows("", "Hand over the watch")
	h.sees("Feed pump 1", "Fit tag 1", "Hand over permit 1")
	h.chooses(offer, "Who comes on watch", "Rui")
	h.types(offer, "What the next watch should know", "The spare seal is on the bench")
	h.signs(offer, "ilse")
	h.sends(offer, "Hand over")
	h.sees("Not handed over yet")

	rui := w.tove
	rui.open("/")
	rui.unfolds("", "Menu")
	rui.sends("", "Sign out Tove")
	rui.signIn("rui")
	rui.open("/")
	rui.sees("Rui reads it and takes it over from Ilse")
	rui.open(w.page)
	rui.follows("", "To handing over")
	rui.sees("The spare seal is on the bench")
	rui.signs(take, "rui")
	rui.sends(take, "Take over")

	extends := func(h *hands, who string) {
		h.open(w.page)
		h.unfolds("", "More that can be done")
		h.unfolds("", extend)
		h.types(extend, "Hours from now", "8")
		h.signs(extend, who)
	}
	extends(w.officer, "ilse")
	w.officer.refused(extend, "Extend", "is in the hands of Rui")
	extends(rui, "rui")
	rui.sends(extend, "Extend")
}
