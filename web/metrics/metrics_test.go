package metrics

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web"
)

const (
	chiefPIN = "407193"
	techPIN  = "690427"
	workText = "Seal leaks since Tuesday"
)

// ship is a real register, served and measured.
type testShip struct {
	t     *testing.T
	reg   *register.Register
	meter *Metrics
	http  *httptest.Server
}

func aboard(t *testing.T, open bool) *testShip {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	logger := slog.New(slog.DiscardHandler)
	reg, err := register.Open(ctx, t.TempDir(), register.Options{Logger: logger,
		Argon: register.Argon{MemoryKiB: 8, Iterations: 1, Parallelism: 1}})
	if err != nil {
		t.Fatal(err)
	}
	s := &testShip{t: t, reg: reg, meter: New(ctx, Config{Register: reg, Version: "test", Logger: logger})}
	site, err := web.New(reg, web.Config{Logger: logger, Meter: s.meter, MetricsOpen: open})
	if err != nil {
		t.Fatal(err)
	}
	s.http = httptest.NewServer(site.Handler())
	t.Cleanup(func() {
		s.http.Close()
		stop()
		if err := reg.Close(); err != nil {
			t.Errorf("Close() = %v, want nil", err)
		}
	})
	s.man(ctx)
	return s
}

// man puts a chief engineer and a technician on the books and the tiny plant in force: six acts.
func (s *testShip) man(ctx context.Context) {
	s.t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "plants", "tiny.yaml"))
	if err != nil {
		s.t.Fatal(err)
	}
	sum := sha256.Sum256(text)
	chief := permits.Person{ID: "chief", Name: "Aram Chiefly", Roles: []permits.Role{permits.ChiefEngineer}}
	tech := permits.Person{ID: "tove", Name: "Tove Fitterly", Roles: []permits.Role{permits.Technician}}
	if err := s.reg.FirstRun(ctx, chief, chiefPIN); err != nil {
		s.t.Fatal(err)
	}
	if err := s.reg.AddPerson(ctx, register.AddPersonDoing{ID: s.reg.NewActID(), By: chief.ID, PIN: chiefPIN, Person: tech,
		New: "917340"}); err != nil {
		s.t.Fatal(err)
	}
	if _, err := s.reg.SetPIN(ctx, register.SetPINDoing{ID: s.reg.NewActID(), By: tech.ID, ByPIN: "917340",
		Person: tech.ID,
		New:    techPIN}); err != nil {
		s.t.Fatal(err)
	}
	file := permits.AdoptPlant{Name: "tiny.yaml", SHA256: hex.EncodeToString(sum[:]), Text: string(text)}
	for _, d := range []register.Doing{{Act: file.Proposal(), By: tech.ID, PIN: techPIN},
		{Act: file, By: chief.ID, PIN: chiefPIN}} {
		d.ID = s.reg.NewActID()
		if _, err := s.reg.Do(ctx, d); err != nil {
			s.t.Fatal(err)
		}
	}
}

func (s *testShip) phone() *http.Client {
	jar, err := cookiejar.New(nil)
	if err != nil {
		s.t.Fatal(err)
	}
	return &http.Client{Jar: jar}
}

func (s *testShip) post(c *http.Client, path string, pairs ...string) int {
	s.t.Helper()
	v := url.Values{"act_id": {string(s.reg.NewActID())}}
	for i := 0; i < len(pairs); i += 2 {
		v.Set(pairs[i], pairs[i+1])
	}
	req, err := http.NewRequest(http.MethodPost, s.http.URL+path, strings.NewReader(v.Encode()))
	if err != nil {
		s.t.Fatal(err)
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Origin", s.http.URL)
	resp, err := c.Do(req)
	if err != nil {
		s.t.Fatal(err)
	}
	_ = resp.Body.Close()
	return resp.StatusCode
}

func (s *testShip) scrape() (text string, figures map[string]float64) {
	s.t.Helper()
	resp, err := http.Get(s.http.URL + "/metrics")
	if err != nil {
		s.t.Fatal(err)
	}
	defer resp.Body.Close()
	body, err := io.ReadAll(resp.Body)
	if err != nil || resp.StatusCode != http.StatusOK {
		s.t.Fatalf("GET /metrics = %d, %v, want 200: %s", resp.StatusCode, err, body)
	}
	figures = map[string]float64{}
	lines := bufio.NewScanner(strings.NewReader(string(body)))
	for lines.Scan() {
		if i := strings.LastIndexByte(lines.Text(), ' '); i > 0 && lines.Text()[0] != '#' {
			figures[lines.Text()[:i]], err = strconv.ParseFloat(lines.Text()[i+1:], 64)
			if err != nil {
				s.t.Errorf("a line that is no figure: %q", lines.Text())
			}
		}
	}
	return string(body), figures
}

// settles waits until a figure stands at what is wanted: counting follows the log by a moment.
func (s *testShip) settles(name string, want float64) {
	s.t.Helper()
	var got float64
	for range 200 {
		_, figures := s.scrape()
		var there bool
		if got, there = figures[name]; there && got == want {
			return
		}
		time.Sleep(25 * time.Millisecond)
	}
	s.t.Errorf("%s = %v, want %v", name, got, want)
}

func TestActsRefusalsAndWrongPINsAreCounted(t *testing.T) {
	s := aboard(t, false)
	c := s.phone()
	s.post(c, "/sign-in", "person", "tove", "pin", "999999")
	if status := s.post(c, "/sign-in", "person", "tove", "pin", techPIN); status != http.StatusOK {
		t.Fatalf("signing in = %d, want 200", status)
	}
	s.post(c, "/permits", "job", "P1-seal", "work", workText)
	s.post(c, "/permits/1/prove", "pin", techPIN) // a draft cannot be proved
	s.settles(`stillwatch_acts_total{kind="request",outcome="taken"}`, 1)
	s.settles(`stillwatch_acts_total{kind="prove",outcome="refused"}`, 1)
	s.settles(`stillwatch_acts_total{kind="prove",outcome="taken"}`, 0)
	s.settles(`stillwatch_refusals_total{gate="prove"}`, 1)
	s.settles(`stillwatch_wrong_pins_total`, 1)
	s.settles(`stillwatch_permits_open{state="draft"}`, 1)
	s.settles(`stillwatch_locks_on`, 0)
	s.settles(`stillwatch_tags_overdue`, 0)
	s.settles(`stillwatch_plans_overdue`, 0)
	s.settles(`stillwatch_log_entries`, float64(s.reg.Head().Size))
	s.settles(`stillwatch_notice{about="disk"}`, 0)
	s.settles(`stillwatch_answers_total{method="POST",route="/permits",status="303"}`, 1)
	s.settles(`stillwatch_request_seconds_count{method="POST",route="/permits/:id/prove"}`, 1)
	_, figures := s.scrape()
	if age, ok := figures["stillwatch_last_entry_age_seconds"]; !ok || age < 0 || age > 3600 {
		t.Errorf("stillwatch_last_entry_age_seconds = %v, %v, want the age of an entry of this test", age, ok)
	}
}

// TestCountingMissesNothingAfterABreak counts a log as a follower does who was cut off before it: against a tally of
// every entry, made another way.
func TestCountingMissesNothingAfterABreak(t *testing.T) {
	s := aboard(t, false)
	c := s.phone()
	s.post(c, "/sign-in", "person", "tove", "pin", techPIN)
	for range 30 {
		s.post(c, "/permits", "job", "P1-seal", "work", workText)
		s.post(c, "/permits/1/sign-on", "pin", techPIN)
	}
	tally := map[string]float64{}
	all, err := s.reg.Entries(t.Context(), register.EntryQuery{Limit: 1000})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range all {
		if a, no := e.Act.(permits.RefusedAct); no {
			tally[`stillwatch_acts_total{kind="`+string(a.Of)+`",outcome="refused"}`]++
		} else {
			tally[`stillwatch_acts_total{kind="`+string(e.Kind)+`",outcome="taken"}`]++
		}
	}
	late := New(t.Context(), Config{Register: s.reg})
	if last := late.readUp(t.Context(), -1); last != s.reg.Head().Size-1 {
		t.Errorf("readUp(-1) = %d, want the last entry, %d", last, s.reg.Head().Size-1)
	}
	s.http.Config.Handler = late
	for name, want := range tally {
		s.settles(name, want)
	}
	if len(tally) < 5 {
		t.Errorf("only %d kinds of entries were counted: %v", len(tally), tally)
	}
}

func TestMeasurementsNameNobody(t *testing.T) {
	s := aboard(t, false)
	c := s.phone()
	s.post(c, "/sign-in", "person", "tove", "pin", techPIN)
	s.post(c, "/permits", "job", "P1-seal", "work", workText)
	for _, path := range []string{"/T/7K3MQ2XD9PTR4", "/permits/1?secret=word", "/find?code=7K3MQ2XD9PTR4",
		"/no/such/page"} {
		resp, err := c.Get(s.http.URL + path)
		if err != nil {
			t.Fatal(err)
		}
		_ = resp.Body.Close()
	}
	req, _ := http.NewRequest("BREW", s.http.URL+"/permits/1", nil)
	if resp, err := c.Do(req); err == nil {
		_ = resp.Body.Close()
	}
	s.settles(`stillwatch_answers_total{method="any",route="(none)",status="405"}`, 1)
	text, _ := s.scrape()
	for _, secret := range []string{"tove", "Tove", "Aram", "chief\"", workText, "Tuesday", "7K3M", "secret", "BREW",
		"P1-seal", "127.0.0.1"} {
		if strings.Contains(text, secret) {
			t.Errorf("the measurements name %q", secret)
		}
	}
}

func TestOnlyThisComputerReadsMeasurementsUnlessOpened(t *testing.T) {
	for _, tc := range []struct {
		name, from, forwarded string
		open                  bool
		want                  int
	}{
		{"this computer", "127.0.0.1:50000", "", false, http.StatusOK},
		{"this computer, version 6", "[::1]:50000", "", false, http.StatusOK},
		{"through a proxy on this computer", "127.0.0.1:50000", "192.168.1.77", false, http.StatusNotFound},
		{"through it, and claims to be this computer", "127.0.0.1:50000", "127.0.0.1", false, http.StatusNotFound},
		{"a phone that claims to be this computer", "192.168.1.77:50000", "127.0.0.1", false, http.StatusNotFound},
		{"nobody knows who", "", "127.0.0.1", false, http.StatusNotFound},
		{"a phone, opened", "192.168.1.77:50000", "127.0.0.1", true, http.StatusOK},
	} {
		t.Run(tc.name, func(t *testing.T) {
			s := aboard(t, tc.open)
			req := httptest.NewRequest(http.MethodGet, "http://localhost/metrics", nil)
			req.RemoteAddr = tc.from
			if tc.forwarded != "" {
				req.Header.Set("X-Forwarded-For", tc.forwarded)
			}
			rec := httptest.NewRecorder()
			s.http.Config.Handler.ServeHTTP(rec, req)
			if rec.Code != tc.want {
				t.Errorf("GET /metrics from %q = %d, want %d", tc.from, rec.Code, tc.want)
			}
		})
	}
}

func TestLivePagesAreCountedWhileTheyAreOpen(t *testing.T) {
	s := aboard(t, false)
	c := s.phone()
	s.post(c, "/sign-in", "person", "tove", "pin", techPIN)
	ctx, leave := context.WithCancel(t.Context())
	req, _ := http.NewRequestWithContext(ctx, http.MethodGet, s.http.URL+"/events", nil)
	resp, err := c.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	s.settles("stillwatch_live_pages", 1)
	leave()
	_ = resp.Body.Close()
	s.settles("stillwatch_live_pages", 0)
	text, _ := s.scrape()
	if strings.Contains(text, `stillwatch_request_seconds_count{method="GET",route="/events"}`) {
		t.Error("the time for which a page was open counts as the time of an answer")
	}
}

func TestBackupAgeIsSaidWhereItIsKnown(t *testing.T) {
	s := aboard(t, false)
	if _, figures := s.scrape(); figures["stillwatch_last_backup_age_seconds"] != 0 {
		t.Error("the age of a backup is said, and nobody knows it")
	}
	now := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	told := New(t.Context(), Config{Register: s.reg, Now: func() time.Time { return now },
		Backup: func(context.Context) (time.Time, bool) { return now.Add(-90 * time.Minute), true }})
	s.http.Config.Handler = told
	s.settles("stillwatch_last_backup_age_seconds", 5400)
}
