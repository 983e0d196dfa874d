package web

import (
	"context"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"stillwatch/permits"
	"stillwatch/web/screens"
)

// hangScreen makes a device a board screen, as the chief engineer does it on the device itself.
func (a *aboard) hangScreen(name string) *browser {
	a.t.Helper()
	c := a.as("chief")
	c.must(c.post("/screens", "name", name, "signer", "chief", "pin", testPINs["chief"]), "/screen")
	return c
}

// TestBoardScreenShowsTheBoardAndNothingElse hangs a screen on the bridge: nobody is signed in on it any more, it reads
// the board, and every other page asks it to sign in.
func TestBoardScreenShowsTheBoardAndNothingElse(t *testing.T) {
	j := begin(t)
	screen := j.a.hangScreen("Bridge")
	if got := screen.get("/screen"); got.status != http.StatusOK || !strings.Contains(got.body, "Bridge") ||
		!strings.Contains(got.body, "An aid to work, not an authority") {
		t.Fatalf("GET /screen = %d, want the board with its name and the caution", got.status)
	}
	for _, path := range []string{"/", "/permits", "/permits/1", "/log", "/people", "/screens", "/events",
		j.a.codesOrNone(1)} {
		if got := screen.get(path); got.path != "/sign-in" {
			t.Errorf("GET %s on a board screen ended at %s, want the sign-in page", path, got.path)
		}
	}
	if got := screen.post("/permits/1/cancel", "words", "gone", "signer", "chief", "pin", testPINs["chief"]); got.status !=
		http.StatusUnauthorized {
		t.Errorf("an act on a board screen = %d, want 401", got.status)
	}
	j.wantState(permits.Draft)
	for _, r := range j.a.web.routes() {
		if r.door == anybodyAtAll && r.Method == get && strings.HasPrefix(r.Path, "/screen") {
			if got := j.a.browser().get(r.Path); got.path != "/sign-in" {
				t.Errorf("GET %s as nobody ended at %s, want the sign-in page", r.Path, got.path)
			}
		}
	}
	if got := screen.get("/screen/now"); strings.Contains(got.body, testPINs["chief"]) ||
		strings.Contains(got.body, "act_id") {
		t.Error("the board of a screen has a form of an act in it")
	}
}

// codesOrNone returns the address of a permit's first tag, or of one that there is not.
func (a *aboard) codesOrNone(id permits.PermitID) string {
	for _, path := range a.codes(id) {
		return path
	}
	return "/T/ABCDEFGH"
}

// TestEndedBoardScreenShowsNothing ends a screen: its line is cut at once, its page asks to sign in, and its secret is
// gone. A made-up secret, and one of a screen that was ended, open nothing.
func TestEndedBoardScreenShowsNothing(t *testing.T) {
	j := begin(t)
	screen := j.a.hangScreen("Control room")
	other := j.a.hangScreen("Bridge")
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	lines := listenAt(t, ctx, screen, j.a.http.URL+"/screen/events", "")
	await(t, lines, "event: beat")
	at, err := url.Parse(j.a.http.URL)
	if err != nil {
		t.Fatal(err)
	}
	secret := screen.http.Jar.Cookies(at)
	j.oow.must(j.oow.post("/screens/end", "name", "Control room", "signer", "oow", "pin", testPINs["oow"]), "/screens")
	for lines.Scan() {
	}
	if ctx.Err() != nil {
		t.Fatal("the line of a screen that was ended stays open")
	}
	if got := screen.get("/screen/now"); got.path != "/sign-in" {
		t.Errorf("GET /screen/now on a screen that was ended ended at %s, want the sign-in page", got.path)
	}
	if screen.get("/screen"); len(screen.http.Jar.Cookies(at)) >= len(secret) {
		t.Error("a screen that was ended keeps its secret")
	}
	thief := j.a.browser()
	thief.http.Jar.SetCookies(at, secret)
	if got := thief.get("/screen"); got.path != "/sign-in" {
		t.Errorf("the secret of a screen that was ended opens %s", got.path)
	}
	thief.http.Jar.SetCookies(at, []*http.Cookie{{Name: screenCookie, Value: "AAAA", Path: "/"}})
	if got := thief.get("/screen"); got.path != "/sign-in" {
		t.Errorf("a made-up secret opens %s", got.path)
	}
	if got := other.get("/screen"); got.path != "/screen" {
		t.Errorf("the other screen ended too: it is at %s", got.path)
	}
}

// TestBoardScreenIsHungByTheChiefEngineer holds the roles, and a form that is sent twice: the second time no other
// device gets a secret.
func TestBoardScreenIsHungByTheChiefEngineer(t *testing.T) {
	a := ship(t)
	oow := a.as("oow")
	oow.refused(oow.post("/screens", "name", "Bridge", "signer", "oow", "pin", testPINs["oow"]), 403, "may not")
	if got := oow.get("/"); got.path != "/" {
		t.Error("an officer whose screen was refused is signed out")
	}
	chief := a.as("chief")
	id := screens.NewActID()
	form := []string{"act_id", id, "name", "Bridge", "signer", "chief", "pin", testPINs["chief"]}
	chief.must(chief.post("/screens", form...), "/screen")
	again := a.as("chief")
	again.post("/screens", form...)
	at, _ := url.Parse(a.http.URL)
	for _, k := range again.http.Jar.Cookies(at) {
		if k.Name == screenCookie {
			t.Error("a form that was sent twice made two devices a board screen")
		}
	}
	if n := len(a.reg.Ship().Screens); n != 1 {
		t.Errorf("%d board screens, want 1", n)
	}
}

// TestAPageThatFollowsByItselfKeepsNobodySignedIn leaves a desk with its page open while others act: what its script
// asks is no use of the session.
func TestAPageThatFollowsByItselfKeepsNobodySignedIn(t *testing.T) {
	a := ship(t)
	left, used := a.as("oow"), a.as("tech")
	for range 30 {
		a.wait(10 * time.Minute)
		req, err := http.NewRequest(http.MethodGet, a.http.URL+"/", nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set(byItself, "yes")
		left.do(req)
		used.get("/")
	}
	if got := used.get("/"); got.path != "/" {
		t.Errorf("whoever used the page is at %s, want the board", got.path)
	}
	if got := left.get("/"); got.path != "/sign-in" {
		t.Errorf("the page that was left open for 5 h is at %s, want the sign-in page", got.path)
	}
}
