package main

import (
	"bytes"
	"context"
	"errors"
	"io"
	"log/slog"
	"net"
	"net/http"
	"os"
	"os/exec"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"stillwatch/cmd/stillwatch/demo"
	"stillwatch/cmd/stillwatch/line"
	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/web"
)

// testShip is the real server over a real register in a folder of its own, with the demo's crew and plant. When its
// test ends the server is stopped and the log must verify.
type testShip struct {
	t    testing.TB
	dir  string
	base string
	reg  *register.Register
	stop func() // ends the server and closes the register; twice is once

	ahead atomic.Int64 // how far the ship's clock is ahead of the true one, ns
}

// now is the ship's clock.
func (s *testShip) now() time.Time { return time.Now().Add(time.Duration(s.ahead.Load())) }

// wait puts the ship's clock forward.
func (s *testShip) wait(d time.Duration) { s.ahead.Add(int64(d)) }

// setSail starts a ship. PINs cost little there, because nothing depends on how long a guess takes.
func setSail(t testing.TB) *testShip {
	t.Helper()
	s := &testShip{t: t, dir: t.TempDir()}
	ctx, cancel := context.WithCancel(context.Background())
	began := time.Now()
	logger := slog.New(slog.DiscardHandler)
	var err error
	s.reg, err = register.Open(ctx, s.dir, register.Options{Now: s.now, Logger: logger,
		Uptime: func() time.Duration { return time.Since(began) + time.Duration(s.ahead.Load()) },
		Argon:  register.Argon{MemoryKiB: 64, Iterations: 1, Parallelism: 1}})
	if err != nil {
		t.Fatal(err)
	}
	if err := demo.Seed(ctx, s.reg); err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s.base = line.BaseURL(l)
	server, err := web.New(s.reg, web.Config{BaseURL: s.base, Hosts: line.HostList(s.base, ""), DemoPINs: demo.DemoPINs(),
		Version: "test", Logger: logger, Now: s.now})
	if err != nil {
		t.Fatal(err)
	}
	served := make(chan error, 1)
	go func() { served <- server.Serve(ctx, l) }()
	stopped := false
	s.stop = func() {
		if stopped {
			return
		}
		stopped = true
		cancel()
		if err := <-served; err != nil && !errors.Is(err, http.ErrServerClosed) {
			t.Errorf("Serve() = %v, want it to end quietly", err)
		}
		if err := s.reg.Close(); err != nil {
			t.Errorf("Close() = %v, want nil", err)
		}
	}
	t.Cleanup(func() {
		s.stop()
		s.verify()
	})
	return s
}

// verify wants the log whole, as an inspector would find it.
func (s *testShip) verify() {
	s.t.Helper()
	var out, errOut bytes.Buffer
	if got := run([]string{"log", "verify", "--data", s.dir}, &out, &errOut); got != 0 {
		s.t.Errorf("log verify = %d, want 0: %s%s", got, out.String(), errOut.String())
	}
}

// shipClock is the ship's clock as the crew turns it: only ever on.
type shipClock struct{ s *testShip }

func (c shipClock) Now() time.Time { return c.s.now() }

func (c shipClock) Pass(d time.Duration) { c.s.ahead.Add(int64(d)) }

func (c shipClock) Until(time.Duration) {}

// drive is the crew with their browsers, signed in.
func (s *testShip) drive() *demo.Drive {
	s.t.Helper()
	d := &demo.Drive{Ctx: context.Background(), Out: io.Discard, Reg: s.reg, Clock: shipClock{s}, Base: s.base}
	d.SignIn()
	s.went(d)
	return d
}

// went wants everything that was driven so far to have gone as it should.
func (s *testShip) went(d *demo.Drive) {
	s.t.Helper()
	if d.Err != nil {
		s.t.Fatal(d.Err)
	}
}

// tags returns the addresses of a permit's tags by step, as they stand in the codes.
func (s *testShip) tags(id permits.PermitID) map[int]string {
	s.t.Helper()
	codes, err := s.reg.TagCodes(context.Background(), id)
	if err != nil {
		s.t.Fatal(err)
	}
	out := map[int]string{}
	for n, code := range codes {
		out[n] = "/T/" + code.Text()
	}
	return out
}

// permit returns a permit as the register has it.
func (s *testShip) permit(id permits.PermitID) permits.Permit {
	s.t.Helper()
	p, err := s.reg.Permit(context.Background(), id)
	if err != nil {
		s.t.Fatal(err)
	}
	return p
}

// needProgram finds a program for a test, under any of its names. Without it the test is skipped with a plain message;
// in CI it fails, because there a missing witness must be noticed.
func needProgram(t testing.TB, names ...string) string {
	t.Helper()
	for _, name := range names {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	if os.Getenv("CI") == "true" {
		t.Fatalf("%s is not installed, and CI=true asks for it", strings.Join(names, " or "))
	}
	t.Skipf("%s is not installed: install it to run this test too", strings.Join(names, " or "))
	return ""
}
