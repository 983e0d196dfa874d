package web

import (
	"html"
	"strings"
	"testing"
	"time"

	"stillwatch/permits"
	"stillwatch/web/screens"
)

// liveJob is a job on which two people are at work.
func liveJob(t *testing.T) *job {
	t.Helper()
	j := begin(t)
	j.authorise()
	j.isolate()
	j.record()
	j.goLive()
	for _, who := range []string{"tech", "mate"} {
		j.tech.must(j.tech.post(j.path+"/sign-on", "signer", who, "pin", testPINs[who]), j.path)
	}
	return j
}

func (j *job) shows(c *browser, path string, want ...string) {
	j.a.t.Helper()
	body := html.UnescapeString(c.get(path).body)
	for _, w := range want {
		if !strings.Contains(body, w) {
			j.a.t.Errorf("%s does not show %q", path, w)
		}
	}
}

func (j *job) hides(c *browser, path string, not ...string) {
	j.a.t.Helper()
	body := html.UnescapeString(c.get(path).body)
	for _, w := range not {
		if strings.Contains(body, w) {
			j.a.t.Errorf("%s shows %q", path, w)
		}
	}
}

func TestAnybodyStopsTheWorkAndItIsProvedAnew(t *testing.T) {
	j := liveJob(t)
	hand := j.a.as("hand")
	j.shows(hand, j.path, `action="/permits/1/suspend"`)
	j.hides(hand, "/", "Alarm")
	hand.refused(hand.post(j.path+"/suspend", "words", "", "signer", "hand", "pin", testPINs["hand"]), 422, "")
	hand.must(hand.post(j.path+"/suspend", "words", "Smoke", "signer", "hand", "pin", testPINs["hand"]), j.path)
	j.wantState(permits.Suspended)
	const alarm = "The work is stopped. 2 people are signed on: Fitter One, Fitter Two. Get them out"
	for _, who := range []string{"hand", "guest"} {
		j.shows(j.a.as(who), "/", alarm)
		j.shows(j.a.as(who), j.path, alarm, "Smoke")
	}
	j.shows(j.tech, j.codeOf(1), alarm)
	j.hides(j.tech, "/", `role="alert"`)
	j.hides(j.oow, j.path, `action="/permits/1/resume"`, `action="/permits/1/cancel"`)
	j.oow.refused(j.oow.post(j.path+"/resume", "signer", "oow", "pin", testPINs["oow"]), 422, "Still signed on")
	for _, who := range []string{"tech", "mate"} {
		j.shows(j.tech, j.path, `action="/permits/1/sign-off"`)
		j.tech.must(j.tech.post(j.path+"/sign-off", "signer", who, "pin", testPINs[who]), j.path)
	}
	j.hides(j.tech, "/", "Get them out")
	j.shows(j.oow, j.path, `action="/permits/1/resume"`, `action="/permits/1/cancel"`)
	j.shows(j.oow, "/", "suspended", "let it go on")
	j.oow.must(j.oow.post(j.path+"/resume", "signer", "oow", "pin", testPINs["oow"]), j.path)
	j.wantState(permits.Isolating)
	j.check()
	j.wantState(permits.Proving)
	j.shows(j.tech, j.path, "counts no more")
	j.tech.refused(j.tech.post(j.path+"/prove", "pin", testPINs["tech"]), 422, "")
	j.record()
	j.goLive()
	j.wantState(permits.Live)
}

// isolates returns a point of the permit that isolates.
func (j *job) isolates() string {
	j.a.t.Helper()
	for _, l := range j.a.permit(j.id).Locks() {
		if l.Step.Isolates() {
			return string(l.Step.Point)
		}
	}
	j.a.t.Fatal("the permit has no point that isolates")
	return ""
}

func (j *job) codeOf(step int) string { return j.a.codes(j.id)[step] }

// TestLostIsolationIsTheFirstThingEverybodySees lets a drained section fill again while two are at work.
func TestLostIsolationIsTheFirstThingEverybodySees(t *testing.T) {
	j := liveJob(t)
	d := j.a.permit(1).Drains()[0].Section
	j.a.wait(time.Hour)
	j.tech.must(j.tech.post(j.path+"/drain/"+d.ID, "out_l", screens.FigureTo(d.OutL, 2), "hold_min", "5", "hold_in_l",
		screens.FigureTo(2*d.SpreadL+5, 2), "gauge_bar", "0", "temp_c", "30"), j.path)
	j.wantState(permits.Proving)
	const want = "Isolation lost. 2 people are signed on: Fitter One, Fitter Two. Get them out"
	for _, path := range []string{"/", j.path, j.codeOf(1)} {
		j.shows(j.oow, path, want)
	}
	if body := j.oow.get("/").body; strings.Index(body, "Isolation lost") > strings.Index(body, "Open permits") {
		t.Error("the alarm does not stand before everything else on the board")
	}
	j.shows(j.tech, j.path, "What was changed since?", "Come out and sign off")
	good := []string{"out_l", screens.FigureTo(d.OutL, 2), "hold_min", "15", "hold_in_l", "0", "gauge_bar", "0", "temp_c",
		"30"}
	j.a.wait(time.Hour)
	j.tech.refused(j.tech.post(j.path+"/drain/"+d.ID, good...), 422, "Say what was changed")
	j.tech.must(j.tech.post(j.path+"/drain/"+d.ID, append(good, "words", "V1 tightened, seat cleaned")...), j.path)
	j.shows(j.tech, j.path, "1 record before this one was not right", "changed since the record before: V1 tightened")
}

func TestPassingPointOfAnOpenPermitIsCriedOutAtOnce(t *testing.T) {
	j := liveJob(t)
	point := j.isolates()
	j.mate.must(j.mate.post("/points/"+point+"/passing", "words", "drips at the drain"), "/points/"+point)
	want := point + " is recorded as leaking: it does not isolate (drips at the drain). 2 people are signed on"
	paths := []string{"/", j.path}
	for _, tag := range j.a.codes(1) {
		paths = append(paths, tag)
	}
	for _, path := range paths {
		j.shows(j.tech, path, want, "stop the work")
	}
	for _, tag := range j.a.codes(1) {
		j.hides(j.tech, tag, "It hangs as it should")
	}
	j.hides(j.tech, j.path, `action="/permits/1/sign-on"`, "Work is on")
	j.wantState(permits.Suspended)
	j.shows(j.tech, "/", "Come out and sign off: "+point+" leaks", "Have "+point+" repaired")
	hand := j.a.as("hand")
	hand.refused(hand.post(j.path+"/sign-on", "signer", "hand", "pin", testPINs["hand"]), 422, "nobody can sign on now")
	j.head.must(j.head.post("/points/"+point+"/repair", "words", "seat lapped and tested", "signer", "chief", "pin",
		testPINs["chief"]), "/points/"+point)
	j.hides(j.tech, "/", "recorded as passing: it does not isolate")
}

// TestNoFormWhereItCouldOnlyBeRefused looks as people who may not.
func TestNoFormWhereItCouldOnlyBeRefused(t *testing.T) {
	j := begin(t)
	j.authorise()
	guest := j.a.as("guest")
	first := j.codeOf(1)
	for c, why := range map[*browser]string{guest: "may not fit a lock.", j.a.as("hand"): "may not fit a lock.",
		j.oow: "may not fit a lock."} {
		j.hides(c, first, `action="`+first+`/fit"`)
		j.shows(c, first, why)
	}
	j.isolate()
	j.hides(guest, j.path, `action="/permits/1/`)
	j.hides(j.oow, j.path, `/drain/`, `/reading/`)
	j.record()
	j.shows(j.tech, j.path, `action="/permits/1/prove"`)
	j.tech.must(j.tech.post(j.path+"/prove", "pin", testPINs["tech"]), j.path)
	j.hides(j.tech, j.path, `action="/permits/1/prove"`)
	j.shows(j.oow, j.path, `action="/permits/1/issue"`)
	j.hides(j.tech, j.path, `action="/permits/1/accept"`)
	j.oow.must(j.oow.post(j.path+"/issue", "pin", testPINs["oow"]), j.path)
	j.shows(j.tech, j.path, `action="/permits/1/accept"`)
	j.mate.must(j.mate.post(j.path+"/accept", "tools_out", "7", "pin", testPINs["mate"]), j.path)
	j.work()
	l, _ := j.a.permit(1).NextRemove()
	last := j.codeOf(l.Step.N)
	j.hides(j.mate, last, `action="`+last+`/remove"`)
	j.shows(j.mate, last, "is the lock of Fitter One")
	j.shows(j.tech, last, `action="`+last+`/remove"`)
	j.shows(j.tech, j.path, "7 out, 7 back")
}

func TestTypedPointOpensItsPageInAnyCase(t *testing.T) {
	a := ship(t)
	tech := a.as("tech")
	for _, typed := range []string{"V1", "v1", " v1 "} {
		if got := tech.get("/find?code=" + strings.ReplaceAll(typed, " ", "%20")); got.path != "/points/V1" ||
			got.status != 200 {
			t.Errorf("typed %q = %d at %s, want the page of V1", typed, got.status, got.path)
		}
	}
}

func TestWorkbookIsToldFromAPlantFile(t *testing.T) {
	a := ship(t)
	head := a.as("chief")
	for path, want := range map[string]string{"/plant/propose": "not", "/rules/propose": "That is a workbook"} {
		got := head.upload(path, "plant.xlsx", []byte("PK\x03\x04\x14\x00\x06\x00 and so on"), "signer", "chief", "pin",
			testPINs["chief"])
		if got.status != 422 && got.status != 400 || !strings.Contains(alert(got.body), want) {
			t.Errorf("POST %s of a broken workbook = %d %q", path, got.status, alert(got.body))
		}
	}
}

// TestHistoryCallsThingsByTheirNames reads every line of a whole job and wants no id that only the plan's inside knows.
func TestHistoryCallsThingsByTheirNames(t *testing.T) {
	j := begin(t)
	j.head.refused(j.head.post(j.path+"/close", "positions", "yes", "told", "yes", "pin", testPINs["chief"]), 422, "")
	j.authorise()
	j.isolate()
	j.record()
	j.goLive()
	body := html.UnescapeString(j.tech.get(j.path).body)
	body = body[strings.Index(body, `<ol class="history">`):]
	p := j.a.permit(1)
	for _, d := range p.Dead() {
		if strings.Contains(body, d.Test.ID) || !strings.Contains(body, "tested "+d.Test.Name+": dead on all poles") {
			t.Errorf("the history names the dead test %s by its id, or not by %q", d.Test.ID, d.Test.Name)
		}
	}
	for _, d := range p.Drains() {
		if !strings.Contains(body, "what came out of "+d.Section.Name+": ") {
			t.Errorf("the history does not name the section %q", d.Section.Name)
		}
	}
	for _, r := range p.Stored() {
		if !strings.Contains(body, r.Check.Name+": "+screens.Figure(r.Check.Limit)+" "+r.Check.Unit) {
			t.Errorf("the history does not name the reading %q with its unit", r.Check.Name)
		}
	}
	if strings.Contains(body, "refused to") || !strings.Contains(body, "wanted to close the permit") {
		t.Error("what was refused is not told as what somebody wanted to do")
	}
}
