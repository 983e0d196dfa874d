package web

import (
	"bytes"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"testing"

	"stillwatch/permits"
	"stillwatch/web/screens"
)

func TestAbsentOwnersLocksComeOffOnlyAfterRelease(t *testing.T) {
	j := begin(t)
	j.authorise()
	j.isolate()
	j.head.must(j.head.post(j.path+"/cancel", "words", "pump is needed", "pin", testPINs["chief"]), j.path)
	j.wantState(permits.Restoring)
	tags := j.a.codes(1)
	last, _ := j.a.permit(1).NextRemove()
	tag := tags[last.Step.N]
	if body := j.mate.get(tag).body; !strings.Contains(body, "is the lock of Fitter One") {
		t.Error("the tag's page does not say whose lock it is")
	}
	j.mate.refused(j.mate.post(tag+"/remove", "position", string(last.Step.Clearance)), 422, "not of Fitter Two")
	release := append(j.efforts(), "owner", "tech", "verified", "yes", "tried", "yes", "pin", testPINs["chief"])
	got := j.head.refused(j.head.post(j.path+"/release", release...), 422, "Do and confirm all three")
	if !strings.Contains(got.body, "gangway log") {
		t.Error("what was typed about the absent owner is gone")
	}
	j.head.must(j.head.post(j.path+"/release", append(release, "will_tell", "yes")...), j.path)
	j.mate.refused(j.mate.post(tag+"/remove", "position", string(last.Step.Position)), 422, "must be left")
	j.mate.refused(j.mate.post(tags[1]+"/remove", "position", "closed"), 422, "must stay")
	j.tech.must(j.tech.post("/heard", "pin", testPINs["tech"]), "/") // back aboard, and told
	for {
		j.between()
		l, on := j.a.permit(1).NextRemove()
		if !on {
			break
		}
		j.mate.must(j.mate.post(tags[l.Step.N]+"/remove", "position", string(l.Step.Clearance)), tags[l.Step.N])
	}
	j.head.refused(j.head.post(j.path+"/close", "positions", "yes", "told", "yes", "pin", testPINs["chief"]), 422,
		"No second person has seen")
	j.see()
	j.head.refused(j.head.post(j.path+"/close", "positions", "yes", "told", "yes", "pin", testPINs["chief"]), 422,
		"Something is still to be done")
	j.between()
	j.close()
	j.wantState(permits.Cancelled)
}

func TestDeviationIsWrittenByTheChiefAlone(t *testing.T) {
	j := begin(t)
	j.authorise()
	j.isolate()
	section := j.a.permit(1).Drains()[0].Section
	j.a.wait(drainsRun)
	drain := []string{"out_l", "0", "hold_min", "15", "hold_in_l", "0", "gauge_bar", "0", "temp_c", "30"}
	j.tech.must(j.tech.post(j.path+"/drain/"+section.ID, drain...), j.path)
	body := j.tech.get(j.path).body
	if !strings.Contains(body, "not drained") || !strings.Contains(body, j.path+"/deviation/"+section.ID) {
		t.Error("the page does not say that the section is not drained, or offers no deviation")
	}
	words := []string{"words", "The rest stays in the pocket; tray below, joint slackened slowly"}
	j.tech.refused(j.tech.post(j.path+"/deviation/"+section.ID, append(words, "pin", testPINs["tech"])...),
		http.StatusForbidden, "may not")
	j.tech.must(j.tech.post(j.path+"/deviation/"+section.ID, append(words, "signer", "chief", "pin",
		testPINs["chief"])...), j.path)
	if body := j.tech.get(j.path).body; !strings.Contains(body, "deviation accepted") ||
		!strings.Contains(body, "tray below") {
		t.Error("the accepted deviation is not on the page")
	}
	if got := j.tech.must(j.tech.post(j.path+"/dead/"+j.a.permit(1).Dead()[0].Test.ID, "proved_before", "yes", "dead",
		"yes"), j.path); !strings.Contains(got.body, "not as tested dead") {
		t.Error("a dead test without the detector proved after counts")
	}
	j.tech.refused(j.tech.post(j.path+"/prove", "pin", testPINs["tech"]), 422, "Not everything is proved")
}

// TestHeatIsAcceptedOnItsPage reads the casing of a pump at 60 °C, where bare hands bear 48 °C for ten minutes, and has
// the chief engineer accept it by the form that stands there.
func TestHeatIsAcceptedOnItsPage(t *testing.T) {
	a := ship(t)
	hot := bytes.Replace(plantText(t, "tiny.yaml"), []byte("nodes: [pump, motor]}"), []byte("nodes: [pump, motor], "+
		"stored: [{kind: heat, name: casing, temp_c: 70, mass_kg: 60, area_m2: 0.5}]}"), 1)
	head := a.as("chief")
	head.putInForce("/plant", "tiny.yaml", hot)
	j := beginOn(a)
	j.authorise()
	j.isolate()
	a.wait(drainsRun)
	to := j.path + "/reading/heat/deviation"
	j.hides(j.head, j.path, to)
	j.tech.must(j.tech.post(j.path+"/reading/heat", "value", "60"), j.path)
	if body := j.head.get(j.path).body; !strings.Contains(body, `action="`+to+`"`) {
		t.Error("the page offers no deviation on the heat")
	}
	words := []string{"words", "Gloves to the elbow; a plate before the casing"}
	j.head.must(j.head.post(to, append(words, "pin", testPINs["chief"])...), j.path)
	if body := j.head.get(j.path).body; !strings.Contains(body, "deviation accepted") ||
		!strings.Contains(body, "a plate before the casing") {
		t.Error("the accepted deviation is not on the page")
	}
	j.hides(j.head, j.path, to)
	for _, missing := range j.a.permit(j.id).Unproved(j.a.clock()) {
		if strings.HasPrefix(missing, "casing") {
			t.Errorf("the accepted heat keeps the proof open: %s", missing)
		}
	}
}

func TestDrainIsRecordedFromItsTag(t *testing.T) {
	j := begin(t)
	j.authorise()
	j.isolate()
	section := j.a.permit(1).Drains()[0].Section
	j.a.wait(drainsRun)
	var tag string
	for _, l := range j.a.permit(1).Locks() {
		if l.Step.Point == section.Drains[0] {
			tag = j.a.codes(1)[l.Step.N]
		}
	}
	if body := j.tech.get(tag).body; !strings.Contains(body, `action="`+j.path+"/drain/"+section.ID+`"`) ||
		!strings.Contains(body, `name="from" value="`+tag+`"`) {
		t.Fatal("the drain's tag offers no form for what came out")
	}
	got := j.tech.refused(j.tech.post(j.path+"/drain/"+section.ID, "out_l", "many", "hold_min", "15", "hold_in_l", "0",
		"gauge_bar", "0", "temp_c", "30", "from", tag), 422, "must be a number")
	if !strings.Contains(got.body, "Record what came out") || !strings.Contains(got.body, `value="many"`) {
		t.Error("the refused form did not come back on the tag's page with what was typed")
	}
	j.tech.must(j.tech.post(j.path+"/drain/"+section.ID, "out_l", "1", "hold_min", "15", "hold_in_l", "0", "gauge_bar",
		"0", "temp_c", "30", "from", tag), tag)
	j.tech.must(j.tech.post(j.path+"/drain/"+section.ID, "out_l", "1", "hold_min", "15", "hold_in_l", "0", "gauge_bar",
		"0", "temp_c", "30", "words", "vent cock cleared", "from", "//evil.example/T/x"), j.path)
}

func TestPassingPointIsLeftOutUntilRepaired(t *testing.T) {
	a := ship(t)
	tech, chief := a.as("tech"), a.as("chief")
	if got := tech.get(screens.JobPath("P1-seal")); !strings.Contains(got.body, `id="f-request"`) {
		t.Fatal("the job has no plan to begin with")
	}
	tech.must(tech.post("/points/V1/passing", "words", "fills the casing in ten minutes"), "/points/V1")
	if got := tech.get(screens.JobPath("P1-seal")); strings.Contains(got.body, `id="f-request"`) {
		t.Error("a plan is offered although its only point passes")
	}
	tech.refused(tech.post("/permits", "job", "P1-seal", "work", "Seal"), 422, "no isolation")
	if got := tech.get("/"); !strings.Contains(got.body, "fills the casing") {
		t.Error("the board does not tell of the passing point")
	}
	tech.refused(tech.post("/points/V1/repair", "words", "lapped the seat", "pin", testPINs["tech"]), http.StatusForbidden,
		"may not")
	chief.must(chief.post("/points/V1/repair", "words", "lapped the seat, tight at 3 bar", "pin", testPINs["chief"]),
		"/points/V1")
	tech.must(tech.post("/permits", "job", "P1-seal", "work", "Seal"), "/permits/1")
}

func TestPlanThatChangedSinceItWasShownIsShownAnew(t *testing.T) {
	a := ship(t)
	c := a.as("tech")
	got := c.refused(c.post("/permits", "job", "P1-seal", "work", "Seal leaks", "plan", strings.Repeat("0", 64)),
		http.StatusConflict, "another one now")
	if !strings.Contains(got.body, "Seal leaks") || !strings.Contains(got.body, `id="f-request"`) {
		t.Error("the new plan and what was typed are not on the page")
	}
	if n := len(a.reg.OpenPermits()); n != 0 {
		t.Errorf("%d permits, want none", n)
	}
}

// TestTakingOffNamesTheLockThatComesOff has two permits lock the same points: walk, tag, point and board say by its
// number which lock comes off, whose it is, and whose stays.
func TestTakingOffNamesTheLockThatComesOff(t *testing.T) {
	j := liveJob(t)
	j.tech.must(j.tech.post("/permits", "job", "P1-seal", "work", "The other seal"), "/permits/2")
	j.oow.must(j.oow.post("/permits/2/authorise", "hours", "12", "pin", testPINs["oow"]), "/permits/2")
	tags := j.a.codes(2)
	for _, l := range j.a.permit(2).Locks() {
		f := []string{"position", string(l.Step.Position)}
		if l.Step.Lock {
			f = append(f, "padlock", fmt.Sprintf("M-%d", l.Step.N))
		}
		j.mate.must(j.mate.post(tags[l.Step.N]+"/fit", f...), tags[l.Step.N])
	}
	for _, who := range []string{"tech", "mate"} {
		j.tech.must(j.tech.post(j.path+"/sign-off", "signer", who, "pin", testPINs[who]), j.path)
	}
	j.mate.must(j.mate.post(j.path+"/hand-back", "tools_back", "7", "guards_back", "yes", "pin", testPINs["mate"]), j.path)
	for {
		j.betweenOrLeftOut()
		l, on := j.a.permit(j.id).NextRemove()
		if !on {
			break
		}
		left, _ := j.a.permit(j.id).LeaveAt(j.a.reg.Held(), l)
		if l.Step.Lock {
			n := strconv.Itoa(l.Step.N)
			for _, path := range []string{j.path + "/walk", j.codeOf(l.Step.N)} {
				j.shows(j.tech, path, `What comes off is your lock <b class="code">L-`+n+"</b>",
					`The lock of Fitter Two <b class="code">M-`+n+"</b> stays")
			}
			j.shows(j.tech, "/points/"+string(l.Step.Point), "take off lock L-"+n+" of Fitter One")
			j.shows(j.tech, "/", "It is number L-"+n+" of Fitter One. Number M-"+n+" of Fitter Two stays (permit 2).")
		}
		j.tech.must(j.tech.post(j.codeOf(l.Step.N)+"/remove", "position", string(left)), j.codeOf(l.Step.N))
	}
}

// betweenOrLeftOut is between where another permit holds the machine: what is refused because of it the chief engineer
// leaves out.
func (j *job) betweenOrLeftOut() {
	j.a.t.Helper()
	for {
		a, due, _ := j.a.permit(j.id).NextAdded()
		if !due || a.Before == 0 {
			return
		}
		if got := j.tech.post(fmt.Sprintf("%s/back/%d", j.path, a.N), "pin", testPINs["tech"]); got.status == http.StatusOK {
			continue
		}
		j.head.must(j.head.post(fmt.Sprintf("%s/leave-out/%d", j.path, a.N), "words", "Permit 2 holds the pump: it looks.",
			"pin", testPINs["chief"]), j.path)
	}
}
