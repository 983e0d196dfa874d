package web

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"stillwatch/permits"
	"stillwatch/web/screens"
)

func TestRefusedFormComesBackWithWhatWasTyped(t *testing.T) {
	j := begin(t)
	got := j.oow.refused(j.oow.post(j.path+"/authorise", "hours", "99", "signer", "oow", "pin", testPINs["oow"]), 422,
		"from 0.25 to 24 hours")
	if !strings.Contains(got.body, `value="99"`) {
		t.Error("the hours that were typed are not in the form")
	}
	if strings.Contains(got.body, testPINs["oow"]) {
		t.Error("the PIN is in the page")
	}
	got = j.oow.refused(j.oow.post(j.path+"/authorise", "hours", "x<script>", "pin", testPINs["oow"]), 422,
		"must be a number")
	if strings.Contains(got.body, "x<script>") {
		t.Error("what was typed stands unescaped in the page")
	}
	got = j.head.refused(j.head.post(j.path+"/cancel", "words", "  ", "pin", testPINs["chief"]), 422, "must be filled in")
	if !strings.Contains(got.body, `<details class="panel act" open>`) {
		t.Error("the form that was refused is folded away")
	}
	j.wantState(permits.Draft)
}

func TestSameFormTwiceHappensOnce(t *testing.T) {
	a := ship(t)
	c := a.as("tech")
	const act = "0123456789abcdef0123456789abcdef"
	for range 3 {
		c.must(c.post("/permits", "job", "P1-seal", "work", "Seal leaks", "act_id", act), "/permits/1")
	}
	if got := len(a.reg.OpenPermits()); got != 1 {
		t.Errorf("the form was sent three times: %d permits, want 1", got)
	}
	c.refused(c.post("/permits", "job", "P1-seal", "work", "Something else", "act_id", act), http.StatusConflict, "")
	c.refused(c.post("/permits", "job", "P1-seal", "work", "Seal leaks", "act_id", "short"), 422, "no act id")
	if got := len(a.reg.OpenPermits()); got != 1 {
		t.Errorf("%d permits, want 1", got)
	}
}

func TestTagsAreFittedInOrderByTheirOwnCode(t *testing.T) {
	j := begin(t)
	j.authorise()
	tags, locks := j.a.codes(1), j.a.permit(1).Locks()
	j.tech.refused(j.tech.post(tags[2]+"/fit", j.fitFields(locks[1])...), 422, "not its turn")
	wrong := locks[0].Step.Kind.Passing()
	got := j.tech.refused(j.tech.post(tags[1]+"/fit", "position", string(wrong), "padlock", "L-1"), 422, "must be")
	if !strings.Contains(got.body, `value="L-1"`) {
		t.Error("the lock's number that was typed is not in the form")
	}
	j.tech.refused(j.tech.post(tags[1]+"/fit", "padlock", "L-1"), 422, "in which position you see it")
	j.oow.refused(j.oow.post(tags[1]+"/fit", j.fitFields(locks[0])...), http.StatusForbidden, "may not")
	low := strings.ToLower(tags[1])
	j.tech.must(j.tech.post(low+"/fit", j.fitFields(locks[0])...), tags[1])
	j.tech.refused(j.tech.post(tags[1]+"/check", "seen", "right", "pin", testPINs["tech"]), 422, "fitted lock 1")
	j.tech.refused(j.tech.post(tags[1]+"/check", "pin", testPINs["tech"]), 422, "If they are right, confirm it")
	j.mate.refused(j.mate.post(tags[1]+"/wrong"), 422, "must be filled in")
	j.mate.must(j.mate.post(tags[1]+"/wrong", "words", "lock is not shut"), tags[1])
	if body := j.tech.get(tags[1]).body; !strings.Contains(body, "lock is not shut") ||
		!strings.Contains(body, tags[1]+"/fit") {
		t.Error("the tag that was found wrong does not ask to be fitted anew")
	}
	if l, _ := j.a.permit(1).Lock(1); l.How != "typed" {
		t.Errorf("How = %q, want typed for a form that says nothing", l.How)
	}
}

func TestCodesThatAreNoneSayWhy(t *testing.T) {
	j := begin(t)
	j.authorise()
	good := strings.TrimPrefix(j.a.codes(1)[1], "/T/")
	swapped := good[:3] + string(good[4]) + string(good[3]) + good[5:]
	for _, tc := range []struct {
		name, code, words string
		status            int
	}{
		{"too short", good[:12], "too short", 422},
		{"misread", "0" + good[1:16] + otherCheck(checkFor("0"+good[1:16])), "check character", 422},
		{"another ship's", "ABCDEFGHJKMNPQRS" + checkFor("ABCDEFGHJKMNPQRS"), "No tag or label", 404},
	} {
		got := j.tech.get("/T/" + tc.code)
		if got.status != tc.status || !strings.Contains(got.body, tc.words) {
			t.Errorf("%s: GET /T/… = %d, want %d with %q", tc.name, got.status, tc.status, tc.words)
		}
		if got := j.tech.post("/T/"+tc.code+"/fit", "position", "open"); got.status != tc.status {
			t.Errorf("%s: POST /T/…/fit = %d, want %d", tc.name, got.status, tc.status)
		}
	}
	if swapped != good {
		if got := j.tech.get("/T/" + swapped); got.status != 422 {
			t.Errorf("two characters swapped = %d, want 422", got.status)
		}
	}
	spoken := strings.ToLower(good[:4] + "-" + good[4:8] + " " + good[8:])
	if got := j.tech.get("/find?code=" + strings.ReplaceAll(spoken, " ", "+")); got.status != 200 ||
		got.path != "/T/"+good || !strings.Contains(got.body, `name="how" value="typed"`) {
		t.Errorf("a typed code ends at %s (%d), want the tag's page with how=typed", got.path, got.status)
	}
	if got := j.tech.get("/find?code=http%3A%2F%2Fbridge%2Ft%2F" + strings.ToLower(good)); got.path != "/T/"+good {
		t.Errorf("a pasted address ends at %s, want the tag's page", got.path)
	}
}

// checkFor finds the check character of a code's first sixteen by trying all.
func checkFor(text string) string {
	for _, c := range "0123456789ABCDEFGHJKMNPQRSTVWXYZ" {
		if _, err := permits.ParseTagCode(text + string(c)); err == nil {
			return string(c)
		}
	}
	return ""
}

func otherCheck(right string) string {
	if right == "A" {
		return "B"
	}
	return "A"
}

func TestTagOfAClosedPermitDoesNothing(t *testing.T) {
	j := begin(t)
	j.authorise()
	tag := j.a.codes(1)[1]
	j.head.must(j.head.post(j.path+"/cancel", "words", "not needed any more", "pin", testPINs["chief"]), j.path)
	j.wantState(permits.Cancelled)
	got := j.tech.get(tag)
	if got.status != 200 || !strings.Contains(got.body, "Does nothing") || strings.Contains(got.body, "/fit") {
		t.Errorf("the tag of a cancelled permit = %d; it must say that it does nothing and have no form", got.status)
	}
	l, _ := j.a.permit(1).Lock(1)
	j.tech.refused(j.tech.post(tag+"/fit", j.fitFields(l)...), 422, "nobody can fit a lock now")
}

func TestNonsenseInReadingsIsRefused(t *testing.T) {
	j := begin(t)
	j.authorise()
	j.isolate()
	section := j.a.permit(1).Drains()[0].Section.ID
	j.a.wait(drainsRun)
	ok := map[string]string{"out_l": "1", "hold_min": "15", "hold_in_l": "0", "gauge_bar": "0", "temp_c": "30"}
	for _, tc := range []struct{ field, value, words string }{
		{"out_l", "-3", "must be from 0"}, {"out_l", "", "is missing"}, {"out_l", "1e9", "must be a number"},
		{"out_l", "NaN", "must be a number"}, {"out_l", "0x10", "must be a number"},
		{"hold_min", "-1", "must be from 0"}, {"hold_in_l", "99999999", "must be from 0"},
		{"gauge_bar", "-2", "must be from"}, {"temp_c", "9999", "must be from"},
	} {
		form := []string{}
		for k, v := range ok {
			if k == tc.field {
				v = tc.value
			}
			form = append(form, k, v)
		}
		j.tech.refused(j.tech.post(j.path+"/drain/"+section, form...), 422, tc.words)
	}
	if got := j.a.permit(1).Drains()[0]; !got.Recorded.IsZero() {
		t.Errorf("a refused reading was recorded: %+v", got.Reading)
	}
	j.tech.refused(j.tech.post(j.path+"/drain/none", "out_l", "1", "hold_min", "15", "hold_in_l", "0", "gauge_bar", "0",
		"temp_c", "30"), 404, "no section")
	comma := j.tech.post(j.path+"/drain/"+section, "out_l", "0,5", "hold_min", "15", "hold_in_l", "0", "gauge_bar", "0",
		"temp_c", "30", "words", "measured in a can")
	if got := j.a.permit(1).Drains()[0].Reading.OutL; comma.status != 200 || got != 0.5 {
		t.Errorf("0,5 litres were read as %g (status %d), want 0.5", got, comma.status)
	}
}

func TestLabelledPointAsksForLabelAndTag(t *testing.T) {
	j := begin(t)
	j.authorise()
	l, _ := j.a.permit(1).Lock(1)
	point := string(l.Step.Point)
	j.tech.must(j.tech.post("/points/labels", "point", point, "point", "V2"), "/points")
	codes, err := j.a.reg.LabelCodes(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	tag := j.a.codes(1)[1]
	j.tech.refused(j.tech.post(tag+"/fit", j.fitFields(l)...), 422, "both it and the tag are asked for")
	if got := j.tech.get("/T/" + codes["V2"].Text()); got.status != 200 ||
		!strings.Contains(got.body, "Label of V2 read") {
		t.Errorf("scanning a label = %d, want the point's page", got.status)
	}
	if body := j.tech.get(tag).body; !strings.Contains(body, "Wrong label") {
		t.Error("the tag's page does not say that the label is the wrong one")
	}
	j.tech.refused(j.tech.post(tag+"/fit", j.fitFields(l)...), 422, "is of V2")
	j.tech.get("/T/" + codes[l.Step.Point].Text())
	if body := j.tech.get(tag).body; !strings.Contains(body, "Label read") || strings.Contains(body, `name="label"`) {
		t.Error("the tag's page does not say that the label was read")
	}
	j.a.wait(labelCounts + time.Minute)
	j.tech.refused(j.tech.post(tag+"/fit", j.fitFields(l)...), 422, "both it and the tag")
	j.tech.must(j.tech.post(tag+"/fit", append(j.fitFields(l), "label", codes[l.Step.Point].Spoken())...), tag)
}

func TestTenWrongPINsLockAndTheBoardSays(t *testing.T) {
	j := begin(t)
	for i := range 10 {
		got := j.oow.post(j.path+"/authorise", "hours", "4", "signer", "oow", "pin", fmt.Sprintf("11%04d", i))
		if got.status != http.StatusForbidden {
			t.Fatalf("wrong PIN %d = %d, want 403", i+1, got.status)
		}
		j.a.wait(5 * time.Minute)
	}
	j.oow.refused(j.oow.post(j.path+"/authorise", "hours", "4", "signer", "oow", "pin", testPINs["oow"]),
		http.StatusForbidden, "Too many wrong PINs")
	if body := j.head.get("/").body; !strings.Contains(body, "wrong PINs in a row") ||
		!strings.Contains(body, `class="notice"`) {
		t.Error("the board does not tell of the locked PIN")
	}
	j.wantState(permits.Draft)
	j.a.wait(20 * time.Minute)
	j.authorise()
}

func TestTooLargeBodiesAreRefusedWithAPage(t *testing.T) {
	j := begin(t)
	big := "words=" + strings.Repeat("x", 10<<20)
	got := j.head.postBody(j.path+"/cancel", "application/x-www-form-urlencoded", strings.NewReader(big))
	if got.status != http.StatusRequestEntityTooLarge || !strings.Contains(got.body, "too large") {
		t.Errorf("10 MB form = %d, want 413 with a page", got.status)
	}
	hidden := j.head.postBody(j.path+"/cancel", "application/x-www-form-urlencoded", onlyReader{strings.NewReader(big)})
	if hidden.status != http.StatusRequestEntityTooLarge {
		t.Errorf("10 MB form of unknown length = %d, want 413", hidden.status)
	}
	file := j.head.upload("/plant/propose", "big.yaml", []byte(strings.Repeat("# big\n", 2<<20)), "pin", testPINs["chief"])
	if file.status != http.StatusRequestEntityTooLarge {
		t.Errorf("12 MB file = %d, want 413", file.status)
	}
	if got := j.head.get("/"); got.status != 200 {
		t.Errorf("the board after that = %d, want 200", got.status)
	}
}

// onlyReader hides a reader's length, so that it is sent in chunks.
type onlyReader struct{ r *strings.Reader }

func (o onlyReader) Read(p []byte) (int, error) { return o.r.Read(p) }

func TestBrokenPlantFileIsShownWithItsPlace(t *testing.T) {
	a := ship(t)
	c := a.as("chief")
	before := a.reg.Plant().SHA256
	broken := plantText(t, "broken-unknown-key.yaml")
	got := c.refused(c.upload("/plant/propose", "broken.yaml", broken, "pin", testPINs["chief"]), 422,
		"1 thing is wrong")
	for _, want := range []string{"Line ", "column ", "<pre", "^"} {
		if !strings.Contains(got.body, want) {
			t.Errorf("the page of a broken plant file lacks %q", want)
		}
	}
	c.refused(c.post("/plant/propose", "pin", testPINs["chief"]), 422, "No file was chosen")
	if got := c.post("/plant", "pin", testPINs["chief"]); got.status != 404 ||
		!strings.Contains(got.body, "No plant file is proposed") {
		t.Errorf("putting in force what nobody proposed = %d, want 404 with the reason", got.status)
	}
	c.refused(c.upload("/rules/propose", "rules.yaml", []byte("rules: [{demand: none}]"), "pin", testPINs["chief"]), 422,
		"wrong in it")
	if got := a.reg.Plant().SHA256; got != before {
		t.Errorf("the plant in force changed to %s", got)
	}
}

func TestUncutJobShowsThePathAndNoForm(t *testing.T) {
	a := ship(t)
	c := a.as("chief")
	c.putInForce("/plant", "infeasible.yaml", plantText(t, "infeasible.yaml"))
	job := a.reg.Plant().Jobs[0].ID
	got := c.get(screens.JobPath(job))
	if got.status != 200 || !strings.Contains(got.body, "path that cannot be cut") ||
		strings.Contains(got.body, `id="f-request"`) {
		t.Errorf("an infeasible job = %d; it must show the path and no form", got.status)
	}
	c.refused(c.post("/permits", "job", job, "work", "try it"), 422, "no isolation")
	c.refused(c.post("/permits", "job", "nothing", "work", "try it"), 404, "no job")
}

func TestAddressOfAFormOpensItsPage(t *testing.T) {
	j := begin(t)
	j.authorise()
	tag := j.a.codes(1)[1]
	for path, want := range map[string]string{tag + "/fit": tag, j.path + "/authorise": j.path, j.path +
		"/drain/x": j.path, "/points/V1/passing": "/points/V1", "/people/tech/pin": "/people", "/rules": "/plant"} {
		if got := j.tech.get(path); got.path != want || got.status != http.StatusOK {
			t.Errorf("GET %s ends at %s (%d), want %s", path, got.path, got.status, want)
		}
	}
	if got := j.tech.postBody("/log", "application/x-www-form-urlencoded",
		strings.NewReader("")); got.status != http.StatusMethodNotAllowed {
		t.Errorf("POST /log = %d, want 405", got.status)
	}
}
