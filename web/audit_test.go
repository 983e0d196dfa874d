package web

import (
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"stillwatch/permits"
	"stillwatch/web/screens"
)

// TestTagsAreAuditedByWalk walks an auditor past the tags of a live permit on the page of the audit, and signs; two
// weeks later the board says that it is overdue, and a wrong position stops the work.
func TestTagsAreAuditedByWalk(t *testing.T) {
	j := liveJob(t)
	locks := j.a.permit(j.id).Locks()
	j.shows(j.oow, "/audit", strconv.Itoa(len(locks))+" tags hang", "0 overdue", `action="/audit/sight"`)
	j.hides(j.oow, "/audit", `action="/audit"`)
	j.shows(j.tech, "/audit", "Somebody else sights")
	sight := func(c *browser, n int, more ...string) answerPage {
		return c.post("/audit/sight", append([]string{"tag", "1-" + strconv.Itoa(n), "how", "typed"}, more...)...)
	}
	j.oow.refused(sight(j.oow, 1, "seen", "as found"), 422, "means that you read the tag")
	j.oow.refused(sight(j.oow, 1, "seen", "as found", "code", "7K"), 422, "too short")
	j.oow.refused(sight(j.oow, 1, "seen", "as found", "code", j.code(2)), 422, "is not tag 1 of permit 1")
	j.oow.refused(sight(j.oow, 1), 422, "say what you see")
	j.tech.refused(sight(j.tech, 1, "seen", "as found", "code", j.code(1)), 422, "does not audit it")
	for _, l := range locks {
		j.oow.must(sight(j.oow, l.Step.N, "seen", "as found", "code", j.code(l.Step.N)), "/audit")
	}
	j.shows(j.oow, "/audit", strconv.Itoa(len(locks))+" sighted", `action="/audit"`)
	j.oow.refused(j.oow.post("/audit", "tags", "1", "pin", testPINs["oow"]), 409, "list has changed")
	j.oow.must(j.oow.post("/audit", "tags", strconv.Itoa(len(locks)), "pin", testPINs["oow"]), "/audit")
	j.shows(j.oow, "/audit", "Last signed by")

	j.a.wait(14 * 24 * time.Hour)
	j.oow = j.a.as("oow")
	j.shows(j.oow, "/", "Audit overdue", "tags were not sighted in time")
	j.shows(j.oow, "/handover", "Audit overdue")
	j.shows(j.oow, j.codeOf(1), "Sight audit of this tag: it is due", `/sight"`)
	j.oow.must(j.oow.post(j.codeOf(1)+"/sight", "seen", "unreadable", "words", "oil on it"), "/audit")
	j.shows(j.oow, "/audit", "cannot be read")
	j.oow.must(j.oow.post(j.codeOf(1)+"/sight", "seen", "wrong position", "words", "half open"), "/audit")
	if got := j.a.permit(j.id).State(); got != permits.Suspended {
		t.Errorf("the permit is %s, want suspended", got)
	}
	paper := j.oow.get("/audit.pdf")
	if paper.status != 200 || !strings.HasPrefix(paper.body, "%PDF") {
		t.Errorf("the sheet = %d, %.20q", paper.status, paper.body)
	}
}

func TestTheAuditIsShortenedOnItsPage(t *testing.T) {
	j := begin(t)
	j.shows(j.oow, "/audit", "No tag hangs", "at least every 14 days")
	j.hides(j.oow, "/audit", `action="/audit/interval"`)
	chief := j.a.as("chief")
	chief.refused(chief.post("/audit/interval", "days", "15", "pin", testPINs["chief"]), 422, "never lengthened")
	chief.must(chief.post("/audit/interval", "days", "7", "pin", testPINs["chief"]), "/audit")
	j.shows(j.oow, "/audit", "at least every 7 days")
}

func TestAPlanIsInspectedOnItsPage(t *testing.T) {
	j := begin(t)
	j.authorise()
	job := j.a.permit(j.id).Plan().Job
	j.shows(j.oow, "/inspections", "due", "never")
	j.shows(j.oow, "/inspections?job="+job, "They do not inspect it", `action="/inspections"`)
	chief := j.a.as("chief")
	send := func(c *browser, who string, more ...string) answerPage {
		return c.post("/inspections", append([]string{"job", job, "words", "walked it past every point", "signer", who, "pin",
			testPINs[who]}, more...)...)
	}
	j.oow.refused(send(j.oow, "oow", "with", "tech"), 422, "Somebody inspects it who has not used it")
	chief.refused(send(chief, "chief"), 422, "Choose at least one")
	chief.must(send(chief, "chief", "with", "tech", "wrong", "a drain is missing"), "/inspections")
	j.shows(j.oow, "/inspections", "found wrong")
	chief.must(send(chief, "chief", "with", "tech"), "/inspections")
	j.hides(j.oow, "/inspections", "found wrong")
}

// TestWhatIsFoundWrongIsSaidWhereverTheLockStands records in the audit that a point does not stand as it should: alarm,
// board, permit, point, tag, board screen and handover say which, what and who, and none of them calls it held.
func TestWhatIsFoundWrongIsSaidWhereverTheLockStands(t *testing.T) {
	j := liveJob(t)
	l, _ := j.a.permit(j.id).Lock(1)
	point := string(l.Step.Point)
	j.oow.must(j.oow.post(j.codeOf(1)+"/sight", "seen", "wrong position", "words", "half open"), "/audit")
	found := []string{"FOUND WRONG", "half open", "Officer One"}
	for _, path := range []string{"/", j.path, "/points/" + point, "/handover"} {
		j.shows(j.oow, path, append(found, point)...)
	}
	j.shows(j.oow, "/", "1 found wrong", "to be <span", "FOUND WRONG: "+point+" (step 1)")
	j.shows(j.oow, j.path, "1 FOUND WRONG")
	j.hides(j.oow, "/points/"+point, "do not operate")
	j.shows(j.oow, j.codeOf(1), "FOUND WRONG")
	j.hides(j.oow, j.codeOf(1), "It hangs as it should")
	wrong := func(g screens.PlaceGroup) bool { return g.Points[0].Wrong() }
	screen := screens.BoardScreenOf(j.a.web.setting(testCrew[1]), nil)
	if len(screen.Alarms) == 0 || !strings.Contains(screen.Alarms[0].What, point) ||
		!slices.ContainsFunc(screen.Places, wrong) {
		t.Errorf("the board screen does not say that %s was found wrong: %+v", point, screen.Alarms)
	}
	for _, who := range []string{"tech", "mate"} {
		j.tech.post(j.path+"/sign-off", "signer", who, "pin", testPINs[who])
	}
	j.shows(j.oow, "/", append(found, "Alarm")...)
}
