//go:build unix

package main

import (
	"bufio"
	"context"
	"crypto/rand"
	"fmt"
	"io"
	"log/slog"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"

	"stillwatch/isolation/plantfile"
	"stillwatch/permits"
	"stillwatch/permits/register"
)

// serveEnv makes the test's own program serve a folder instead of testing, as a child process that can be stopped.
const serveEnv = "STILLWATCH_TEST_SERVE"

func TestMain(m *testing.M) {
	if data := os.Getenv(serveEnv); data != "" {
		os.Exit(run([]string{"serve", "--data", data, "--listen", "127.0.0.1:0", "--listen-tls", "127.0.0.1:0", "--tls"},
			os.Stdout, io.Discard))
	}
	status := m.Run()
	if builtFolder != "" {
		_ = os.RemoveAll(builtFolder)
	}
	os.Exit(status)
}

// stopPIN is the PIN of everybody in this test.
const stopPIN = "604271"

// mannedFolder makes a register with one technician and the tiny plant, and closes it.
func mannedFolder(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	testAuthority(t, dir, "127.0.0.1")
	ctx := context.Background()
	reg, err := register.Open(ctx, dir, register.Options{Logger: slog.New(slog.DiscardHandler)})
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "plants", "tiny.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	plant, err := plantfile.Read("tiny.yaml", text)
	if err != nil {
		t.Fatal(err)
	}
	if err := reg.FirstRun(ctx, permits.Person{ID: "chief", Name: "Chief", Roles: []permits.Role{permits.ChiefEngineer}},
		stopPIN); err != nil {
		t.Fatal(err)
	}
	second := permits.Person{ID: "second", Name: "Second", Roles: []permits.Role{permits.Technician}}
	if err := reg.AddPerson(ctx, register.AddPersonDoing{ID: reg.NewActID(), By: "chief", PIN: stopPIN, Person: second,
		New: "917340"}); err != nil {
		t.Fatal(err)
	}
	own := register.SetPINDoing{ID: reg.NewActID(), By: second.ID, ByPIN: "917340", Person: second.ID, New: stopPIN}
	if _, err := reg.SetPIN(ctx, own); err != nil {
		t.Fatal(err)
	}
	file := permits.AdoptPlant{Name: "tiny.yaml", SHA256: plant.SHA256, Text: string(text)}
	for _, d := range []register.Doing{{Act: file.Proposal(), By: second.ID}, {Act: file, By: "chief"}} {
		d.ID, d.PIN = reg.NewActID(), stopPIN
		if _, err := reg.Do(ctx, d); err != nil {
			t.Fatal(err)
		}
	}
	if err := reg.Close(); err != nil {
		t.Fatal(err)
	}
	return dir
}

// served is a child process that serves.
type served struct {
	cmd  *exec.Cmd
	base string
}

func serveAsChild(t *testing.T, data string) *served {
	t.Helper()
	program, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	s := &served{cmd: exec.Command(program)}
	s.cmd.Env = append(os.Environ(), serveEnv+"="+data)
	out, err := s.cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = s.cmd.Process.Kill() })
	first, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		t.Fatalf("the child said nothing: %v", err)
	}
	s.base = addressIn(strings.TrimSpace(first))
	return s
}

// caller is somebody signed in who does one act after another.
type caller struct {
	base string
	http *http.Client
}

func (s *served) signIn(t *testing.T) *caller {
	t.Helper()
	jar, err := cookiejar.New(nil)
	if err != nil {
		t.Fatal(err)
	}
	c := &caller{s.base, &http.Client{Jar: jar, Transport: &http.Transport{},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
	if status, err := c.post("/sign-in", url.Values{"person": {"chief"}, "pin": {stopPIN}}); err != nil ||
		status != http.StatusSeeOther {
		t.Fatalf("signing in = %d, %v, want 303", status, err)
	}
	return c
}

func (c *caller) post(path string, v url.Values) (int, error) {
	req, err := http.NewRequest(http.MethodPost, c.base+path, strings.NewReader(v.Encode()))
	if err != nil {
		return 0, err
	}
	req.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	req.Header.Set("Origin", c.base)
	resp, err := c.http.Do(req)
	if err != nil {
		return 0, err
	}
	_, err = io.Copy(io.Discard, resp.Body)
	_ = resp.Body.Close()
	return resp.StatusCode, err
}

// answered is the acts that were confirmed to their senders.
type answered struct {
	mu   sync.Mutex
	ids  []permits.ActID
	odd  []string // answers that were neither a confirmation nor a line cut off
	half chan struct{}
}

// act acts until the line is cut, and notes what was confirmed.
func (c *caller) act(a *answered, enough int) {
	for {
		id := rand.Text()
		status, err := c.post("/points/Q1/passing", url.Values{"act_id": {id}, "words": {"It passes a little."}})
		if err != nil {
			return // nothing was said about this one: it may have happened or not
		}
		a.mu.Lock()
		if status != http.StatusSeeOther {
			a.odd = append(a.odd, fmt.Sprintf("act %s was answered with %d", id, status))
		} else if a.ids = append(a.ids, permits.ActID(id)); len(a.ids) == enough {
			close(a.half)
		}
		a.mu.Unlock()
		if status != http.StatusSeeOther {
			return
		}
	}
}

// TestStopLosesNoAnsweredAct stops a serving process while live pages are open and acts are under way. It must end by
// itself with status 0 (a live page that held it up would make that 1, after the grace time), end the pages' streams,
// and every act that was confirmed must be in the log.
func TestStopLosesNoAnsweredAct(t *testing.T) {
	data := mannedFolder(t)
	child := serveAsChild(t, data)
	var live sync.WaitGroup
	for range 3 {
		resp, err := child.signIn(t).http.Get(child.base + "/events")
		if err != nil || resp.StatusCode != http.StatusOK {
			t.Fatalf("opening a live page = %v, %v, want 200", resp, err)
		}
		defer resp.Body.Close()
		live.Go(func() {
			if _, err := io.Copy(io.Discard, resp.Body); err != nil {
				t.Errorf("a live page was torn off: %v, want its end", err)
			}
		})
	}
	a := &answered{half: make(chan struct{})}
	var acting sync.WaitGroup
	for range 4 {
		c := child.signIn(t)
		acting.Go(func() { c.act(a, 40) })
	}
	gaveUp := make(chan struct{})
	go func() { acting.Wait(); close(gaveUp) }()
	select {
	case <-a.half:
	case <-gaveUp:
		t.Fatalf("acting ended before the stop: %v", a.odd)
	}
	if err := child.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		t.Fatal(err)
	}
	live.Wait()
	acting.Wait()
	if err := child.cmd.Wait(); err != nil {
		t.Errorf("the process ended with %v, want status 0", err)
	}
	for _, words := range a.odd {
		t.Error(words)
	}
	a.wantInLog(t, data)
}

// wantInLog opens the register again and looks for every confirmed act, each once.
func (a *answered) wantInLog(t *testing.T, data string) {
	t.Helper()
	reg, err := register.Open(t.Context(), data, register.Options{Logger: slog.New(slog.DiscardHandler)})
	if err != nil {
		t.Fatal(err)
	}
	found := map[permits.ActID]int{}
	for after := int64(-1); ; {
		list, err := reg.Entries(t.Context(), register.EntryQuery{After: &after, Limit: 1000})
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range list {
			found[e.ActID]++
			after = e.N
		}
		if len(list) == 0 {
			break
		}
	}
	if err := reg.Close(); err != nil {
		t.Error(err)
	}
	for _, id := range a.ids {
		if found[id] != 1 {
			t.Errorf("act %s was confirmed and stands %d times in the log, want once", id, found[id])
		}
	}
	if len(a.ids) < 40 {
		t.Errorf("only %d acts were confirmed before the stop, want 40 at least", len(a.ids))
	}
	if report, err := register.Verify(t.Context(), data); err != nil || !report.OK() {
		t.Errorf("Verify() = %v, %v, want a whole log", report.Faults, err)
	}
}
