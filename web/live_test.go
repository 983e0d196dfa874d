package web

import (
	"bufio"
	"context"
	"net"
	"net/http"
	"runtime"
	"strings"
	"testing"
	"time"

	"stillwatch/web/site"
)

// listen opens the live page's stream and returns its lines.
func listen(t *testing.T, ctx context.Context, c *browser, base, last string) *bufio.Scanner {
	t.Helper()
	return listenAt(t, ctx, c, base+"/events", last)
}

func listenAt(t *testing.T, ctx context.Context, c *browser, address, last string) *bufio.Scanner {
	t.Helper()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, address, nil)
	if err != nil {
		t.Fatal(err)
	}
	if last != "" {
		req.Header.Set("Last-Event-ID", last)
	}
	resp, err := c.http.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { resp.Body.Close() })
	if got := resp.Header.Get("Content-Type"); got != "text/event-stream" {
		t.Fatalf("Content-Type = %q, want text/event-stream", got)
	}
	return bufio.NewScanner(resp.Body)
}

// await reads lines until one begins so; it fails when the stream ends before.
func await(t *testing.T, lines *bufio.Scanner, begins string) string {
	t.Helper()
	for lines.Scan() {
		if strings.HasPrefix(lines.Text(), begins) {
			return lines.Text()
		}
	}
	t.Fatalf("the stream ended before a line that begins with %q: %v", begins, lines.Err())
	return ""
}

func TestLivePageHearsWhatOthersDo(t *testing.T) {
	j := begin(t)
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	lines := listen(t, ctx, j.mate, j.a.http.URL, "")
	await(t, lines, ": listening")
	j.authorise()
	if got := await(t, lines, "data: "); got != "data: 1" {
		t.Errorf("event = %q, want data: 1 for permit 1", got)
	}
}

func TestLivePageCatchesUpAfterABreak(t *testing.T) {
	j := begin(t)
	heard := lastEntry(j)
	j.authorise()
	missed := lastEntry(j)
	ctx, cancel := context.WithTimeout(t.Context(), 20*time.Second)
	defer cancel()
	lines := listen(t, ctx, j.mate, j.a.http.URL, heard)
	if got := await(t, lines, "id: "); got != "id: "+missed {
		t.Errorf("first event after the break = %q, want id: %s", got, missed)
	}
}

// TestStoppingCutsLivePages serves for real, opens a stream and stops: Serve must return at once, and leave nothing
// running behind.
func TestStoppingCutsLivePages(t *testing.T) {
	a := ship(t)
	before := runtime.NumGoroutine()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(t.Context())
	ended := make(chan error, 1)
	go func() { ended <- a.web.Serve(ctx, l) }()
	c := a.browser()
	base := "http://" + l.Addr().String()
	resp, err := c.http.PostForm(base+"/sign-in", fields("person", "tech", "pin", testPINs["tech"]))
	if err != nil {
		t.Fatal(err)
	}
	resp.Body.Close()
	lines := listen(t, t.Context(), c, base, "")
	await(t, lines, ": listening")
	began := time.Now()
	stop()
	if err := <-ended; err != nil {
		t.Errorf("Serve() = %v, want nil", err)
	}
	if took := time.Since(began); took > site.GraceS*time.Second/2 {
		t.Errorf("Serve took %v to stop with a live page open, want less than half of the grace", took)
	}
	for lines.Scan() {
	}
	c.http.CloseIdleConnections()
	for range 500 {
		if runtime.NumGoroutine() <= before {
			return
		}
		time.Sleep(20 * time.Millisecond)
	}
	t.Errorf("%d goroutines run, %d ran before", runtime.NumGoroutine(), before)
}

// Whoever is signed in no more gets a plain no where a page follows the log: a browser that is sent on to the sign-in
// page takes it for a stream and complains.
func TestThePageThatFollowsIsToldThatNobodyIsSignedIn(t *testing.T) {
	a := ship(t)
	req, err := http.NewRequestWithContext(t.Context(), http.MethodGet, a.http.URL+"/events", nil)
	if err != nil {
		t.Fatal(err)
	}
	req.Header.Set("Accept", "text/event-stream")
	resp, err := a.browser().http.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer resp.Body.Close()
	if resp.StatusCode != http.StatusUnauthorized || resp.Request.URL.Path != "/events" {
		t.Errorf("GET /events of nobody = %d at %s, want 401 there", resp.StatusCode, resp.Request.URL.Path)
	}
}
