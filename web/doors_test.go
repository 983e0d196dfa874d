package web

import (
	"net/http"
	"slices"
	"strings"
	"testing"

	"stillwatch/permits"
	"stillwatch/web/site"
)

// openToAll is every route that answers somebody who is not signed in. A new route that is open must be put here by
// hand.
var openToAll = []string{"GET /first-run", "POST /first-run", "GET /sign-in", "POST /sign-in", "POST /sign-out",
	"POST /palette", "GET /healthz", "GET /static/:hash/*name", "GET /worker.js", "GET /kept",
	"GET /metrics", "GET /trust", "GET /trust/secure", "GET /trust/authority.crt", "GET /trust/authority.pem"}

// readersToo is every POST that a visitor may send: their own PIN.
var readersToo = []string{"POST /pin"}

// printedForCrew is every GET that a visitor may not open, because the papers carry codes.
var printedForCrew = []string{"GET /permits/:id/tags.pdf", "GET /points/labels.pdf"}

// TestEveryRouteHasItsDoor walks every route as nobody, as a visitor and as each role.
func TestEveryRouteHasItsDoor(t *testing.T) {
	j := begin(t)
	j.authorise()
	tag := strings.TrimPrefix(j.a.codes(1)[1], "/T/")
	fill := strings.NewReplacer(":id/plan", "1/plan", "/permits/:id", "/permits/1", "/points/:id", "/points/V1",
		"/people/:id", "/people/mate", ":code", tag,
		":section", "none", ":check", "none", ":test", "none", ":n", "0", ":hash", "x", "*name", "app.css")
	for _, r := range j.a.web.routes() {
		name := r.Method + " " + r.Path
		if strings.HasSuffix(r.Path, "/events") || r.Path == "/sign-out" {
			continue // the one never ends, the other ends the session; both have tests of their own
		}
		path := fill.Replace(r.Path)
		for _, who := range []string{"", "guest", "hand", "tech", "oow", "chief", "master"} {
			got := j.ask(who, r.Method, path)
			switch {
			case got.status >= 500 || got.status == http.StatusMethodNotAllowed:
				t.Errorf("%s as %q = %d", name, who, got.status)
			case who == "" && !slices.Contains(openToAll, name):
				if !sentToSignIn(r.Method, got) {
					t.Errorf("%s as nobody = %d at %s, want the sign-in page", name, got.status, got.path)
				}
			case who == "guest" && (slices.Contains(printedForCrew, name) || r.Method == post &&
				!slices.Contains(openToAll, name) && !slices.Contains(readersToo, name)):
				if got.status != http.StatusForbidden || !strings.Contains(got.body, "visitors only read") {
					t.Errorf("%s as a visitor = %d, want 403", name, got.status)
				}
			case r.Method == get && who != "" && got.status == http.StatusForbidden:
				t.Errorf("%s as %q = 403: everybody of the crew may read", name, who)
			}
		}
	}
}

// ask sends an empty form, or opens a page, as somebody; "" is nobody.
func (j *job) ask(who, method, path string) answerPage {
	j.a.t.Helper()
	c := j.a.browser()
	if who != "" {
		c = j.a.as(who)
	}
	if method == get {
		return c.get(path)
	}
	return c.post(path, "pin", testPINs[who]) // a right PIN: nobody is to be locked out by this walk
}

func sentToSignIn(method string, got answerPage) bool {
	if method == get {
		return got.path == "/sign-in" && got.status == http.StatusOK
	}
	return got.status == http.StatusUnauthorized && strings.Contains(alert(got.body), "not signed in any more")
}

// TestActsAreForTheirRoles sends the acts that fit the state, complete and rightly signed, by everybody who may not.
func TestActsAreForTheirRoles(t *testing.T) {
	j := begin(t)
	for _, tc := range []struct {
		path string
		kind permits.Kind
		form []string
	}{
		{"/permits", permits.KindRequest, []string{"job", "P1-seal", "work", "again"}},
		{"/permits/1/authorise", permits.KindAuthorise, []string{"hours", "4"}},
		{"/permits/1/cancel", permits.KindCancel, []string{"words", "not needed"}},
		{"/points/V1/passing", permits.KindRecordPassing, []string{"words", "drips"}},
		{"/points/labels", permits.KindHangLabels, []string{"point", "V1"}},
		{"/people", permits.KindAddPerson, []string{"id", "x", "name", "Xaver", "role", "technician", "new_pin", "804263"}},
		{"/people/hand", permits.KindChangePerson, []string{"name", "Other", "role", "master"}},
	} {
		for _, p := range testCrew {
			if p.Has(tc.kind.Roles()...) || p.ID == "guest" {
				continue
			}
			before := j.a.reg.Head().Size
			c := j.a.as(string(p.ID))
			got := c.post(tc.path, append(slices.Clone(tc.form), "pin", testPINs[string(p.ID)])...)
			if got.status != http.StatusForbidden || !strings.Contains(alert(got.body), "may not") {
				t.Errorf("POST %s by %s = %d %q, want 403", tc.path, p.ID, got.status, alert(got.body))
			}
			if got := j.a.reg.Head().Size - before; got != 2 {
				t.Errorf("POST %s by %s left %d entries, want 2: the sign-in and the refusal", tc.path, p.ID, got)
			}
		}
	}
	j.wantState(permits.Draft)
}

// TestReadingChangesNothing opens every page and finds the log as it was.
func TestReadingChangesNothing(t *testing.T) {
	j := begin(t)
	j.authorise()
	code := strings.TrimPrefix(j.a.codes(1)[1], "/T/")
	before := j.a.reg.Head().Hash
	fill := strings.NewReplacer("/permits/:id", "/permits/1", "/points/:id", "/points/V1", ":code", code, ":n", "0",
		":hash", "x", "*name", "app.css")
	for _, r := range j.a.web.routes() {
		if r.Method == get && !strings.HasSuffix(r.Path, "/events") {
			j.tech.get(fill.Replace(r.Path) + "?act_id=0123456789abcdef&pin=1&position=open")
		}
	}
	if got := j.a.reg.Head().Hash; got != before {
		t.Errorf("reading every page changed the head from %s to %s", before, got)
	}
}

func TestPostFromAnotherSiteIsRefused(t *testing.T) {
	j := begin(t)
	for _, origin := range []string{"http://evil.example", "null"} {
		req, err := http.NewRequest(http.MethodPost, j.a.http.URL+"/permits/1/cancel",
			strings.NewReader(fields("words", "gone", "pin", testPINs["chief"]).Encode()))
		if err != nil {
			t.Fatal(err)
		}
		req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		req.Header.Set("Origin", origin)
		if got := j.head.do(req); got.status != http.StatusForbidden {
			t.Errorf("POST from %s = %d, want 403", origin, got.status)
		}
	}
	j.wantState(permits.Draft)
}

func TestOnlyKnownNamesAreAnswered(t *testing.T) {
	a := emptyShip(t)
	a.web.cfg.Hosts = []string{"bridge.ship", "192.168.1.10"}
	for host, want := range map[string]int{"localhost:80": 200, "127.0.0.1": 200, "[::1]:8080": 200, "bridge.ship": 200,
		"BRIDGE.ship:8080": 200, "192.168.1.10:80": 200,
		"evil.example": 421, "192.168.1.11": 421, "bridge.ship.evil.example": 421, "": 421} {
		req, err := http.NewRequest(http.MethodGet, a.http.URL+"/healthz", nil)
		if err != nil {
			t.Fatal(err)
		}
		req.Host = host
		if host == "" {
			req.Host = " "
			continue // the client sends no empty name; isKnownHost is asked below
		}
		if got := a.browser().do(req); got.status != want {
			t.Errorf("asked as %q = %d, want %d", host, got.status, want)
		}
	}
	if a.web.isKnownHost("") {
		t.Error("isKnownHost(\"\") = true, want false")
	}
}

func TestEveryAnswerCarriesTheHeaders(t *testing.T) {
	a := emptyShip(t)
	for _, path := range []string{"/first-run", "/healthz", "/nowhere", "/permits/1"} {
		got := a.browser().get(path)
		for name, want := range map[string]string{"Content-Security-Policy": site.Policy, "X-Content-Type-Options": "nosniff",
			"Referrer-Policy": "same-origin", "Cache-Control": "no-store"} {
			if got.head.Get(name) != want {
				t.Errorf("GET %s: %s = %q, want %q", path, name, got.head.Get(name), want)
			}
		}
	}
	if strings.Contains(site.Policy, "unsafe-inline") || strings.Contains(site.Policy, "'unsafe-eval'") {
		t.Error("the policy lets inline script or eval through")
	}
}

func TestAssetsNeverChangeUnderTheirAddress(t *testing.T) {
	a := emptyShip(t)
	good, err := a.web.assets.URL("tag.css")
	if err != nil {
		t.Fatal(err)
	}
	if got := a.browser().get(good); got.status != 200 || !strings.Contains(got.head.Get("Cache-Control"), "immutable") ||
		!strings.HasPrefix(got.head.Get("Content-Type"), "text/css") {
		t.Errorf("GET %s = %d, %q, %q", good, got.status, got.head.Get("Cache-Control"), got.head.Get("Content-Type"))
	}
	for _, path := range []string{"/static/000000000000/tag.css", strings.Replace(good, "tag.css", "../server.go", 1),
		"/static/x/nothing.css"} {
		if got := a.browser().get(path); got.status != http.StatusNotFound {
			t.Errorf("GET %s = %d, want 404", path, got.status)
		}
	}
}
