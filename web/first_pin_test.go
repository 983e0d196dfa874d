package web

import "testing"

// TestAPINOfSomebodyElseSignsNothing sets a technician's PIN as the chief engineer does: the technician signs in with
// it and is led to change it; until then nothing is signed with it, on any device, but locks are fitted and work is
// stopped.
func TestAPINOfSomebodyElseSignsNothing(t *testing.T) {
	j := begin(t)
	j.authorise()
	j.isolate()
	chief := j.a.as("chief")
	chief.must(chief.post("/people/mate/pin", "new_pin", "829164", "new_pin_again", "829164", "pin", testPINs["chief"]),
		"/people")
	mate := j.a.browser()
	mate.must(mate.post("/sign-in", "person", "mate", "pin", "829164"), "/pin")
	j.shows(mate, "/pin", "Somebody else set this PIN")
	locks := j.a.permit(j.id).Locks()
	fit, tech := j.codeOf(locks[0].Step.N), j.a.as("tech")
	mate.must(mate.post(fit+"/wrong", "words", "the lock is gone"), fit)
	tech.must(tech.post(fit+"/fit", j.fitFields(locks[0])...), fit)
	mate.refused(mate.post(fit+"/check", "seen", "right", "pin", "829164"), 403, "Somebody else set the PIN")
	tech.refused(tech.post(fit+"/check", "seen", "right", "signer", "mate", "pin", "829164"), 403,
		"Somebody else set the PIN")
	mate.refused(mate.post("/pin", "old_pin", "829164", "new_pin", "829164", "new_pin_again", "829164"), 422,
		"This is the PIN that you have")
	mate.must(mate.post("/pin", "old_pin", "829164", "new_pin", "640917", "new_pin_again", "640917"), "/")
	mate.must(mate.post(fit+"/check", "seen", "right", "pin", "640917"), fit)
}
