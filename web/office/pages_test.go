package office

import (
	"context"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/jba/templatecheck"

	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/permits/shore"
	"stillwatch/web/office/desk"
	"stillwatch/web/screens"
)

func TestEveryTemplateOfTheOfficeFitsItsPage(t *testing.T) {
	s, err := screens.LoadSite(desk.Site, nil, func(string) (string, error) { return "", nil })
	if err != nil {
		t.Fatal(err)
	}
	for name, page := range desk.Site.Pages {
		if err := templatecheck.CheckHTML(s.Set[name], page); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
	files, err := filepath.Glob(filepath.Join("..", "..", "templates", "office", "*.html"))
	if err != nil || len(files) != len(desk.Site.Pages) {
		t.Errorf("%d templates of the office for %d pages (%v)", len(files), len(desk.Site.Pages), err)
	}
}

// browser is somebody of the office at a desk.
type browser struct {
	t    testing.TB
	http http.Client
	base string
}

func (a *ashore) browser() *browser {
	jar, err := cookiejar.New(nil)
	if err != nil {
		a.t.Fatal(err)
	}
	return &browser{a.t, http.Client{Jar: jar}, a.site.URL}
}

// signedIn puts somebody on the books and signs them in.
func (a *ashore) signedIn(p shore.Person) *browser {
	a.t.Helper()
	password, err := a.AddPerson(context.Background(), p)
	if err != nil {
		a.t.Fatal(err)
	}
	b := a.browser()
	if status, body := b.post("/sign-in", url.Values{"name": {p.Name}, "password": {password}}); status != http.StatusOK {
		a.t.Fatalf("sign in = %d: %s", status, body)
	}
	return b
}

func (b *browser) get(path string) (int, string) {
	b.t.Helper()
	got, err := b.http.Get(b.base + path)
	return b.read(got, err)
}

func (b *browser) post(path string, form url.Values) (int, string) {
	b.t.Helper()
	got, err := b.http.PostForm(b.base+path, form)
	return b.read(got, err)
}

func (b *browser) read(got *http.Response, err error) (int, string) {
	b.t.Helper()
	if err != nil {
		b.t.Fatal(err)
	}
	defer got.Body.Close()
	text, err := io.ReadAll(got.Body)
	if err != nil {
		b.t.Fatal(err)
	}
	return got.StatusCode, string(text)
}

// fleetOfTwo is two sister ships ashore, of which one has a point that passes and a permit that has run out.
func fleetOfTwo(t testing.TB) (a *ashore, north, south *ship) {
	t.Helper()
	a = newAshore(t)
	north, south = newShip(t, "North Example"), newShip(t, "South Example")
	for _, s := range []*ship{north, south} {
		out := s.enrolled(a)
		s.works(true)
		s.works(false)
		if s == south {
			s.do(0, permits.RecordPassing{Point: "V1", Words: "drips <when> shut"}, "fitter")
		}
		all(t, out)
	}
	return a, north, south
}

func TestTheOfficeSeesItsShips(t *testing.T) {
	a, north, south := fleetOfTwo(t)
	b := a.signedIn(shore.Person{Name: "Port engineer"})
	id := strconv.FormatInt(shipID(a, south), 10)
	for _, c := range []struct {
		path string
		want []string
	}{
		{"/", []string{"2 ships", "North Example", "South Example", "An aid to work, not an authority"}},
		{"/ships/" + id, []string{"As of entry " + strconv.FormatInt(south.Head().Size-1, 10), "Transfer pump: Shaft " +
			"seal", "overdue",
			"drips &lt;when&gt; shut", "valve, deck 1, port", strings.ReplaceAll(south.PublicKey(), "+", "&#43;")}},
		{"/passing?from=2026-01-01", []string{"valve, deck 1, port", "Points were found passing 1 time.", "South Example"}},
		{"/passing?from=2026-01-01&ship=" + strconv.FormatInt(shipID(a, north), 10), []string{"No point was found passing"}},
		{"/figures?from=2026-01-01&to=2026-12-31&plant=Tiny", []string{"4 permits went live", "4 acts were refused",
			"March 2026"}},
		{"/fleet.csv", []string{"South Example,Tiny,"}},
		{"/passing.csv?from=2026-01-01", []string{"South Example,V1,valve,"}},
		{"/figures.csv?from=2026-01-01&to=2026-12-31", []string{"What gates refused,authorise,4.000,times"}},
		{"/ships/" + id + "/permits.csv", []string{"2,suspended,Transfer pump,Shaft seal"}},
	} {
		status, body := b.get(c.path)
		for _, want := range c.want {
			if status != http.StatusOK || !strings.Contains(body, want) {
				t.Errorf("%s = %d without %q", c.path, status, want)
			}
		}
		if dir := os.Getenv("STILLWATCH_PAGES"); dir != "" {
			_ = os.WriteFile(filepath.Join(dir, screens.Slug(c.path)+".html"), []byte(body), 0o644)
		}
	}
	_, log := b.get("/ships/" + id + "/log.jsonl")
	report, err := register.Check(context.Background(), strings.NewReader(log), south.PublicKey())
	if err != nil || !report.OK() || report.Entries != south.Head().Size {
		t.Errorf("Check(the log from the page) = %+v, %v", report, err)
	}
}

// The fleet board says of each ship what its own register says of itself.
func TestTheFleetBoardSaysWhatIsAboard(t *testing.T) {
	a, north, south := fleetOfTwo(t)
	lines, err := a.Fleet(context.Background())
	if err != nil || len(lines) != 2 {
		t.Fatalf("Fleet() = %+v, %v", lines, err)
	}
	for i, s := range []*ship{north, south} {
		var live, locks, signedOn int
		for _, p := range s.OpenPermits() {
			locks, signedOn = locks+p.LocksOn(), signedOn+len(p.SignedOn())
			if p.State() == permits.Live {
				live++
			}
		}
		got := lines[i]
		want := shore.FleetLine{ID: got.ID, Name: s.name, Plant: "Tiny", Size: s.Head().Size, Heard: got.Heard,
			Last: s.Head().At.UnixMicro(), Open: int64(len(s.OpenPermits())), Live: int64(live), Overdue: 1,
			LocksOn:  int64(locks),
			SignedOn: int64(signedOn), Tags: int64(locks), TagsOverdue: int64(locks), Plans: 1,
			Passing: int64(len(s.Ship().PassingPoints()))}
		if got != want || locks == 0 {
			t.Errorf("the fleet board = %+v\nwant %+v", got, want)
		}
	}
}

func TestTheOfficeOnlyReadsAndSeesWhatItMay(t *testing.T) {
	a, north, south := fleetOfTwo(t)
	ctx := context.Background()
	if status, body := a.browser().get("/"); status != http.StatusOK || !strings.Contains(body, "Sign in") {
		t.Errorf("nobody at / = %d", status)
	}
	b := a.signedIn(shore.Person{Name: "Inspector", Ship: north.name})
	own, other := "/ships/"+strconv.FormatInt(shipID(a, north), 10), "/ships/"+strconv.FormatInt(shipID(a, south), 10)
	for path, want := range map[string]int{"/": 200, own: 200, own + "/log.jsonl": 200, own + "/permits.csv": 200,
		other:                403,
		other + "/log.jsonl": 403, other + "/permits.csv": 403, "/passing": 403, "/figures": 403, "/fleet.csv": 403,
		"/ships/99": 404, "/ships/x": 404, "/nothing": 404} {
		status, body := b.get(path)
		if status != want || strings.Contains(body, south.name) {
			t.Errorf("an inspector of one ship at %s = %d, want %d and no other ship's name", path, status, want)
		}
	}
	for _, r := range (&Server{}).routes() {
		if may := strings.HasPrefix(r.path, "/ship/") || r.path == "/sign-in" || r.path == "/sign-out" ||
			r.path == "/palette"; r.method !=
			http.MethodGet && !may {
			t.Errorf("%s %s: a form of the office that may change something", r.method, r.path)
		}
	}
	if err := a.RemovePerson(ctx, "Inspector"); err != nil {
		t.Fatal(err)
	}
	if _, body := b.get(own); !strings.Contains(body, "Sign in") {
		t.Error("who has gone still sees the ship")
	}
}

func TestAPasswordIsNotGuessed(t *testing.T) {
	a := newAshore(t)
	ctx := context.Background()
	password, err := a.AddPerson(ctx, shore.Person{Name: "Port engineer"})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := a.SignIn(ctx, "Port engineer", strings.ToLower(password)); err != nil {
		t.Errorf("the right password in small letters = %v", err)
	}
	for range 5 {
		if _, err := a.SignIn(ctx, "Port engineer", "AAAAA-AAAAA-AAAAA"); err != shore.ErrPassword {
			t.Errorf("a wrong password = %v", err)
		}
	}
	if _, err := a.SignIn(ctx, "Port engineer", password); err != shore.ErrWait {
		t.Errorf("after five wrong ones = %v, want to wait", err)
	}
	if _, err := a.SignIn(ctx, "Nobody", password); err != shore.ErrPassword {
		t.Errorf("nobody = %v", err)
	}
	status, body := a.browser().post("/sign-in", url.Values{"name": {"Port engineer"}, "password": {"x"}})
	if status != http.StatusUnprocessableEntity || !strings.Contains(body, "Too many wrong passwords") {
		t.Errorf("the page = %d", status)
	}
}
