package web

import (
	"encoding/json"
	"fmt"
	"net/http"
	"slices"
	"strings"
	"testing"

	"stillwatch/permits"
	"stillwatch/permits/register"
)

// code returns a tag's code as it is typed into the walk.
func (j *job) code(n int) string { return strings.TrimPrefix(j.a.codes(j.id)[n], "/T/") }

// tell sends a form as a script does, and reads the short answer.
func (c *browser) tell(path string, pairs ...string) (int, told) {
	c.a.t.Helper()
	req, err := http.NewRequest(http.MethodPost, c.a.http.URL+path, strings.NewReader(fields(pairs...).Encode()))
	if err != nil {
		c.a.t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Origin", c.a.http.URL)
	req.Header.Set("Accept", "application/json")
	got := c.do(req)
	var t told
	if err := json.Unmarshal([]byte(got.body), &t); err != nil ||
		!strings.HasPrefix(got.head.Get("Content-Type"), "application/json") {
		c.a.t.Fatalf("POST %s was answered %d %s %q, want short JSON", path, got.status, got.head.Get("Content-Type"),
			got.body)
	}
	return got.status, t
}

// Without a script the walk is a page with one form after another, there and back.
func TestWalkIsDoneThroughPlainForms(t *testing.T) {
	j := begin(t)
	walk := j.path + "/walk"
	if body := j.tech.get(walk).body; !strings.Contains(body, "Nothing to walk") ||
		!strings.Contains(body, "officer of the watch") {
		t.Error("the walk of a permit that is not authorised does not say for whom it waits")
	}
	j.authorise()
	locks := j.a.permit(j.id).Locks()
	for i, l := range locks {
		body := j.tech.get(walk).body
		if want := "<b>" + string(l.Step.Point) +
			`</b> <span class="tag-step">Step <b>`; !strings.Contains(shownAtFirst(body), want) {
			t.Fatalf("step %d: the walk does not show %s as next", l.Step.N, l.Step.Point)
		}
		if got := strings.Count(body, "<template data-step="); got != len(locks)-i-1 {
			t.Errorf("step %d: the page has %d later forms ready, want %d", l.Step.N, got, len(locks)-i-1)
		}
		j.tech.must(j.tech.post(walk+"/fit", append(j.fitFields(l), "code", strings.ToLower(j.code(l.Step.N)), "how",
			"photo")...), walk)
	}
	j.oow.must(j.oow.post(j.path+"/cancel", "words", "put off", "pin", testPINs["oow"]), j.path)
	for _, l := range slices.Backward(locks) {
		for a, due, _ := j.a.permit(j.id).NextAdded(); due; a, due, _ = j.a.permit(j.id).NextAdded() {
			at := fmt.Sprintf("%s/back/%d", walk, a.N)
			body := j.tech.get(walk).body
			if !strings.Contains(body, `action="`+at+`"`) || strings.Contains(body, `id="f-remove"`) {
				t.Errorf("the walk does not ask for %q before the next lock", a.Do)
			}
			j.tech.must(j.tech.post(at, "pin", testPINs["tech"]), walk)
		}
		j.tech.must(j.tech.post(walk+"/remove", "code", "http://bridge.ship/T/"+j.code(l.Step.N), "position",
			string(l.Step.Clearance)), walk)
	}
	if !strings.Contains(j.tech.get(walk).body, "Nothing to walk") {
		t.Error("the walk has something to do after the last lock came off")
	}
}

func TestWalkRefusesWhatDoesNotBelongToIt(t *testing.T) {
	j := begin(t)
	j.authorise()
	j.tech.must(j.tech.post("/permits", "job", "P1-seal", "work", "The other one"), "/permits/2")
	j.oow.must(j.oow.post("/permits/2/authorise", "hours", "4", "signer", "oow", "pin", testPINs["oow"]), "/permits/2")
	l := j.a.permit(1).Locks()[0]
	fit := func(code string) []string { return append(j.fitFields(l), "code", code) }
	j.tech.refused(j.tech.post("/permits/2/walk/fit", fit(j.code(1))...), 422, "This tag is of permit 1")
	j.tech.refused(j.tech.post("/permits/1/walk/fit", fit(j.code(2))...), 422, "It is not its turn")
	j.tech.refused(j.tech.post("/permits/1/walk/fit", fit("")...), 422, "")
	j.tech.refused(j.tech.post("/permits/1/walk/fit", append(fit(j.code(1)), "kept_s", "-5")...), 422,
		"kept this for -5 s")
	j.head.must(j.head.post("/points/labels", "point", string(l.Step.Point)), "/points")
	labels, err := j.a.reg.LabelCodes(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	got := j.tech.refused(j.tech.post("/permits/1/walk/fit", fit(labels[l.Step.Point].Text())...), 422, "not a lock tag")
	if !strings.Contains(got.body, `value="`+labels[l.Step.Point].Text()+`" aria-invalid="true"`) {
		t.Error("the refused code does not stand in its field, marked")
	}
}

// A script is answered in short: what was done and what is next, or a refusal in two sentences.
func TestScriptIsAnsweredInShort(t *testing.T) {
	j := begin(t)
	j.authorise()
	locks, walk := j.a.permit(j.id).Locks(), j.path+"/walk"
	first := append(j.fitFields(locks[0]), "code", j.code(1), "act_id", "once-and-no-more-1", "by", "tech")
	status, got := j.tech.tell(walk+"/fit", first...)
	if status != 200 || got.Entry != j.a.reg.Head().Size-1 || got.Done == "" || got.Next == nil || got.Next.N != 2 ||
		got.Next.Barred {
		t.Errorf("the first step was answered %d %+v, want its entry and step 2 as next", status, got)
	}
	if status, again := j.tech.tell(walk+"/fit", first...); status != 200 || again.Entry != got.Entry {
		t.Errorf("sent again it was answered %d, entry %d; want 200 and the same entry %d", status, again.Entry, got.Entry)
	}
	wrong := "open"
	if locks[1].Step.Position == "open" {
		wrong = "closed"
	}
	if status, got := j.tech.tell(walk+"/fit", "position", wrong, "padlock", "L-2", "code", j.code(2)); status != 422 ||
		got.Entry != 0 || !strings.Contains(got.What, string(locks[1].Step.Point)) || got.Opens == "" {
		t.Errorf("the wrong position was answered %d %+v, want 422 and two sentences", status, got)
	}
	if status, got := j.tech.tell(walk+"/fit", "position", "sideways", "code", j.code(2)); status != 422 ||
		got.Field != "position" {
		t.Errorf("a position that is none was answered %d %+v, want 422 and its field", status, got)
	}
	if status, got := j.tech.tell(walk+"/fit", "code", "ABC"); status != 422 || got.What == "" {
		t.Errorf("a code that is none was answered %d %+v, want 422", status, got)
	}
	if status, got := j.a.browser().tell(walk+"/fit", first...); status != 401 ||
		!strings.Contains(got.What, "not signed in") {
		t.Errorf("somebody unknown was answered %d %+v, want 401", status, got)
	}
	if status, got := j.a.as("guest").tell(walk+"/fit", first...); status != 403 ||
		!strings.Contains(got.What, "visitor") {
		t.Errorf("a visitor was answered %d %+v, want 403", status, got)
	}
	if status, got := j.tech.tell("/permits/99/walk/fit", first...); status != 422 ||
		!strings.Contains(got.What, "of permit 1") {
		t.Errorf("another permit was answered %d %+v, want 422", status, got)
	}
	for _, l := range locks[1:] {
		_, got = j.tech.tell(walk+"/fit", append(j.fitFields(l), "code", j.code(l.Step.N))...)
	}
	if got.Entry == 0 || got.Next != nil {
		t.Errorf("the last step was answered %+v, want its entry and nothing next", got)
	}
	j.oow.must(j.oow.post(j.path+"/cancel", "words", "put off", "pin", testPINs["oow"]), j.path)
	last, before := locks[len(locks)-1], locks[len(locks)-2]
	if _, got = j.tech.tell(walk+"/remove", "code", j.code(last.Step.N), "position",
		string(last.Step.Clearance)); got.Next == nil || got.Next.N != before.Step.N ||
		got.Next.Leave != before.Step.Clearance {
		t.Errorf("taking the last off was answered %+v, want %d as next, to be left %s", got, before.Step.N,
			before.Step.Clearance)
	}
}

// What a phone kept while it had no line says so in the log.
func TestKeptActSaysForHowLong(t *testing.T) {
	j := begin(t)
	j.authorise()
	l := j.a.permit(j.id).Locks()[0]
	j.tech.tell(j.path+"/walk/fit", append(j.fitFields(l), "code", j.code(1), "kept_s", "754")...)
	if body := j.tech.get(j.path).body; !strings.Contains(body, "the phone had no connection and kept it for 13 min") {
		t.Error("the permit's history does not say that the phone kept the act for 13 minutes")
	}
}

// A form that one person opened is not recorded as done by the next who signs in on the same device.
func TestFormOfAnotherIsNotTaken(t *testing.T) {
	j := begin(t)
	j.authorise()
	l := j.a.permit(j.id).Locks()[0]
	if body := j.tech.get(j.path + "/walk").body; !strings.Contains(body, `name="by" value="tech"`) {
		t.Fatal("the form does not say whose it is")
	}
	tag := j.a.codes(1)[1]
	j.mate.refused(j.mate.post(tag+"/fit", append(j.fitFields(l), "by", "tech")...), 409,
		"Fitter One filled this in, and Fitter Two is signed in")
	if entries, err := j.a.reg.Entries(t.Context(), register.EntryQuery{Kind: permits.KindFitLock}); err != nil ||
		len(entries) != 0 {
		t.Errorf("%d locks are recorded, %v, want none", len(entries), err)
	}
	j.tech.must(j.tech.post(tag+"/fit", append(j.fitFields(l), "by", "tech")...), tag)
	// Whoever signs with their own PIN is known by it, on whosever device.
	j.tech.must(j.tech.post(tag+"/check", "seen", "right", "by", "hand", "signer", "mate", "pin", testPINs["mate"]), tag)
}

// The later forms of a walk are kept as they were made; what comes to be true of a point since is in them all the same.
func TestKeptFormsOfAWalkSayWhatIsTrueNow(t *testing.T) {
	j := begin(t)
	j.authorise()
	second := j.a.permit(j.id).Locks()[1]
	form := func() string {
		body := j.tech.get(j.path + "/walk").body
		_, rest, _ := strings.Cut(body, `<template data-step="2"`)
		text, _, _ := strings.Cut(rest, "</template>")
		return text
	}
	made := form()
	if !strings.Contains(made, string(second.Step.Point)) || strings.Contains(made, `name="label"`) ||
		strings.Contains(made, "tech") {
		t.Fatalf("the second form is not that of %s, asks for a label that does not exist, or names whoever asked: %s",
			second.Step.Point, made)
	}
	if again := form(); again != made {
		t.Errorf("the second form is another when it is asked for again:\n%s\n%s", made, again)
	}
	j.head.must(j.head.post("/points/labels", "point", string(second.Step.Point)), "/points")
	if now := form(); !strings.Contains(now, `name="label"`) {
		t.Error("the second form does not ask for the label that was issued since")
	}
	j.tech.must(j.tech.post("/points/"+string(second.Step.Point)+"/passing", "words", "drips when shut"),
		"/points/"+string(second.Step.Point))
	if body := j.tech.get(j.path + "/walk").body; strings.Contains(body, "<template data-step") {
		t.Error("the walk has later forms ready although nothing more may be fitted")
	}
}

// TestTestRunIsWalked lifts by the walk's own form what a test run needs off: first it waits for the sanction, then it
// stands there, and afterwards what came off is fitted again by the same page.
func TestTestRunIsWalked(t *testing.T) {
	j := begin(t)
	j.authorise()
	j.isolate()
	j.record()
	j.goLive()
	walk := j.path + "/walk"
	j.shows(j.tech, walk, "Nothing to walk")
	j.mate.must(j.mate.post(j.path+"/test", "run", "motor", "tools_back", "7", "closed", "yes", "pin", testPINs["mate"]),
		j.path)
	j.shows(j.tech, walk, "not sanctioned")
	j.hides(j.tech, walk, `id="f-lift"`)
	j.oow.must(j.oow.post(j.path+"/test/sanction", "pin", testPINs["oow"]), j.path)
	j.shows(j.tech, j.path, `href="`+walk+`"`)
	j.shows(j.tech, walk, `id="f-lift" action="`+walk+`/lift"`, "for the test")
	l, _ := j.a.permit(j.id).NextLift()
	left := []string{"code", j.code(l.Step.N), "position", string(l.Step.Clearance)}
	j.tech.must(j.tech.post(walk+"/lift", left...), walk)
	j.shows(j.tech, walk, "Nothing to walk")
	j.hides(j.tech, walk, `id="f-remove"`)
	j.tech.must(j.tech.post(j.path+"/test/record", "words", "turns the right way", "pin", testPINs["tech"]), j.path)
	j.tech.must(j.tech.post(j.path+"/test/end", "stopped", "yes", "pin", testPINs["tech"]), j.path)
	j.shows(j.tech, walk, `id="f-fit" action="`+walk+`/fit"`, string(l.Step.Point))
}
