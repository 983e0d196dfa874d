package web

import (
	"bytes"
	"regexp"
	"strings"
	"testing"
	"time"

	"stillwatch/permits"
)

// atWorkForms are the acts whose forms stand where people work, with the end of each form's address.
var atWorkForms = map[permits.Kind]string{
	permits.KindRecordAir: "/air/[0-9]+", permits.KindAnswerMeasures: "/measures", permits.KindTakePost: "/take-post",
	permits.KindLeavePost: "/leave-post", permits.KindGoIn: "/go-in", permits.KindComeOut: "/come-out",
	permits.KindInhibit: "/inhibit", permits.KindPutBack: "/put-back/[0-9]+",
	permits.KindConsentDeviation: "/consent/[^\"]+",
}

// TestTankIsEnteredAndWeldedByItsPages does a whole entry with hot work by the forms that the pages show: a section
// that is not found drained is accepted by two, the measures are ticked in one form, the air is tested at each level,
// two go in and come out, the detector is put back and the fire watch stays.
func TestTankIsEnteredAndWeldedByItsPages(t *testing.T) {
	a := ship(t)
	a.seen = &bytes.Buffer{}
	head := a.as("chief")
	head.putInForce("/plant", "space.yaml", plantText(t, "space.yaml"))
	j := &job{a: a, tech: a.as("tech"), mate: a.as("mate"), oow: a.as("oow"), head: head, id: 1, path: "/permits/1"}
	hand, at := a.as("hand"), "/permits/1/at-work"
	j.tech.must(j.tech.post("/permits", "job", "T1-coat", "work", "Coating burnt off and renewed"), j.path)
	j.oow.must(j.oow.post(j.path+"/authorise", "hours", "8", "pin", testPINs["oow"]), j.path)
	j.oow.must(j.oow.post(j.path+"/countersign", "signer", "master", "pin", testPINs["master"]), j.path)
	for _, l := range a.permit(1).Locks() {
		tag, more := j.codeOf(l.Step.N), []string{"measure_done", "yes", "no_pressure", "yes"}
		j.tech.must(j.tech.post(tag+"/fit", append(j.fitFields(l), more...)...), tag)
	}
	j.check()
	a.wait(drainsRun)

	p := a.permit(1)
	d := p.Drains()[0].Section
	drain := func(out string) []string {
		return []string{"out_l", out, "hold_min", "15", "hold_in_l", "0", "gauge_bar", "0", "temp_c", "20", "into", "Bilge",
			"words", "sludge in the drain"}
	}
	j.tech.must(j.tech.post(j.path+"/drain/"+d.ID, drain("400")...), j.path)
	for _, r := range p.Stored() {
		if r.Check.Stored.Kind != "measure" {
			j.tech.must(j.tech.post(j.path+"/reading/"+r.Check.ID, "value", "yes"), j.path)
		}
	}
	var ticks []string
	for _, m := range p.Measures() {
		ticks = append(ticks, "measure", m.Check.ID)
	}
	j.tech.refused(j.tech.post(j.path+"/measures"), 422, "Tick what is seen to")
	j.tech.get(at)
	j.tech.must(j.tech.post(j.path+"/measures", ticks...), at)
	for i := range p.Air() {
		test := []string{"gas_O2", "20.9", "gas_LEL", "0", "gas_H2S", "0", "gas_CO", "0", "gas_CO2", "0.1", "gas_xylene",
			"0", "meter", "G-07", "tested", "yes", "still", "yes"}
		level := j.path + "/air/" + string(rune('1'+i))
		j.tech.refused(j.tech.post(level, append([]string{"gas_O2", ""}, test[2:]...)...), 422, "Oxygen is missing")
		j.tech.refused(j.tech.post(level, test[:len(test)-2]...), 422, "ventilation stopped")
		j.tech.must(j.tech.post(level, test...), at)
	}
	j.head.get(j.path)
	j.head.must(j.head.post(j.path+"/deviation/"+d.ID, "words", "Sludge is taken out by hand", "pin",
		testPINs["chief"]), j.path)
	j.oow.get(j.path)
	j.oow.must(j.oow.post(j.path+"/consent/"+d.ID, "pin", testPINs["oow"]), j.path)
	j.goLive()

	j.tech.post(j.path+"/sign-on", "pin", testPINs["tech"])
	if got := j.tech.last; got.status != 422 || !strings.Contains(got.body, "Nobody stands by as fire watch") {
		t.Fatalf("sign on without a fire watch = %d", got.status)
	}
	hand.get(at)
	hand.must(hand.post(j.path+"/take-post", "post", "attendant", "pin", testPINs["hand"]), at)
	j.head.must(j.head.post(j.path+"/take-post", "post", "fire watch", "pin", testPINs["chief"]), at)
	j.oow.get(at)
	j.oow.must(j.oow.post(j.path+"/inhibit", "what", "Loop 3, tank deck", "means", "the fire watch calls the bridge",
		"pin", testPINs["oow"]), at)
	j.tech.must(j.tech.post(j.path+"/sign-on", "pin", testPINs["tech"]), j.path)
	j.mate.must(j.mate.post(j.path+"/sign-on", "pin", testPINs["mate"]), j.path)
	hand.get(at)
	hand.refused(hand.post(j.path+"/go-in", "people", "tech", "meters", "yes"), 422, "Nobody goes in alone")
	got := hand.must(hand.post(j.path+"/go-in", "people", "tech", "people", "mate", "meters", "yes"), at)
	if !strings.Contains(got.body, "Inside now: 2") {
		t.Error("the page at the entrance does not say that two are inside")
	}
	for _, want := range []string{"Fitter Two is inside since", "Crew Member stands by as attendant since",
		"Loop 3, tank deck is out of action since", "The test of the air holds until"} {
		if !strings.Contains(j.oow.get("/handover").body, want) {
			t.Errorf("the page of the handover does not say %q", want)
		}
	}
	j.tech.refused(j.tech.post(j.path+"/sign-off", "pin", testPINs["tech"]), 422, "recorded as inside")
	hand.must(hand.post(j.path+"/come-out", "people", "tech", "people", "mate"), at)
	j.tech.must(j.tech.post(j.path+"/sign-off", "pin", testPINs["tech"]), j.path)
	j.mate.must(j.mate.post(j.path+"/sign-off", "pin", testPINs["mate"]), j.path)
	hand.must(hand.post(j.path+"/leave-post", "post", "attendant", "pin", testPINs["hand"]), at)
	back := func() answerPage {
		return j.mate.post(j.path+"/hand-back", "tools_back", "7", "guards_back", "yes", "pin", testPINs["mate"])
	}
	j.mate.refused(back(), 422, "still inhibited")
	j.oow.get(at)
	j.oow.must(j.oow.post(j.path+"/put-back/1", "tried", "yes", "pin", testPINs["oow"]), at)
	j.mate.refused(back(), 422, "still stands by as fire watch")
	j.head.refused(j.head.post(j.path+"/leave-post", "post", "fire watch", "quiet", "yes", "pin", testPINs["chief"]), 422,
		"The fire watch stays until")
	a.wait(31 * time.Minute)
	j.head.get(at)
	j.head.must(j.head.post(j.path+"/leave-post", "post", "fire watch", "quiet", "yes", "pin", testPINs["chief"]), at)
	j.mate.must(back(), j.path)

	wantPDF(t, j.tech, j.path+"/permit.pdf")
	for kind, end := range atWorkForms {
		if !regexp.MustCompile(`action="[^"]*` + end + `"`).Match(a.seen.Bytes()) {
			t.Errorf("no page shows a form for %s", kind)
		}
	}
}
