package web

import (
	"net/url"
	"os"
	"strings"
	"testing"
)

// TestAPhoneThatHasSeenMoreTellsOfAnOlderCopy lets a phone look at the board, puts an older copy of the folder back,
// and lets the same phone look again: everybody is told, and the chief engineer's acceptance ends it.
func TestAPhoneThatHasSeenMoreTellsOfAnOlderCopy(t *testing.T) {
	j := begin(t)
	dir, old := j.a.reg.Dir(), t.TempDir()
	end := func(a *aboard) {
		a.web.endAll()
		a.http.Close()
		if err := a.reg.Close(); err != nil {
			t.Fatal(err)
		}
	}
	end(j.a)
	if err := os.CopyFS(old, os.DirFS(dir)); err != nil {
		t.Fatal(err)
	}
	a := openShip(t, dir)
	phone := a.as("tech")
	a.as("oow").must(a.as("oow").post("/permits/1/authorise", "hours", "12", "signer", "oow", "pin", testPINs["oow"]),
		"/permits/1")
	phone.get("/")
	at, err := url.Parse(a.http.URL)
	if err != nil {
		t.Fatal(err)
	}
	seen := phone.http.Jar.Cookies(at)
	end(a)

	b := openShip(t, old)
	defer end(b)
	k := &job{a: b, id: 1, path: "/permits/1"}
	chief := b.as("chief")
	k.hides(chief, "/", "This register is older")
	again := b.as("tech")
	if at, err = url.Parse(b.http.URL); err != nil {
		t.Fatal(err)
	}
	for _, c := range seen {
		if c.Name == headCookie {
			again.http.Jar.SetCookies(at, seen)
		}
	}
	again.get("/")
	k.shows(chief, "/", "This register is older than it was", `action="/loss"`)
	chief.refused(chief.post("/permits/1/authorise", "hours", "12", "signer", "oow", "pin", testPINs["oow"]), 422, "older")
	head := field(chief.get("/").body, "hash")
	chief.must(chief.post("/loss", "size", field(chief.last.body, "size"), "hash", head, "words",
		"the disk died; Fitter One looked at every lock", "signer", "chief", "pin", testPINs["chief"]), "/")
	k.hides(chief, "/", "This register is older")
	again.get("/")
	k.hides(chief, "/", "This register is older")
}

// field returns the value of a hidden field of a page.
func field(body, name string) string {
	_, rest, _ := strings.Cut(body, `name="`+name+`" value="`)
	value, _, _ := strings.Cut(rest, `"`)
	return value
}
