package web

import (
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
