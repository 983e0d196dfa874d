package web

import (
	"bytes"
	"fmt"
	"regexp"
	"testing"

	"stillwatch/permits"
)

// formsOf says at the end of which address the form of each act on a permit is sent.
var formsOf = map[permits.Kind]string{
	permits.KindRequest: "/permits", permits.KindAuthorise: "/authorise", permits.KindCountersign: "/countersign",
	permits.KindAnswerUnproved: "/answer", permits.KindExtend: "/extend", permits.KindFitLock: "/fit",
	permits.KindCheckLock: "/check", permits.KindLook: "/look", permits.KindSignLooks: "/looks",
	permits.KindFindWrong: "/wrong", permits.KindRecordDrain: "/drain/[^\"]+", permits.KindRecordStored: "/reading/[^\"]+",
	permits.KindRecordDead: "/dead/[^\"]+", permits.KindRecordStart: "/start",
	permits.KindAcceptDeviation: "/deviation/[^\"]+", permits.KindProve: "/prove", permits.KindIssue: "/issue",
	permits.KindAccept: "/accept", permits.KindSignOn: "/sign-on", permits.KindSignOff: "/sign-off",
	permits.KindSuspend: "/suspend", permits.KindResume: "/resume", permits.KindHandBack: "/hand-back",
	permits.KindRemoveLock: "/remove", permits.KindRestoreStep: "/back/[0-9]+", permits.KindLeaveOut: "/leave-out/[^\"]+",
	permits.KindCheckRestored: "/see", permits.KindReleaseOwner: "/release", permits.KindClose: "/close",
	permits.KindCancel: "/cancel", permits.KindOfferWatch: "/handover/offer", permits.KindTakeWatch: "/handover/take",
	permits.KindOfferWork: "/offer-work", permits.KindTakeWork: "/take-work",
	permits.KindAskTest: "/test", permits.KindSanctionTest: "/test/sanction", permits.KindLiftLock: "/lift",
	permits.KindRecordTest: "/test/record", permits.KindSightTag: "/sight", permits.KindEndTest: "/test/end",
	permits.KindUseBox: "/box", permits.KindTakeOwnLock: "/own-lock", permits.KindCountOut: "/count-out",
	permits.KindOrderOpening: "/opening", permits.KindOpenAtOnce: "/open", permits.KindAccount: "/account",
}

// shownElsewhere are acts whose forms other tests send as they find them on a page: they need a plan or rules that the
// small plant does not have.
var shownElsewhere = map[permits.Kind]string{
	permits.KindCountersign:    "TestMasterCountersignsBeforeAnythingIsFitted",
	permits.KindAnswerUnproved: "TestJobIsDoneInRealBrowsers",
	permits.KindRecordStored:   "TestJobIsDoneInRealBrowsers",
	permits.KindReckonAnew:     "the register does it, when the clock is put right",

	permits.KindAskChange:       "TestWorkIsAddedThroughThePages",
	permits.KindAuthoriseChange: "TestWorkIsAddedThroughThePages",
	permits.KindDropChange:      "TestWorkIsAddedThroughThePages",

	permits.KindStopForEmergency: "the register does it, when an emergency is declared",
}

// TestEveryActOfTheWayHasItsForm walks a permit through its states, looks at its pages as everybody in each, and wants
// to have seen a form for every act that the way allows somewhere.
func TestEveryActOfTheWayHasItsForm(t *testing.T) {
	a := ship(t)
	a.seen = &bytes.Buffer{}
	a.as("tech").get("/permits/new?job=P1-seal")
	j := beginOn(a)
	look := func() {
		for _, c := range []*browser{j.tech, j.mate, j.oow, j.head} {
			for _, path := range []string{j.path, j.path + "/walk", j.path + "/looks", "/handover", "/emergency"} {
				c.get(path)
			}
			for _, tag := range a.codes(j.id) {
				c.get(tag)
			}
		}
	}
	j.authorise()
	look()
	j.a.relief()
	for _, to := range []string{"relief", "oow"} { // handed over, and taken back
		j.oow.must(j.oow.post("/handover/offer", "permit", "1", "to", to, "pin", testPINs["oow"]), "/handover")
		look()
	}
	first, _ := a.permit(j.id).Lock(1)
	tag := j.codeOf(1)
	j.tech.must(j.tech.post(tag+"/fit", j.fitFields(first)...), tag)
	look()
	for _, to := range []string{"mate", "tech"} { // handed over, and kept
		j.tech.must(j.tech.post(j.path+"/offer-work", "to", to, "pin", testPINs["tech"]), j.path)
		look()
	}
	j.mate.must(j.mate.post(tag+"/look"), tag)
	look()
	j.mate.must(j.mate.post(tag+"/check", "seen", "right", "pin", testPINs["mate"]), tag)
	for _, l := range a.permit(j.id).Locks()[1:] {
		tag := j.codeOf(l.Step.N)
		j.tech.must(j.tech.post(tag+"/fit", j.fitFields(l)...), tag)
	}
	j.check()
	a.wait(drainsRun)
	d := a.permit(j.id).Drains()[0].Section
	j.tech.must(j.tech.post(j.path+"/drain/"+d.ID, "out_l", fmt.Sprintf("%.2f", d.OutL), "hold_min", "1",
		"hold_in_l", "0", "gauge_bar", "0", "temp_c", "30"), j.path)
	look()
	j.oow.must(j.oow.post(j.path+"/suspend", "words", "general alarm"), j.path)
	look()
	j.oow.must(j.oow.post(j.path+"/resume", "pin", testPINs["oow"]), j.path)
	j.check()
	a.wait(drainsRun)
	j.tech.must(j.tech.post(j.path+"/drain/"+d.ID, "out_l", fmt.Sprintf("%.2f", d.OutL), "hold_min", "15",
		"hold_in_l", "0", "gauge_bar", "0", "temp_c", "30", "into", "Sludge tank", "words", "held for longer"), j.path)
	for _, s := range a.permit(j.id).Drains()[1:] {
		j.tech.must(j.tech.post(j.path+"/drain/"+s.Section.ID, "out_l", fmt.Sprintf("%.2f", s.Section.OutL), "hold_min", "15",
			"hold_in_l", "0", "gauge_bar", "0", "temp_c", "30", "into", "Sludge tank"), j.path)
	}
	for _, e := range a.permit(j.id).Dead() {
		j.tech.must(j.tech.post(j.path+"/dead/"+e.Test.ID, "proved_before", "yes", "dead", "yes", "proved_after", "yes"),
			j.path)
	}
	if a.permit(j.id).NeedsStart() {
		j.tech.must(j.tech.post(j.path+"/start", "still", "yes", "controls_off", "yes"), j.path)
	}
	look()
	j.goLive()
	look()
	j.test(look)
	j.emergency(look)
	j.work()
	look()
	j.restore()
	look()
	for _, kind := range permits.Kinds() {
		act, err := permits.DecodeAct(kind, []byte("{}"))
		if err != nil {
			t.Fatal(err)
		}
		_, ofPermit := act.(permits.PermitAct)
		if !ofPermit || shownElsewhere[kind] != "" || atWorkForms[kind] != "" {
			continue
		}
		end, known := formsOf[kind]
		if !known {
			t.Errorf("no form is known for %s", kind)
		} else if !regexp.MustCompile(fmt.Sprintf(`action="[^"]*%s"`, end)).Match(a.seen.Bytes()) {
			t.Errorf("no page shows a form for %s", kind)
		}
	}
}
