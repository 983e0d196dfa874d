package web

import (
	"fmt"
	"testing"

	"stillwatch/permits"
)

// TestSecondPersonSignsOnce walks past every lock as second person, by codes on the walk and by one tag's own page, and
// signs once with one PIN.
func TestSecondPersonSignsOnce(t *testing.T) {
	j := begin(t)
	j.authorise()
	locks := j.a.permit(j.id).Locks()
	for _, l := range locks {
		tag := j.codeOf(l.Step.N)
		j.tech.must(j.tech.post(tag+"/fit", j.fitFields(l)...), tag)
	}
	j.shows(j.mate, j.path, `href="/permits/1/looks"`)
	j.shows(j.mate, "/permits/1/looks", "Second person:", "It is right")
	j.hides(j.tech, "/permits/1/looks", "It is right") // who fitted them
	look := func(n, shown int) answerPage {
		return j.mate.post("/permits/1/walk/look", "code", j.codeOf(n)[3:], "n", fmt.Sprint(shown))
	}
	j.mate.refused(look(2, 1), 422, "This is tag 2")
	first := j.codeOf(1)
	j.mate.must(j.mate.post(first+"/look"), first)
	j.shows(j.mate, first, "You have looked at it", `href="/permits/1/looks"`)
	for _, l := range locks[1:] {
		j.mate.must(look(l.Step.N, l.Step.N), "/permits/1/looks")
	}
	j.wantState(permits.Isolating)
	j.tech.refused(j.tech.post("/permits/1/looks", "step", "1", "signer", "tech", "pin", testPINs["tech"]), 422,
		"looked at nothing")
	var steps []string
	for _, l := range locks {
		steps = append(steps, "step", fmt.Sprint(l.Step.N))
	}
	j.mate.refused(j.mate.post("/permits/1/looks", append(steps, "signer", "mate", "pin", "000000")...), 403, "PIN")
	j.mate.must(j.mate.post("/permits/1/looks", append(steps, "signer", "mate", "pin", testPINs["mate"])...), j.path)
	j.wantState(permits.Proving)
}
