package web

import (
	"fmt"
	"strings"
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

// TestSecondPersonsWalkBackGoesByLabels walks back past every point as second person: it begins with the point that
// Next names, takes the code of the point's label, since no tag hangs there any more, and asks for the signature first
// when all are seen.
func TestSecondPersonsWalkBackGoesByLabels(t *testing.T) {
	j := liveJob(t)
	for _, who := range []string{"tech", "mate"} {
		j.tech.must(j.tech.post(j.path+"/sign-off", "signer", who, "pin", testPINs[who]), j.path)
	}
	j.mate.must(j.mate.post(j.path+"/hand-back", "tools_back", "7", "guards_back", "yes", "pin", testPINs["mate"]), j.path)
	for {
		j.between()
		l, on := j.a.permit(j.id).NextRemove()
		if !on {
			break
		}
		j.tech.must(j.tech.post(j.codeOf(l.Step.N)+"/remove", "position", string(l.Step.Clearance)), j.codeOf(l.Step.N))
	}
	var points []string
	for _, l := range j.a.permit(j.id).Locks() {
		points = append(points, "point", string(l.Step.Point))
	}
	j.tech.must(j.tech.post("/points/labels", points...), "/points")
	labels, err := j.a.reg.LabelCodes(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	unseen := j.a.permit(j.id).Unseen()
	if first := unseen[0].Step; first.N == 1 {
		t.Fatal("the first to come off is step 1: the order shows nothing")
	}
	other := labels[unseen[1].Step.Point].Text()
	look := func(n int, code string) answerPage {
		return j.mate.post("/permits/1/walk/look", "code", code, "n", fmt.Sprint(n))
	}
	j.mate.refused(look(unseen[0].Step.N, other), 422, "not a lock tag")
	for _, l := range unseen {
		body := shownAtFirst(j.mate.get("/permits/1/looks").body)
		if !strings.Contains(body, "<b>"+string(l.Step.Point)+`</b> <span class="tag-step">`) {
			t.Errorf("the walk does not begin with step %d, which comes next", l.Step.N)
		}
		j.mate.must(look(l.Step.N, labels[l.Step.Point].Text()), "/permits/1/looks")
	}
	j.shows(j.mate, "/permits/1/looks", "All seen: sign")
	j.hides(j.mate, "/permits/1/looks", "Nothing to walk", "more after it")
}
