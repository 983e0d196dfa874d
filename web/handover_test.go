package web

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"stillwatch/permits"
	"stillwatch/permits/paper"
	"stillwatch/permits/register"
	"stillwatch/web/sheets"
)

// relief puts a second officer on the books and returns that officer's browser.
func (a *aboard) relief() *browser {
	a.t.Helper()
	c := a.as("chief")
	c.must(c.post("/people", "id", "relief", "name", "Relief Officer", "role", string(permits.Officer),
		"new_pin", firstPIN, "pin", testPINs["chief"]), "/people")
	d := register.SetPINDoing{ID: a.reg.NewActID(), By: "relief", ByPIN: firstPIN, Person: "relief", New: reliefPIN}
	if _, err := a.reg.SetPIN(a.t.Context(), d); err != nil {
		a.t.Fatal(err)
	}
	b := a.browser()
	b.must(b.post("/sign-in", "person", "relief", "pin", reliefPIN), "/")
	return b
}

const reliefPIN = "357190"

// TestWatchIsHandedOverOnOnePage walks two officers through the page: the first signs a live permit and a second one
// over with one PIN, nothing leads on meanwhile, the other takes them over, and answers for them from then on.
func TestWatchIsHandedOverOnOnePage(t *testing.T) {
	j := liveJob(t)
	relief := j.a.relief()
	j.shows(j.oow, "/handover", `action="/handover/offer"`, "Hand over permit 1", "Fitter One, Fitter Two",
		"Relief Officer")
	j.hides(j.oow, "/handover", `action="/handover/take"`)
	j.oow.refused(j.oow.post("/handover/offer", "to", "relief", "pin", testPINs["oow"]), 422, "No permit is ticked")
	j.oow.refused(j.oow.post("/handover/offer", "permit", "1", "to", "tech", "pin", testPINs["oow"]), 422,
		"comes on watch")
	j.oow.refused(j.oow.post("/handover/offer", "permit", "1", "to", "relief", "pin", "000000"), 403, "PIN")
	relief.refused(relief.post(j.path+"/extend", "hours", "4", "pin", reliefPIN), 422, "is in the hands of")
	relief.refused(relief.post("/handover/take", "permit", "1", "pin", reliefPIN), 422, "Nobody hands permit 1 over")

	j.oow.must(j.oow.post("/handover/offer", "permit", "1", "to", "relief", "words", "Bilge is high", "pin",
		testPINs["oow"]), "/handover")
	j.shows(relief, "/handover", "Not handed over yet", "Bilge is high", `action="/handover/take"`)
	body := relief.get("/handover").body
	if strings.Index(body, `id="f-take"`) > strings.Index(body, `id="f-offer"`) {
		t.Error("for who comes on watch the form of handing over stands before that of taking over")
	}
	if at := strings.Index(body, `form="f-offer"`); strings.Contains(body[at:strings.Index(body[at:], ">")+at], "checked") {
		t.Error("handing over is ticked for an officer who does not have the permit in hand")
	}
	j.shows(relief, j.path, "To handing over")
	j.shows(relief, "/", "reads it and takes it over")
	j.tech.refused(j.tech.post(j.path+"/sign-on", "signer", "hand", "pin", testPINs["hand"]), 422, "has not taken it over")
	j.oow.refused(j.oow.post(j.path+"/extend", "hours", "4", "pin", testPINs["oow"]), 422, "has not taken it over")

	relief.must(relief.post("/handover/take", "permit", "1", "pin", reliefPIN), "/handover")
	j.shows(relief, j.path, "Relief Officer")
	j.hides(relief, "/handover", "Not handed over yet")
	for _, c := range []*browser{relief, j.oow} { // what was written at the offer holds until the next one
		j.shows(c, "/handover", "To know: Bilge is high", "Officer One signed it over at", "Relief Officer took over at")
	}
	set := j.a.web.setting(testCrew[1])
	o := sheets.OpenPermit(set, j.a.permit(j.id), j.a.web.teller(t.Context()))
	if !slices.Contains(o.Remarks, "Bilge is high") || o.From.Name != "Officer One" || o.To.Name != "Relief Officer" ||
		o.To.At.IsZero() {
		t.Errorf("the sheet = %+v, want the remark and both signatures", o)
	}
	sheet := paper.HandoverSheet{At: set.At.Local(), Permits: []paper.OpenPermit{o, o}}
	if sheets.Watch(&sheet); sheet.From != o.From || sheet.To != o.To {
		t.Errorf("the sheet is signed by %+v and %+v, want both officers", sheet.From, sheet.To)
	}
	sheet.Permits[1].To.Name = "Somebody Else"
	if sheets.Watch(&sheet); sheet.From.IsSigned() || sheet.To.IsSigned() {
		t.Error("the sheet is signed, though not all its permits went between the same two")
	}
	j.oow.refused(j.oow.post(j.path+"/extend", "hours", "4", "pin", testPINs["oow"]), 422, "is in the hands of")
	relief.must(relief.post(j.path+"/extend", "hours", "4", "pin", reliefPIN), j.path)
	j.tech.must(j.tech.post(j.path+"/sign-on", "signer", "hand", "pin", testPINs["hand"]), j.path)
	if by := j.a.permit(j.id).InHand(); by != "relief" {
		t.Errorf("the permit is in the hands of %s, want the relief", by)
	}
}

// TestHandingOverStopsAtTheFirstRefusal ticks one permit that may go over and one that may not: what was done is said.
func TestHandingOverStopsAtTheFirstRefusal(t *testing.T) {
	j := begin(t)
	j.authorise()
	j.a.relief()
	j.oow.refused(j.oow.post("/handover/offer", "permit", "1", "permit", "99", "to", "relief", "pin",
		testPINs["oow"]), 404, "Before that it was done for permit 1.")
	if _, offered := j.a.permit(j.id).Offered(); !offered {
		t.Error("permit 1 is not offered, though the page says so")
	}
}

// TestLocksChangeHandsOnThePermitsPage changes the shift with the page's own forms.
func TestLocksChangeHandsOnThePermitsPage(t *testing.T) {
	j := liveJob(t)
	n := fmt.Sprint(j.a.permit(j.id).OwnedBy("tech"))
	j.shows(j.tech, j.path, `action="/permits/1/offer-work"`)
	j.tech.must(j.tech.post(j.path+"/offer-work", "to", "mate", "pin", testPINs["tech"]), j.path)
	j.shows(j.mate, j.path, `action="/permits/1/take-work"`, "counts the locks of Fitter One")
	j.mate.refused(j.mate.post(j.path+"/take-work", "from", "tech", "locks", "0", "pin", testPINs["mate"]), 422,
		"were counted")
	j.mate.must(j.mate.post(j.path+"/take-work", "from", "tech", "locks", n, "pin", testPINs["mate"]), j.path)
	j.shows(j.mate, j.path, "now the lock of Fitter Two")
}

// efforts are the fields that say how an absent owner was looked for and called, and will be told.
func (j *job) efforts() []string {
	at := j.a.clock().Local().Format("15:04")
	return []string{"absence_by", "mate", "absence_at", at, "absence_how", "signed off at noon, gangway log",
		"call_by", "mate", "call_at", at, "call_how", "telephoned twice", "telling_by", "oow", "telling_how",
		"at the gangway when coming back"}
}

// TestReleasedOwnerConfirmsOnTheBoard releases a fitter's locks on a live permit: the fitter signs nothing but coming
// off the work before the board's form is signed.
func TestReleasedOwnerConfirmsOnTheBoard(t *testing.T) {
	j := liveJob(t)
	release := append(j.efforts(), "owner", "tech", "verified", "yes", "tried", "yes", "will_tell", "yes", "aboard", "yes",
		"pin", testPINs["chief"])
	vague := slices.Clone(release)
	vague[slices.Index(vague, "call_at")+1] = "half past two"
	j.head.refused(j.head.post(j.path+"/release", vague...), 422, "time of the day")
	j.head.must(j.head.post(j.path+"/release", release...), j.path)
	j.shows(j.tech, "/", "Your locks were released", `action="/heard"`, "verified by Fitter Two at ",
		"called by Fitter Two at ", "telephoned twice", "to be told by ")
	j.hides(j.mate, "/", "Your locks were released")
	j.tech.refused(j.tech.post(j.path+"/offer-work", "to", "mate", "pin", testPINs["tech"]), 403, "has not been told")
	j.tech.must(j.tech.post(j.path+"/sign-off", "signer", "tech", "pin", testPINs["tech"]), j.path)
	j.tech.must(j.tech.post("/heard", "pin", testPINs["tech"]), "/")
	j.hides(j.tech, "/", "Your locks were released")
	j.tech.must(j.tech.post(j.path+"/offer-work", "to", "mate", "pin", testPINs["tech"]), j.path)
}

// TestHandingOverSaysWhatStandsOnForATest hands a permit over while a motor runs under it for a test: page and sheet
// say that its breaker stands ON.
func TestHandingOverSaysWhatStandsOnForATest(t *testing.T) {
	j := liveJob(t)
	for _, who := range []string{"tech", "mate"} {
		j.tech.must(j.tech.post(j.path+"/sign-off", "signer", who, "pin", testPINs[who]), j.path)
	}
	seen := 0
	j.test(func() {
		if _, more := j.a.permit(j.id).NextLift(); more || j.a.permit(j.id).State() != permits.Testing {
			return
		}
		seen++
		const says = "stands ON for the test: lock 1 is off"
		j.shows(j.oow, "/handover", says)
		o := sheets.OpenPermit(j.a.web.setting(testCrew[1]), j.a.permit(j.id), j.a.web.teller(t.Context()))
		if len(o.Lifted) != 1 || !strings.Contains(o.Lifted[0], says) {
			t.Errorf("the sheet says %q of what is off for the test, want %q", o.Lifted, says)
		}
	})
	if seen == 0 {
		t.Error("the motor never ran")
	}
}
