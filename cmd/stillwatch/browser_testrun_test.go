package main

import (
	"testing"

	"stillwatch/cmd/stillwatch/demo"
	"stillwatch/permits"
	"stillwatch/web/screens"
)

// isLive signs the crew in on their devices at a permit that they have brought so far that the work may begin: what
// TestJobIsDoneInRealBrowsers presses is here sent form by form.
func (w *crewAtWork) isLive() {
	w.t.Helper()
	d := w.ship.drive()
	w.takes(d.Request("tove", "S1-pump", "Seal leaks: renew it"))
	bringToLife(w.ship, d, w.id)
	w.ship.went(d)
	w.wantState(permits.Live)
	w.tags = w.ship.tags(w.id)
}

// takes has everybody signed in on their own device and this permit in hand.
func (w *crewAtWork) takes(id permits.PermitID) {
	w.t.Helper()
	w.id, w.page = id, screens.PermitPath(id)
	for who, h := range map[string]*hands{"tove": w.tove, "bao": w.bao, "ilse": w.officer, "aram": w.head} {
		h.open("/sign-in")
		h.signIn(who)
	}
}

// bringToLife sends the forms of everybody from the authorisation to the acceptance.
func bringToLife(s *testShip, d *demo.Drive, id permits.PermitID) {
	d.Authorise("ilse", id, "12")
	for _, l := range d.Permit(id).Locks() {
		d.Fit("tove", id, l)
		d.Check("bao", id, l)
	}
	d.Prove(id)
	path := screens.PermitPath(id)
	d.Act("ilse", "issues", path, path+"/issue", d.SignedBy("ilse", nil))
	d.Act("bao", "accepts", path, path+"/accept", d.SignedBy("bao", map[string]string{"tools_out": "7"}))
}

// TestMachineIsRunForATestInRealBrowsers walks the five steps of a test run on phone and desk: counted in and asked
// for, sanctioned, the locks off by scan, run and recorded, ended; then the locks go on again by scan, are seen and
// proved anew, and the work goes on. (29 CFR 1910.147(f)(1), read.)
func TestMachineIsRunForATestInRealBrowsers(t *testing.T) {
	w := manTheShip(t)
	w.isLive()
	w.asksForTest()
	w.lifts()
	h := w.tove
	h.open(w.page)
	h.types("What the test run showed", "Such as", "turns the right way, seal dry")
	h.signs("What the test run showed", "tove")
	h.sends("What the test run showed", "Record")
	h.signs("End the test", "tove")
	h.refused("End the test", "End the test", "only where nothing runs")
	h.picks("End the test", "Seen stopped")
	h.signs("End the test", "tove")
	h.sends("End the test", "End the test")
	w.wantState(permits.Isolating)
	for {
		l, more := w.ship.permit(w.id).NextFit()
		if !more {
			break
		}
		h.open(w.tags[l.Step.N])
		h.types("", "Code of the point's label", w.labels[string(l.Step.Point)])
		w.fits(l)
	}
	for _, l := range w.ship.permit(w.id).Locks() {
		w.bao.open(w.tags[l.Step.N])
		w.bao.sends("Second person", "It is right. I sign at the end")
	}
	w.bao.follows("", "Sign what you have seen")
	w.bao.signs("", "bao")
	w.bao.sends("", "Sign once for all of them")
	w.wantState(permits.Proving)
}

// asksForTest: the person in charge asks, with a wrong count first; nothing comes off before the officer has signed.
func (w *crewAtWork) asksForTest() {
	h := w.tove
	const ask, sanction = "Run something for a test", "Sanction the test run"
	h.open(w.page)
	h.unfolds("", ask)
	h.picks(ask, "Feed pump 1 motor")
	h.types(ask, "Tools and loose parts counted in", "6")
	h.picks(ask, "What was opened is closed up")
	h.signs(ask, "bao")
	h.refused(ask, "Ask for the test", "7 tools and parts went out and 6 came back")
	h.types(ask, "Tools and loose parts counted in", "7")
	h.signs(ask, "bao")
	h.sends(ask, "Ask for the test")
	w.wantState(permits.Testing)
	h.sees("Not sanctioned yet: no lock comes off")
	w.officer.open("/")
	w.officer.sees("under test")
	w.officer.open(w.page)
	w.officer.sees("S1-Q2", "Off come, in this order")
	w.officer.signs(sanction, "ilse")
	w.officer.sends(sanction, "Sanction the test")
}

// lifts: each lock that the test needs comes off by its own tag, and a tag that it does not need does nothing.
func (w *crewAtWork) lifts() {
	h := w.tove
	off := 0
	for {
		l, more := w.ship.permit(w.id).NextLift()
		if !more {
			break
		}
		off++
		w.takesOff(l, " for the test")
	}
	if p := w.ship.permit(w.id); p.LocksOn() != len(p.Locks())-off || off == 0 || off == len(p.Locks()) {
		w.t.Errorf("%d of %d hang during the test, %d came off", p.LocksOn(), len(p.Locks()), off)
	}
	stays, _ := w.ship.permit(w.id).NextRemove()
	h.open(w.tags[stays.Step.N])
	h.sees("It hangs as it should")
}
