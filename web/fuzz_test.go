package web

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web/site"
)

// FuzzForms sends any body to any form as somebody who is signed in, from a page and from a script: the answer is a
// page or a refusal, never an internal error.
func FuzzForms(f *testing.F) {
	for i, body := range []string{"", "act_id=0123456789abcdef&hours=4&pin=1", "out_l=-1&hold_min=%00",
		"position=open&padlock=%FF%FE", "%", "act_id=0123456789abcdef&words=" + strings.Repeat("y", 2000),
		"role=master&role=visitor&id=..&name=%E2%80%AE", "point=V1&point=../../x&act_id=0123456789abcdef", "value=1e400",
		"code=http%3A%2F%2Fx%2FT%2F7K3MQ2XD9PTR4W6ZB&kept_s=-1&by=x&act_id=0123456789abcdef&position=open",
		"person=tech&pin=690427&next=//x"} {
		f.Add(uint8(i), body, "application/x-www-form-urlencoded")
	}
	f.Add(uint8(30), "--x\r\nContent-Disposition: form-data; name=\"file\"; filename=\"a\"\r\n\r\n\xff\r\n--x--",
		"multipart/form-data; boundary=x")
	var a *aboard
	var cookies []*http.Cookie
	dir := f.TempDir()
	f.Cleanup(func() {
		if a != nil {
			a.http.Close()
			a.reg.Close()
		}
	})
	f.Fuzz(func(t *testing.T, which uint8, body, kind string) {
		if a == nil {
			a, cookies = fuzzShip(t, dir)
		}
		var posts []route
		for _, r := range a.web.routes() {
			if r.Method == post && r.Path != "/sign-out" {
				posts = append(posts, r)
			}
		}
		r := posts[int(which)%len(posts)]
		path := strings.NewReplacer("/permits/:id", "/permits/1", ":id", "V1", ":code", "7K3MQ2XD9PTR4W6ZB", ":section", "s",
			":check", "c", ":test", "t").Replace(r.Path)
		for _, accept := range []string{"", "application/json"} {
			req := httptest.NewRequest(http.MethodPost, "http://localhost"+path, strings.NewReader(body))
			req.Header.Set("Content-Type", kind)
			req.Header.Set("Origin", "http://localhost")
			req.Header.Set("Accept", accept)
			for _, k := range cookies {
				req.AddCookie(k)
			}
			w := httptest.NewRecorder()
			a.web.Handler().ServeHTTP(w, req)
			if w.Code >= 500 || accept != "" && w.Header().Get("Content-Type") == "application/json; charset=utf-8" &&
				!json.Valid(w.Body.Bytes()) {
				t.Errorf("POST %s with %q (%s) for %q = %d %s", path, body, kind, accept, w.Code, w.Body)
			}
		}
	})
}

// fuzzShip is a ship that outlives one input of the fuzzer, with a technician signed in.
func fuzzShip(t *testing.T, dir string) (*aboard, []*http.Cookie) {
	t.Helper()
	a := openShip(t, dir)
	c := a.browser()
	chief := permits.Person{ID: "tech", Name: "Everybody", Roles: []permits.Role{permits.ChiefEngineer, permits.Technician,
		permits.Officer}}
	if err := a.reg.FirstRun(t.Context(), chief, testPINs["tech"]); err != nil {
		t.Fatal(err)
	}
	c.must(c.post("/sign-in", "person", "tech", "pin", testPINs["tech"]), "/")
	text := plantText(t, "tiny.yaml")
	second := permits.Person{ID: "mate", Name: "Second", Roles: []permits.Role{permits.Technician}}
	if err := a.reg.AddPerson(t.Context(), register.AddPersonDoing{ID: a.reg.NewActID(), By: "tech", PIN: testPINs["tech"],
		Person: second, New: firstPIN}); err != nil {
		t.Fatal(err)
	}
	own := register.SetPINDoing{ID: a.reg.NewActID(), By: "mate", ByPIN: firstPIN, Person: "mate", New: testPINs["mate"]}
	if _, err := a.reg.SetPIN(t.Context(), own); err != nil {
		t.Fatal(err)
	}
	c.must(c.upload("/plant/propose", "tiny.yaml", text, "signer", "mate", "pin", testPINs["mate"]), "/plant/proposed")
	c.must(c.post("/plant", "sha256", sumOf(text), "signer", "tech", "pin", testPINs["tech"]), "/plant")
	c.must(c.post("/permits", "job", "P1-seal", "work", "Seal"), "/permits/1")
	req := httptest.NewRequest(http.MethodGet, a.http.URL, nil)
	return a, c.http.Jar.Cookies(req.URL)
}

// FuzzLocalPath wants every address that is let through to stay on this site.
func FuzzLocalPath(f *testing.F) {
	for _, s := range []string{"/", "//x", "/\\x", "/a?b=c#d", "http://x", "/\t/x", "/%2f/x", "/..//x"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, to string) {
		got := site.LocalPath(to)
		if got == "" {
			return
		}
		req := httptest.NewRequest(http.MethodGet, "http://ship.example/", nil)
		u, err := req.URL.Parse(got)
		if err != nil || u.Host != "ship.example" || u.Scheme != "http" {
			t.Errorf("site.LocalPath(%q) = %q leads to %v (%v)", to, got, u, err)
		}
	})
}
