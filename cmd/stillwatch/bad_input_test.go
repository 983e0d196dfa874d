package main

import (
	"crypto/rand"
	"encoding/json"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"stillwatch/cmd/stillwatch/demo"
	"stillwatch/permits"
	"stillwatch/web/screens"
)

// storm is a ship on which a permit is being proved, and somebody who sends nonsense.
type storm struct {
	*testShip
	d    *demo.Drive
	id   permits.PermitID
	path string
}

func weather(t *testing.T) *storm {
	t.Helper()
	s := &storm{testShip: setSail(t)}
	s.d = s.drive()
	s.id = s.d.Request("tove", "S1-pump", "Seal leaks: renew it")
	s.path = screens.PermitPath(s.id)
	s.d.Authorise("ilse", s.id, "12")
	for _, l := range s.permit(s.id).Locks() {
		s.d.Fit("tove", s.id, l)
		s.d.Check("bao", s.id, l)
	}
	s.went(s.d)
	return s
}

// unmoved does something and wants the permit to be afterwards what it was.
func (s *storm) unmoved(what string, do func()) {
	s.t.Helper()
	before := s.facts()
	do()
	if after := s.facts(); after != before {
		s.t.Errorf("%s changed the permit:\n%s\nwas\n%s", what, after, before)
	}
}

// facts is all that a permit holds, as one text.
func (s *storm) facts() string {
	p := s.permit(s.id)
	var b strings.Builder
	for _, part := range []any{p.State().String(), p.Locks(), p.Drains(), p.Stored(), p.Dead(), p.Start(), p.Crew(),
		p.ToolsOut()} {
		text, err := json.Marshal(part)
		if err != nil {
			s.t.Fatal(err)
		}
		b.Write(append(text, '\n'))
	}
	return b.String()
}

// told wants an answer with this status whose page says these words.
func (s *storm) told(a demo.Answer, err error, status int, words string) {
	s.t.Helper()
	if err != nil {
		s.t.Errorf("%v, want an answer with status %d", err, status)
		return
	}
	if a.Status != status || a.Page == nil || !strings.Contains(demo.Text(a.Page), words) {
		page := ""
		if a.Page != nil {
			page = demo.Text(a.Page)
		}
		s.t.Errorf("status %d, want %d with the words %q: %.600s", a.Status, status, words, page)
	}
}

func form(pairs ...string) url.Values {
	v := url.Values{"act_id": {rand.Text()}}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	return v
}

func TestNonsenseIsAnsweredAndChangesNothing(t *testing.T) {
	s := weather(t)
	tove := s.d.People["tove"]
	get := func(path string, status int, words string) {
		t.Helper()
		s.unmoved("GET "+path, func() {
			t.Helper()
			a, err := tove.Open(s.d.Ctx, path)
			s.told(a, err, status, words)
		})
	}
	post := func(path string, status int, words string, pairs ...string) {
		t.Helper()
		s.unmoved("POST "+path, func() {
			t.Helper()
			a, err := tove.Post(s.d.Ctx, path, form(pairs...))
			s.told(a, err, status, words)
		})
	}
	drain := s.path + "/drain/" + s.permit(s.id).Drains()[0].Section.ID
	good := []string{"hold_min", "15", "hold_in_l", "0", "gauge_bar", "0", "temp_c", "40"}

	code := strings.TrimPrefix(s.tags(s.id)[1], "/T/")
	last := byte('A')
	if code[len(code)-1] == last {
		last = 'B'
	}
	get("/T/"+code[:len(code)-1]+string(last), http.StatusUnprocessableEntity, "check character")
	get("/T/%3Cscript%3E", http.StatusUnprocessableEntity, "No tag of this register")
	get("/T/"+strings.Repeat("A", 3000), http.StatusUnprocessableEntity, "No tag of this register")
	get("/permits/99999", http.StatusNotFound, "permit")
	get("/permits/-1", http.StatusNotFound, "")
	post("/T/"+code[:len(code)-1]+string(last)+"/fit", http.StatusUnprocessableEntity, "", "position", "open", "padlock",
		"L-1")
	post(drain, http.StatusUnprocessableEntity, "-3 was given", append(good, "out_l", "-3")...)
	for _, figure := range []string{"NaN", "Inf", "1e309", "seven", "0x10", "1,2,3", ""} {
		post(drain, http.StatusUnprocessableEntity, "Came out", append(good, "out_l", figure)...)
	}
	post(s.path+"/drain/no-such-section", http.StatusNotFound, "", append(good, "out_l", "3")...)
	post(s.path+"/close", http.StatusForbidden, "The PIN is not right", "positions", "yes", "told", "yes", "signer",
		"aram", "pin", "000000")
}

func TestTagOfAClosedPermitDoesNothing(t *testing.T) {
	s := weather(t)
	tag := s.tags(s.id)[1]
	s.d.Prove(s.id)
	s.d.Work(s.id)
	s.d.Restore(s.id)
	s.d.No = 0
	s.went(s.d)
	s.unmoved("an old tag", func() {
		a, err := s.d.People["tove"].Open(s.d.Ctx, tag)
		s.told(a, err, http.StatusOK, "Does nothing")
		for _, act := range []string{"/fit", "/check", "/remove"} {
			a, err := s.d.People["bao"].Post(s.d.Ctx, tag+act, form("position", "open", "padlock", "L-9", "seen", "right",
				"signer", "bao", "pin", s.d.People["bao"].Pin))
			if err != nil || a.Status < 400 || a.Refusal() == "" {
				t.Errorf("%s at an old tag = %d, %q, %v; want a refusal", act, a.Status, a.Refusal(), err)
			}
		}
	})
}

// TestHugeFormIsRefused sends 10 MB where a few hundred bytes belong.
func TestHugeFormIsRefused(t *testing.T) {
	s := weather(t)
	s.unmoved("a form of 10 MB", func() {
		a, err := s.d.People["tove"].Post(s.d.Ctx, s.path+"/cancel", form("words", strings.Repeat("A", 10<<20)))
		if err == nil { // the server may also hang up before everything was sent
			s.told(a, nil, http.StatusRequestEntityTooLarge, "")
		}
	})
	s.d.Act("tove", "goes on as if nothing had been", s.path, s.path+"/start",
		map[string]string{"still": "yes", "controls_off": "yes"})
	s.went(s.d)
}

// TestWrongPINsSlowDownLockAndAreTold tries a wrong PIN ten times over. Somebody in a hurry is not looked at any more
// after the third; somebody patient is locked out for a quarter of an hour, even with the right PIN, and the officer's
// board says so. Who is signed in already goes on, and the right PIN is taken afterwards.
func TestWrongPINsSlowDownLockAndAreTold(t *testing.T) {
	s := weather(t)
	guess, err := demo.NewDemoPerson(s.base, "tove", "Tove", "392748")
	if err != nil {
		t.Fatal(err)
	}
	signIn := func(pin string) demo.Answer {
		t.Helper()
		a, err := guess.Post(s.d.Ctx, "/sign-in", url.Values{"person": {"tove"}, "pin": {pin}})
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	s.unmoved("guessing", func() {
		for i := range 10 {
			a := signIn("111222")
			if a.Status != http.StatusForbidden || a.Refusal() == "" {
				t.Fatalf("wrong PIN %d = %d, %q; want a refusal", i+1, a.Status, a.Refusal())
			}
			if i == 2 {
				hurry := signIn("111222")
				s.told(hurry, nil, http.StatusForbidden, "none is taken for the next 2 seconds")
			}
			if i < 9 {
				s.wait(3 * time.Minute) // longer than any wait before the tenth
			}
		}
		s.told(signIn(guess.Pin), nil, http.StatusForbidden, "none is taken for the next 15 minutes")
	})
	board, err := s.d.People["ilse"].Open(s.d.Ctx, "/")
	s.told(board, err, http.StatusOK, "Tove")
	if err == nil && !strings.Contains(demo.Text(board.Page), "PIN") {
		t.Errorf("the officer's board does not tell of the wrong PINs: %.600s", demo.Text(board.Page))
	}
	s.d.Act("tove", "goes on where she is signed in", s.path, s.path+"/start",
		map[string]string{"still": "yes", "controls_off": "yes"})
	s.went(s.d)
	s.wait(16 * time.Minute)
	if a := signIn(guess.Pin); a.Status != http.StatusOK || a.Refusal() != "" {
		t.Errorf("the right PIN after the wait = %d, %q; want taken", a.Status, a.Refusal())
	}
}
