package web

import (
	"strconv"
	"testing"

	"stillwatch/permits"
)

// TestShortStopOnThePage stops the work for a meal and lets it go on by the officer's form, which asks for both
// conditions; and says why a stop is a long one where it is.
func TestShortStopOnThePage(t *testing.T) {
	j := liveJob(t)
	j.tech.must(j.tech.post(j.path+"/suspend", "words", "dinner"), j.path)
	for _, who := range []string{"tech", "mate"} {
		j.tech.must(j.tech.post(j.path+"/sign-off", "signer", who, "pin", testPINs[who]), j.path)
	}
	j.shows(j.oow, j.path, `name="stop" value="short"`, "People stayed near")
	j.oow.refused(j.oow.post(j.path+"/resume", "stop", "short", "near", "yes", "pin", testPINs["oow"]), 422,
		"not confirmed that nothing was opened")
	j.oow.must(j.oow.post(j.path+"/resume", "stop", "short", "near", "yes", "untouched", "yes", "pin", testPINs["oow"]),
		j.path)
	j.check()
	j.wantState(permits.Proving)
	j.mate.must(j.mate.post(j.path+"/accept", "tools_out", "7", "pin", testPINs["mate"]), j.path)
	j.wantState(permits.Live)

	j.tech.must(j.tech.post(j.path+"/suspend", "words", "dinner"), j.path)
	relief := j.a.relief()
	j.oow.must(j.oow.post("/handover/offer", "permit", "1", "to", "relief", "pin", testPINs["oow"]), "/handover")
	relief.must(relief.post("/handover/take", "permit", "1", "pin", reliefPIN), "/handover")
	j.hides(relief, j.path, `name="stop" value="short"`)
	j.shows(relief, j.path, "taken over since")
}

// emergency puts the keys of a live permit into a group box, declares a fire with somebody at work, has a lock taken
// off at once and goes on afterwards, by the pages' forms.
func (j *job) emergency(see func()) {
	j.a.t.Helper()
	p := j.a.permit(j.id)
	keys, last := j.keys(), p.Locks()[len(p.Locks())-1]
	see()
	in := testPINs[string(p.Accepted().By)]
	box := []string{"box", "B2", "keys", strconv.Itoa(keys), "signer", string(p.Accepted().By), "pin", in}
	j.tech.must(j.tech.post(j.path+"/box", box...), j.path)
	j.tech.refused(j.tech.post(j.path+"/sign-on", "pin", testPINs["tech"]), 422, "Hang a lock of your own on group box B2")
	j.tech.must(j.tech.post(j.path+"/sign-on", "lock", "T-1", "pin", testPINs["tech"]), j.path)
	j.oow.must(j.oow.post("/emergency", "words", "fire in the purifier room", "pin", testPINs["oow"]), "/emergency")
	j.wantState(permits.Suspended)
	j.shows(j.oow, "/", "Emergency: fire in the purifier room", "Not out:")
	see()
	j.oow.refused(j.oow.post("/emergency/end", "words", "out", "pin", testPINs["oow"]), 422, "Not out yet: Fitter One")
	j.oow.must(j.oow.post(j.path+"/count-out", "person", "tech", "where", "muster station"), "/emergency")
	see()
	j.tech.must(j.tech.post(j.path+"/own-lock", "person", "tech", "pin", testPINs["tech"]), j.path)
	j.oow.must(j.oow.post(j.path+"/opening", "step", strconv.Itoa(last.Step.N), "by_whom", "tech", "seen_by", "mate",
		"words", "fire pump", "pin", testPINs["oow"]), j.path)
	see()
	tag := j.codeOf(last.Step.N)
	j.tech.must(j.tech.post(tag+"/open", "position", string(last.Step.Clearance)), tag)
	j.oow.must(j.oow.post("/emergency/end", "words", "fire out", "pin", testPINs["oow"]), "/emergency")
	j.shows(j.oow, "/", "Not accounted for after the emergency")
	see()
	j.oow.refused(j.oow.post(j.path+"/resume", "pin", testPINs["oow"]), 422, "Nobody has counted")
	j.oow.must(j.oow.post(j.path+"/account", "hang", strconv.Itoa(len(p.Locks())-1), "words", "lock off for the fire pump",
		"pin", testPINs["oow"]), j.path)
	j.oow.prints("/emergency.pdf", "ordered, to be opened at once by Fitter One", "in the emergency took",
		strconv.Itoa(len(p.Locks())-1)+" hang right; lock off for the fire pump. By Officer One")
	j.oow.must(j.oow.post(j.path+"/resume", "stop", "long", "pin", testPINs["oow"]), j.path)
	l, _ := j.a.permit(j.id).NextFit()
	if l.Step.N != last.Step.N {
		j.a.t.Fatalf("after the emergency step %d is fitted next, want %d", l.Step.N, last.Step.N)
	}
	fields := j.fitFields(l)
	j.tech.must(j.tech.post(tag+"/fit", fields...), tag)
	j.check()
	j.record()
	j.goLive()
}
