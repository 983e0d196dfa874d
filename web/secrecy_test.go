package web

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"stillwatch/permits"
	"stillwatch/web/screens"
)

// TestLogHoldsNoSecrets does a whole job with slips on the way, then looks in the captured log for everything that must
// not be there: PINs, codes of tags, names of sessions.
func TestLogHoldsNoSecrets(t *testing.T) {
	j := begin(t)
	j.oow.post(j.path+"/authorise", "hours", "4", "signer", "oow", "pin", "31415926")
	j.authorise()
	j.tech.must(j.tech.post("/points/labels", "point", "V2"), "/points")
	labels, err := j.a.reg.LabelCodes(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	secrets := map[string]string{"a wrong PIN": "31415926", "the code of a label": labels["V2"].Text()}
	for step, path := range j.a.codes(1) {
		secrets["the code of tag "+string(rune('0'+step))] = strings.TrimPrefix(path, "/T/")
		j.tech.get(path)
		j.tech.get("/find?code=" + strings.TrimPrefix(path, "/T/"))
		j.tech.post(path+"/fit", "position", "nonsense", "label", labels["V2"].Text())
	}
	j.tech.get("/T/" + labels["V2"].Text())
	for who, pin := range testPINs {
		secrets["the PIN of "+who] = pin
	}
	for who, c := range map[string]*browser{"tech": j.tech, "oow": j.oow} {
		at, err := url.Parse(j.a.http.URL)
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range c.http.Jar.Cookies(at) {
			if k.Name == "stillwatch" {
				secrets["the session of "+who] = k.Value
			}
		}
	}
	log := j.a.log.String()
	if !strings.Contains(log, "route=/T/:code/fit") {
		t.Fatal("the log was not captured")
	}
	for what, secret := range secrets {
		if len(secret) < 6 {
			t.Errorf("%s is %q: the test looks for nothing", what, secret)
		}
		if strings.Contains(strings.ToLower(log), strings.ToLower(secret)) {
			t.Errorf("the log holds %s", what)
		}
	}
}

// TestPagesShowNoCodes opens what anybody may read and looks for the codes of tags there: a code belongs on the tag.
func TestPagesShowNoCodes(t *testing.T) {
	j := begin(t)
	j.authorise()
	code := strings.TrimPrefix(j.a.codes(1)[1], "/T/")
	guest := j.a.as("guest")
	for _, path := range []string{"/", "/permits", "/permits/1", "/permits/1/plan", "/points", "/points/Q1", "/log",
		"/entries/10", "/entries/" + lastEntry(j)} {
		if got := guest.get(path); got.status != 200 || strings.Contains(got.body, code) {
			t.Errorf("GET %s as a visitor = %d, or shows a tag's code", path, got.status)
		}
	}
}

func lastEntry(j *job) string { return screens.Figure(float64(j.a.reg.Head().Size - 1)) }

func TestSignInGoesOnlyToOwnPages(t *testing.T) {
	a := ship(t)
	for next, want := range map[string]string{"/log": "/log", "//evil.example/x": "/", "https://evil.example": "/",
		"/\\evil.example": "/", "javascript:alert(1)": "/", "/permits?state=open": "/permits", "": "/"} {
		c := a.browser()
		if got := c.post("/sign-in", "person", "tech", "pin", testPINs["tech"], "next", next); got.path != want ||
			got.status != 200 {
			t.Errorf("sign in with next %q ends at %s (%d), want %s", next, got.path, got.status, want)
		}
	}
}

func TestSessionsEnd(t *testing.T) {
	a := ship(t)
	tech, chief := a.as("tech"), a.as("chief")
	old := tech.http.Jar
	tech.must(tech.post("/pin", "old_pin", testPINs["tech"], "new_pin", "740285", "new_pin_again", "740285"), "/")
	if got := tech.get("/log"); got.path != "/log" {
		t.Errorf("after the own PIN was changed the page ends at %s, want /log", got.path)
	}
	_ = old
	other := a.browser()
	other.must(other.post("/sign-in", "person", "tech", "pin", "740285"), "/")
	chief.must(chief.post("/people/tech/pin", "new_pin", "829164", "new_pin_again", "829164", "pin", testPINs["chief"]),
		"/people")
	for name, c := range map[string]*browser{"first device": tech, "second device": other} {
		if got := c.get("/log"); got.path != "/sign-in" {
			t.Errorf("%s: after the PIN was set by another the page ends at %s, want /sign-in", name, got.path)
		}
	}
	mate := a.as("mate")
	chief.must(chief.post("/people/mate", "name", "Fitter Two", "role", "technician", "left", "yes", "pin",
		testPINs["chief"]), "/people")
	if got := mate.get("/log"); got.path != "/sign-in" {
		t.Errorf("somebody who has left ends at %s, want /sign-in", got.path)
	}
	hand := a.as("hand")
	a.wait(sessionIdle + seenEvery)
	if got := hand.get("/log"); got.path != "/sign-in" {
		t.Errorf("a session left alone ends at %s, want /sign-in", got.path)
	}
	a.wait(3 * 24 * time.Hour) // longer than any session lasts: its end goes by the ship's clock, not by another
	if got := a.as("hand").get("/log"); got.path != "/log" {
		t.Errorf("after days, whoever signs in ends at %s, want /log", got.path)
	}
	out := a.as("oow")
	out.post("/sign-out")
	if got := out.get("/log"); got.path != "/sign-in" {
		t.Errorf("after signing out the page ends at %s, want /sign-in", got.path)
	}
}

func TestFirstRunIsOnlyOnce(t *testing.T) {
	a := emptyShip(t)
	c := a.browser()
	if got := c.get("/"); got.path != "/first-run" {
		t.Errorf("an empty register opens %s, want /first-run", got.path)
	}
	c.refused(c.post("/first-run", "id", "chief", "name", "Chief", "pin", "407193", "pin_again", "407194"), 422, "differ")
	c.refused(c.post("/first-run", "id", "chief", "name", "Chief", "pin", "123456", "pin_again", "123456"), 422,
		"run of digits")
	c.must(c.post("/first-run", "id", "chief", "name", "Chief", "pin", "407193", "pin_again", "407193"), "/")
	if got := a.browser().post("/first-run", "id", "evil", "name", "Evil", "pin", "407193", "pin_again",
		"407193"); got.status != 404 {
		t.Errorf("a second first run = %d, want 404", got.status)
	}
	if got := a.reg.Ship().People; len(got) != 1 || !got["chief"].Has(permits.ChiefEngineer) {
		t.Errorf("People = %v, want the chief engineer alone", got)
	}
}

// Nobody on the network takes an empty ship who does not see the server's console.
func TestFirstRunAsksForTheCodeOnTheConsole(t *testing.T) {
	a := openShip(t, t.TempDir())
	t.Cleanup(func() {
		a.web.endAll()
		a.http.Close()
		if err := a.reg.Close(); err != nil {
			t.Error(err)
		}
	})
	a.web.cfg.FirstRunCode = "K7QD2-MX4PA"
	c := a.browser()
	fields := []string{"id", "chief", "name", "Chief", "pin", "407193", "pin_again", "407193"}
	if got := c.get("/first-run"); !strings.Contains(got.body, `name="code"`) {
		t.Error("the first page has no field for the code")
	}
	for _, code := range []string{"", "K7QD2", "K7QD2-MX4PB"} {
		c.refused(c.post("/first-run", append(fields, "code", code)...), 422, "server")
	}
	if !a.reg.NeedsFirstRun() {
		t.Fatal("somebody is on the books without the code")
	}
	c.must(c.post("/first-run", append(fields, "code", "k7qd2mx4pa")...), "/")
}
