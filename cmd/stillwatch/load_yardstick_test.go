package main

import (
	"database/sql"
	"net/http"
	"net/http/httptest"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	_ "modernc.org/sqlite"
)

// latencies collects how long answers took.
type latencies struct {
	mu    sync.Mutex
	until time.Time // what ends later is not counted: the last permits are finished then
	d     []time.Duration
}

func (l *latencies) add(began time.Time) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if now := time.Now(); now.Before(l.until) {
		l.d = append(l.d, now.Sub(began))
	}
}

// begin counts for a time.
func (l *latencies) begin(during time.Duration) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.d, l.until = nil, time.Now().Add(during)
}

// take returns what was collected, sorted.
func (l *latencies) take() []time.Duration {
	l.mu.Lock()
	defer l.mu.Unlock()
	slices.Sort(l.d)
	return l.d
}

func quantile(sorted []time.Duration, q float64) time.Duration {
	if len(sorted) == 0 {
		return 0
	}
	return sorted[min(len(sorted)-1, int(q*float64(len(sorted))))].Round(100 * time.Microsecond)
}

// pingBare asks an empty server twenty times a second, until over.
func (l *load) pingBare(over func() bool) {
	server := httptest.NewServer(http.HandlerFunc(func(http.ResponseWriter, *http.Request) {}))
	defer server.Close()
	for !over() {
		time.Sleep(50 * time.Millisecond)
		began := time.Now()
		resp, err := server.Client().Get(server.URL)
		if err != nil {
			l.fail("ask the empty server: %v", err)
			return
		}
		_ = resp.Body.Close()
		l.bare.add(began)
	}
}

// oneRowOneCommit measures how many rows a second the same disk takes through the same SQLite settings, one row and one
// commit at a time, and tells how long they took.
func oneRowOneCommit(t testing.TB, during time.Duration) float64 {
	q := url.Values{"_txlock": {"immediate"}, "_pragma": {"busy_timeout(10000)", "foreign_keys(1)", "trusted_schema(0)",
		"journal_mode(WAL)", "synchronous(FULL)", "temp_store(MEMORY)", "wal_autocheckpoint(4000)"}}
	db, err := sql.Open("sqlite", "file:"+filepath.ToSlash(filepath.Join(t.TempDir(), "bare.db"))+"?"+q.Encode())
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	db.SetMaxOpenConns(1)
	if _, err := db.Exec("CREATE TABLE bare (n INTEGER PRIMARY KEY, body BLOB)"); err != nil {
		t.Fatal(err)
	}
	body := make([]byte, 300)
	began := time.Now()
	var took []time.Duration
	for time.Since(began) < during {
		at := time.Now()
		tx, err := db.Begin()
		if err != nil {
			t.Fatal(err)
		}
		if _, err := tx.Exec("INSERT INTO bare (body) VALUES (?)", body); err != nil {
			t.Fatal(err)
		}
		if err := tx.Commit(); err != nil {
			t.Fatal(err)
		}
		took = append(took, time.Since(at))
	}
	rate := float64(len(took)) / time.Since(began).Seconds()
	slices.Sort(took)
	t.Logf("one row, one commit: %.0f/s, p50 %v, p99 %v, most %v", rate, quantile(took, .5), quantile(took, .99),
		quantile(took, 1))
	return rate
}

// processSeconds returns the processor time that the process has used where the system tells it (Linux), or 0. On a
// machine that others use too it says more than the clock does.
func processSeconds() float64 {
	text, err := os.ReadFile("/proc/self/stat")
	if err != nil {
		return 0
	}
	_, rest, _ := strings.Cut(string(text), ") ")
	fields := strings.Fields(rest)
	if len(fields) < 13 {
		return 0
	}
	user, _ := strconv.ParseFloat(fields[11], 64)
	system, _ := strconv.ParseFloat(fields[12], 64)
	return (user + system) / 100 // clock ticks: a hundredth of a second on every Linux that Go runs on
}
