//go:build linux

package main

import (
	"bufio"
	"context"
	"crypto/rand"
	"flag"
	"fmt"
	"io"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"stillwatch/permits"
)

// How long the log of BenchmarkServedYears is, and where it lies.
var (
	yearsEntries = flag.Int64("entries", 20_000, "entries in the log of BenchmarkServedYears; a ship's years are a "+
		"million")
	yearsFolder = flag.String("register", "", "folder in which BenchmarkServedYears makes its register and leaves it, "+
		"or finds the one that it made some hours ago at most")
)

// BenchmarkServedYears measures the program itself on a long log: "stillwatch serve" and "stillwatch log verify" as
// processes of their own, built as everybody builds them, over a register that years has filled. It tells how long it
// takes from the start of the process until /healthz answers, in what time half and 99 of 100 answers of each page
// reach one phone, the rate of the verification, and what memory the server holds after all of it and held at most.
// Beside the clock stands the processor time (cpu), which says more on a machine that others use too.
//
//	go test ./cmd/stillwatch -run XXX -bench ServedYears -entries 1000000 -timeout 30m
//
// It ends by itself: each page is asked for as long as -benchtime says. Filling takes most of the time, four minutes
// for a million entries and more where others use the disk; with -register DIR the same register serves again, to look
// at one page with -bench ServedYears/NAME before and after a change.
func BenchmarkServedYears(b *testing.B) {
	s := &servedYears{b: b, program: buildProgram(b)}
	s.settle()
	b.Run("open", s.measureOpen)
	s.start()
	defer s.stop(b)
	s.signIn()
	for _, p := range s.pages() {
		b.Run(p.name, func(b *testing.B) { s.measurePage(b, p.path) })
	}
	b.Run("board-while-acts-are-written", s.measureBusyBoard)
	b.Run("verify", s.measureVerify)
	b.Run("memory", s.measureMemory)
}

// servedYears is a long register and the program that serves it.
type servedYears struct {
	b       *testing.B
	program string
	data    string
	size    int64
	open    permits.Permit // one of those at work
	tag     permits.TagCode
	cmd     *exec.Cmd
	phone   *caller
}

// settle finds or makes the register, and notes what of it the pages are asked for.
func (s *servedYears) settle() {
	if s.data = *yearsFolder; s.data == "" {
		s.data = s.b.TempDir()
	}
	ago := *yearsEntries
	if _, err := os.Stat(filepath.Join(s.data, "stillwatch.db")); err == nil {
		ago = 0 // it is filled already
	}
	y := openYears(s.b, s.data, ago)
	if y.reg.NeedsFirstRun() {
		began := time.Now()
		y.fill(*yearsEntries)
		s.b.Logf("filled with %d entries in %v", y.reg.Head().Size, time.Since(began).Round(time.Second))
	}
	s.size = y.reg.Head().Size
	open := y.reg.OpenPermits()
	if len(open) == 0 || open[0].IsOverdue(time.Now()) {
		s.b.Fatalf("nobody is at work in the register in %s, or the authorisation has run out: take an empty folder", s.data)
	}
	s.open = open[0]
	codes, err := y.reg.TagCodes(context.Background(), s.open.ID())
	if err != nil {
		s.b.Fatal(err)
	}
	s.tag = codes[1]
	if err := y.reg.Close(); err != nil {
		s.b.Fatal(err)
	}
}

// start starts the server and returns how long it took until it said that it is well.
func (s *servedYears) start() time.Duration {
	began := time.Now()
	s.cmd = exec.Command(s.program, "serve", "--data", s.data, "--listen", "127.0.0.1:0")
	s.cmd.SysProcAttr = &syscall.SysProcAttr{Pdeathsig: syscall.SIGKILL} // also where the test's own time runs out
	out, err := s.cmd.StdoutPipe()
	if err == nil {
		err = s.cmd.Start()
	}
	if err != nil {
		s.b.Fatal(err)
	}
	s.b.Cleanup(func() { _ = s.cmd.Process.Kill() })
	first, err := bufio.NewReader(out).ReadString('\n')
	if err != nil {
		s.b.Fatalf("the server said nothing: %v", err)
	}
	jar, err := cookiejar.New(nil)
	if err != nil {
		s.b.Fatal(err)
	}
	s.phone = &caller{addressIn(strings.TrimSpace(first)), &http.Client{Jar: jar, Transport: &http.Transport{},
		Timeout:       phonePatience,
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
	s.look(s.b, "/healthz")
	return time.Since(began)
}

func (s *servedYears) stop(b *testing.B) {
	s.phone.http.CloseIdleConnections()
	if err := s.cmd.Process.Signal(syscall.SIGTERM); err != nil {
		b.Fatal(err)
	}
	if err := s.cmd.Wait(); err != nil {
		b.Fatalf("the server ended with %v, want status 0", err)
	}
}

// look asks for a page, which must be there.
func (s *servedYears) look(b *testing.B, path string) {
	resp, err := s.phone.http.Get(s.phone.base + path)
	if err != nil {
		b.Fatal(err)
	}
	_, err = io.Copy(io.Discard, resp.Body)
	_ = resp.Body.Close()
	if err != nil || resp.StatusCode != http.StatusOK {
		b.Fatalf("GET %s = %d, %v, want 200", path, resp.StatusCode, err)
	}
}

func (s *servedYears) signIn() {
	status, err := s.phone.post("/sign-in", url.Values{"person": {string(mateAt(0))}, "pin": {loadPIN}})
	if err != nil || status != http.StatusSeeOther {
		s.b.Fatalf("signing in = %d, %v, want 303", status, err)
	}
}

// servedPage is one page that is measured.
type servedPage struct{ name, path string }

// pages are the pages that read of the register; those that find nothing have to look through the most.
func (s *servedYears) pages() []servedPage {
	old := fmt.Sprint("/permits/", max(1, int64(s.open.ID())/3))
	return []servedPage{
		{"board", "/"},
		{"permits", "/permits"},
		{"permits-old", fmt.Sprint("/permits?before=", int64(s.open.ID())/2)},
		{"permits-in-a-state-of-none", "/permits?state=cancelled"},
		{"permits-with-words-of-none", "/permits?text=nothing+of+the+sort"},
		{"permit", fmt.Sprint("/permits/", s.open.ID())},
		{"permit-old", old},
		{"permit-old-plan", old + "/plan"},
		{"permit-old-pdf", old + "/permit.pdf"},
		{"tag", "/T/" + s.tag.Text()},
		{"log", "/log"},
		{"log-old", fmt.Sprint("/log?before=", s.size/2)},
		{"log-of-a-permit-and-point", "/log?point=V1-0&permit=" + strings.TrimPrefix(old, "/permits/")},
		{"log-of-a-permit", "/log?permit=" + strings.TrimPrefix(old, "/permits/")},
		{"log-of-a-point", "/log?point=V1-0"},
		{"log-of-a-point-and-kind", "/log?point=V1-0&kind=check+lock"},
		{"log-of-a-point-and-kind-of-none", "/log?point=V1-0&kind=record+passing"},
		{"log-of-a-person", "/log?person=oow"},
		{"log-of-a-person-and-kind", "/log?person=mate-0&kind=sign+on"},
		{"log-of-a-person-and-kind-of-none", "/log?person=oow&kind=sign+on"},
		{"log-of-a-person-and-point", "/log?person=fitter-0&point=V1-0"},
		{"log-of-a-kind", "/log?kind=close"},
		{"log-of-a-kind-of-locks", "/log?kind=remove+lock"},
		{"log-of-a-kind-of-one", "/log?kind=adopt+plant"},
		{"log-of-a-kind-of-none", "/log?kind=suspend"},
		{"entry-old", fmt.Sprint("/entries/", s.size/3)},
		{"points", "/points"},
		{"point", "/points/V1-0"},
		{"people", "/people"},
		{"handover-pdf", "/handover.pdf"},
	}
}

// measureOpen starts and stops the server again and again.
func (s *servedYears) measureOpen(b *testing.B) {
	var took time.Duration
	for b.Loop() {
		took += s.start()
		b.StopTimer()
		s.stop(b)
		b.StartTimer()
	}
	b.ReportMetric(took.Seconds()*1000/float64(b.N), "ms/open")
	b.ReportMetric(0, "ns/op")
}

// measurePage asks for a page again and again.
func (s *servedYears) measurePage(b *testing.B, path string) {
	var took []time.Duration
	used := s.used(b)
	for b.Loop() {
		began := time.Now()
		s.look(b, path)
		took = append(took, time.Since(began))
	}
	b.ReportMetric((s.used(b)-used)*1000/float64(b.N), "cpu-ms")
	slices.Sort(took)
	b.ReportMetric(quantile(took, .5).Seconds()*1000, "p50-ms")
	b.ReportMetric(quantile(took, .99).Seconds()*1000, "p99-ms")
	b.ReportMetric(0, "ns/op")
}

// actsRest is how long somebody rests who signs on and off while the board is measured.
const actsRest = 20 * time.Millisecond

// measureBusyBoard asks for the board while somebody signs on and off.
func (s *servedYears) measureBusyBoard(b *testing.B) {
	over, ended := make(chan struct{}), make(chan int)
	go func() {
		acts := 0
		defer func() { ended <- acts }()
		for work := fmt.Sprint("/permits/", s.open.ID()); ; acts++ {
			select {
			case <-over:
				if acts%2 == 0 { // nobody stays at work
					return
				}
			case <-time.After(actsRest):
			}
			act := []string{"/sign-on", "/sign-off"}[acts%2]
			status, err := s.phone.post(work+act, url.Values{"act_id": {rand.Text()}, "pin": {loadPIN}})
			if err != nil || status != http.StatusSeeOther {
				b.Errorf("POST %s = %d, %v, want 303", work+act, status, err)
				return
			}
		}
	}()
	s.measurePage(b, "/")
	close(over)
	b.ReportMetric(float64(<-ended)/b.Elapsed().Seconds(), "acts/s")
}

// measureVerify runs the verification beside the server.
func (s *servedYears) measureVerify(b *testing.B) {
	most, used := 0.0, 0.0
	for b.Loop() {
		cmd := exec.Command(s.program, "log", "verify", "--data", s.data)
		if said, err := cmd.CombinedOutput(); err != nil {
			b.Fatalf("log verify = %v\n%s", err, said)
		}
		used += (cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Seconds()
		if usage, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage); ok {
			most = max(most, float64(usage.Maxrss)/1024)
		}
	}
	b.ReportMetric(float64(s.size)*float64(b.N)/b.Elapsed().Seconds(), "entries/s")
	b.ReportMetric(used*1e6/float64(s.size)/float64(b.N), "cpu-µs/entry")
	b.ReportMetric(most, "MB-at-most")
	b.ReportMetric(0, "ns/op")
}

// measureMemory tells what the server holds now and held at most.
func (s *servedYears) measureMemory(b *testing.B) {
	text, err := os.ReadFile(fmt.Sprint("/proc/", s.cmd.Process.Pid, "/status"))
	if err != nil {
		b.Fatal(err)
	}
	for name, unit := range map[string]string{"VmRSS:": "MB", "VmHWM:": "MB-at-most"} {
		_, rest, _ := strings.Cut(string(text), name)
		kb, _, _ := strings.Cut(strings.TrimSpace(rest), " ")
		n, err := strconv.ParseFloat(kb, 64)
		if err != nil {
			b.Fatalf("the system does not tell %s of the server", name)
		}
		b.ReportMetric(n/1024, unit)
	}
	b.ReportMetric(0, "ns/op")
}

// used returns the processor time that the server has used so far, in seconds.
func (s *servedYears) used(b *testing.B) float64 {
	text, err := os.ReadFile(fmt.Sprint("/proc/", s.cmd.Process.Pid, "/stat"))
	if err != nil {
		b.Fatal(err)
	}
	var user, system float64
	_, rest, _ := strings.Cut(string(text), ") ")
	if fields := strings.Fields(rest); len(fields) > 12 {
		user, _ = strconv.ParseFloat(fields[11], 64)
		system, _ = strconv.ParseFloat(fields[12], 64)
	}
	return (user + system) / 100 // clock ticks: a hundredth of a second on every Linux that Go runs on
}
