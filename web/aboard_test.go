package web

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web/screens"
)

// The crew of the tests. Everybody has their own PIN.
var testCrew = []permits.Person{
	{ID: "chief", Name: "Chief Engineer", Roles: []permits.Role{permits.ChiefEngineer}},
	{ID: "oow", Name: "Officer One", Roles: []permits.Role{permits.Officer}},
	{ID: "tech", Name: "Fitter One", Roles: []permits.Role{permits.Technician}},
	{ID: "mate", Name: "Fitter Two", Roles: []permits.Role{permits.Technician}},
	{ID: "hand", Name: "Crew Member", Roles: []permits.Role{permits.Crew}},
	{ID: "master", Name: "Master", Roles: []permits.Role{permits.Master}},
	{ID: "guest", Name: "Guest", Roles: []permits.Role{permits.Visitor}},
}

var testPINs = map[string]string{"chief": "407193", "oow": "582064", "tech": "690427", "mate": "731852",
	"hand": "826409", "master": "915738", "guest": "248613"}

// aboard is the real server over a real register in a folder of its own.
type aboard struct {
	seen *bytes.Buffer // every page that was shown, if a test wants them

	t    *testing.T
	reg  *register.Register
	web  *Server
	http *httptest.Server
	log  *lockedBuffer
	mu   sync.Mutex
	now  time.Time
}

// lockedBuffer is a log that many write to.
type lockedBuffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (l *lockedBuffer) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.Write(p)
}

func (l *lockedBuffer) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.b.String()
}

func (a *aboard) clock() time.Time {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.now = a.now.Add(time.Millisecond)
	return a.now
}

func (a *aboard) wait(d time.Duration) {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.now = a.now.Add(d)
}

// emptyShip is a server over a register in which nobody is.
func emptyShip(t *testing.T) *aboard {
	t.Helper()
	a := openShip(t, t.TempDir())
	t.Cleanup(func() {
		a.web.endAll()
		a.http.Close()
		if err := a.reg.Close(); err != nil {
			t.Errorf("Close() = %v, want nil", err)
		}
	})
	return a
}

// uptime returns how long the program has run; the test's clock is never set back.
func (a *aboard) uptime() time.Duration { return a.clock().Sub(time.Unix(0, 0)) }

// openShip opens a register in a folder and serves it; whoever calls ends it.
func openShip(t *testing.T, dir string) *aboard {
	t.Helper()
	a := &aboard{t: t, log: &lockedBuffer{}, now: time.Now().UTC().Truncate(time.Second)}
	logger := slog.New(slog.NewTextHandler(a.log, &slog.HandlerOptions{Level: slog.LevelDebug}))
	var err error
	a.reg, err = register.Open(context.Background(), dir, register.Options{Now: a.clock, Logger: logger,
		Uptime: a.uptime,
		Argon:  register.Argon{MemoryKiB: 64, Iterations: 1, Parallelism: 1}})
	if err != nil {
		t.Fatal(err)
	}
	a.web, err = New(a.reg, Config{Now: a.clock, Logger: logger, Version: "test"})
	if err != nil {
		t.Fatal(err)
	}
	a.http = httptest.NewServer(a.web.Handler())
	return a
}

// firstPIN is what everybody gets from the chief engineer, and changes.
const firstPIN = "917340"

// ship is a server with a crew and the tiny plant in force, all brought there through the pages.
func ship(t *testing.T) *aboard {
	t.Helper()
	a := emptyShip(t)
	c := a.browser()
	c.must(c.post("/first-run", "id", "chief", "name", "Chief Engineer", "rank", "Chief engineer", "pin",
		testPINs["chief"], "pin_again", testPINs["chief"]), "/")
	for _, p := range testCrew[1:] {
		c.must(c.post("/people", "id", string(p.ID), "name", p.Name, "role", string(p.Roles[0]), "new_pin",
			firstPIN, "pin", testPINs["chief"]), "/people")
		d := register.SetPINDoing{ID: a.reg.NewActID(), By: p.ID, ByPIN: firstPIN, Person: p.ID, New: testPINs[string(p.ID)]}
		if _, err := a.reg.SetPIN(context.Background(), d); err != nil {
			t.Fatal(err)
		}
	}
	c.putInForce("/plant", "tiny.yaml", plantText(t, "tiny.yaml"))
	return a
}

// putInForce has the officer propose a file and the chief engineer put it in force, on one device. path is /plant or
// /rules.
func (c *browser) putInForce(path, name string, text []byte) {
	c.a.t.Helper()
	then := map[string]string{"/plant": "/plant/proposed", "/rules": "/plant"}[path]
	c.must(c.upload(path+"/propose", name, text, "signer", "oow", "pin", testPINs["oow"]), then)
	c.must(c.post(path, "sha256", sumOf(text), "signer", "chief", "pin", testPINs["chief"]), "/plant")
}

func plantText(t testing.TB, name string) []byte {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "testdata", "plants", name))
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// browser is one device with its own cookies.
type browser struct {
	a    *aboard
	http *http.Client
	last answerPage
}

type answerPage struct {
	status int
	path   string
	body   string
	head   http.Header
}

func (a *aboard) browser() *browser {
	jar, err := cookiejar.New(nil)
	if err != nil {
		a.t.Fatal(err)
	}
	return &browser{a: a, http: &http.Client{Jar: jar}}
}

// as is a device on which somebody is signed in.
func (a *aboard) as(id string) *browser {
	a.t.Helper()
	c := a.browser()
	c.must(c.post("/sign-in", "person", id, "pin", testPINs[id]), "/")
	return c
}

func (c *browser) do(req *http.Request) answerPage {
	c.a.t.Helper()
	resp, err := c.http.Do(req)
	if err != nil {
		c.a.t.Fatalf("%s %s: %v", req.Method, req.URL.Path, err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil {
		c.a.t.Fatalf("%s %s: %v", req.Method, req.URL.Path, err)
	}
	c.last = answerPage{resp.StatusCode, resp.Request.URL.Path, string(body), resp.Header}
	if c.a.seen != nil {
		c.a.seen.Write(body)
	}
	return c.last
}

func (c *browser) get(path string) answerPage {
	c.a.t.Helper()
	req, err := http.NewRequest(http.MethodGet, c.a.http.URL+path, nil)
	if err != nil {
		c.a.t.Fatal(err)
	}
	return c.do(req)
}

// fields makes form values of name, value pairs and gives them a fresh act id if they have none.
func fields(pairs ...string) url.Values {
	v := url.Values{}
	for i := 0; i+1 < len(pairs); i += 2 {
		v.Add(pairs[i], pairs[i+1])
	}
	if v.Get("act_id") == "" {
		v.Set("act_id", screens.NewActID())
	}
	return v
}

func (c *browser) post(path string, pairs ...string) answerPage {
	c.a.t.Helper()
	return c.postBody(path, "application/x-www-form-urlencoded", strings.NewReader(fields(pairs...).Encode()))
}

func (c *browser) postBody(path, kind string, body io.Reader) answerPage {
	c.a.t.Helper()
	req, err := http.NewRequest(http.MethodPost, c.a.http.URL+path, body)
	if err != nil {
		c.a.t.Fatal(err)
	}
	req.Header.Set("Content-Type", kind)
	req.Header.Set("Origin", c.a.http.URL)
	return c.do(req)
}

func (c *browser) upload(path, name string, text []byte, pairs ...string) answerPage {
	c.a.t.Helper()
	const edge = "----edge7f3a"
	var b bytes.Buffer
	for field, values := range fields(pairs...) {
		for _, v := range values {
			fmt.Fprintf(&b, "--%s\r\nContent-Disposition: form-data; name=%q\r\n\r\n%s\r\n", edge, field, v)
		}
	}
	fmt.Fprintf(&b, "--%s\r\nContent-Disposition: form-data; name=\"file\"; filename=%q\r\nContent-Type: "+
		"text/yaml\r\n\r\n", edge, name)
	b.Write(text)
	fmt.Fprintf(&b, "\r\n--%s--\r\n", edge)
	return c.postBody(path, "multipart/form-data; boundary="+edge, &b)
}

// must wants an act taken, and its answer to end at a page.
func (c *browser) must(got answerPage, path string) answerPage {
	c.a.t.Helper()
	if got.status != http.StatusOK || got.path != path || strings.Contains(got.body, `role="alert"`) {
		c.a.t.Fatalf("act ended with status %d at %s, want 200 at %s: %s", got.status, got.path, path, alert(got.body))
	}
	return got
}

// refused wants an act refused with a status and words.
func (c *browser) refused(got answerPage, status int, words string) answerPage {
	c.a.t.Helper()
	if got.status != status || !strings.Contains(alert(got.body), words) {
		c.a.t.Fatalf("act ended with status %d at %s, refusal %q; want status %d and %q", got.status, got.path,
			alert(got.body), status, words)
	}
	return got
}

var (
	alertPattern = regexp.MustCompile(`(?s)role="alert".*?</section>`)
	markPattern  = regexp.MustCompile(`(?s)<[^>]*>|\s+`)
)

// alert returns the words of the refusal on a page.
func alert(body string) string {
	return strings.TrimSpace(markPattern.ReplaceAllString(
		strings.NewReplacer("&#39;", "'", "&#34;", `"`).Replace(alertPattern.FindString(body)), " "))
}

// codes returns the addresses of a permit's tags by step.
func (a *aboard) codes(id permits.PermitID) map[int]string {
	a.t.Helper()
	codes, err := a.reg.TagCodes(context.Background(), id)
	if err != nil {
		a.t.Fatal(err)
	}
	out := map[int]string{}
	for n, code := range codes {
		out[n] = "/T/" + code.Text()
	}
	return out
}

func (a *aboard) permit(id permits.PermitID) permits.Permit {
	a.t.Helper()
	p, err := a.reg.Permit(context.Background(), id)
	if err != nil {
		a.t.Fatal(err)
	}
	return p
}
