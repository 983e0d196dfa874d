package register

import (
	"bufio"
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"stillwatch/permits/register/store"
)

var crashRounds = flag.Int("crash.rounds", 5, "how often the crash test kills a register under load")

const (
	// crashDir tells a child process of the crash test where its register lies.
	crashDir = "STILLWATCH_CRASH_DIR"
	// crashWithin bounds the whole crash test, and childWithin one child, so that a register that hangs is a failure.
	crashWithin = 20 * time.Minute
	childWithin = 2 * time.Minute
	// mostLines is how many lines a child says at most before it is killed. The load is counted in lines and not in
	// milliseconds, so that a slow machine sees as much of it as a quick one.
	mostLines = 1600
)

// TestMain is also the child process of the crash test.
func TestMain(m *testing.M) {
	if dir := os.Getenv(crashDir); dir != "" {
		if err := json.NewEncoder(os.Stdout).Encode(said{Failed: underLoad(dir).Error()}); err != nil {
			fmt.Fprintln(os.Stderr, err)
		}
		os.Exit(1)
	}
	os.Exit(m.Run())
}

// A register is killed without warning, again and again, while twelve phones scan tags. Whatever it answered is there
// afterwards, at the place that it said; whatever it did not answer is there whole or not at all, and may be sent
// again; the log is whole and has only grown.
//
// A kill takes away the process and nothing else: what it had handed to the system still reaches the disk. What a loss
// of power does is the matter of TestTornWriteAheadLogLeavesAWholeLog and of the disk's own promises.
func TestKilledRegisterKeepsWhatItAnswered(t *testing.T) {
	began, within := time.Now(), crashWithin
	if end, ok := t.Deadline(); ok {
		within = min(within, time.Until(end)-10*time.Second)
	}
	ctx, cancel := context.WithTimeout(t.Context(), within)
	defer cancel()
	a := manned(t)
	c := newCrash(t, a)
	defer func() {
		if ctx.Err() != nil {
			t.Errorf("the test did not end within %s: it had come to round %d of %d", within, c.round, crashTimes())
		}
	}()
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	for c.round = range crashTimes() {
		c.afterKill(ctx, rand.IntN(4) == 0)
		if t.Failed() {
			t.FailNow() // what comes after a register that is not whole says nothing
		}
	}
	t.Logf("%s; %.0f s", c.count, time.Since(began).Seconds())
	c.count.sawEnough(t)
}

// crashTimes is how often the register is killed: twice with -short, as under the race detector.
func crashTimes() int {
	if testing.Short() {
		return min(*crashRounds, 2)
	}
	return *crashRounds
}

// afterKill kills a child under load, and if asked another one while it opens what the first left behind, and then
// looks at all that there is.
func (c *crash) afterKill(ctx context.Context, twice bool) {
	c.t.Helper()
	c.begin()
	c.kill(ctx, 1+rand.IntN(mostLines))
	if twice {
		c.kill(ctx, 0)
	}
	report, err := Verify(ctx, c.a.dir)
	if err != nil || !report.OK() {
		c.t.Fatalf("round %d: Verify() after the kill = %v, %v, want no faults", c.round, report.Faults, err)
	}
	r, err := Open(ctx, c.a.dir, Options{Argon: quick})
	if err != nil {
		c.t.Fatalf("round %d: Open() after the kill = %v", c.round, err)
	}
	c.a.Register = r
	c.onlyGrown(ctx)
	c.look(ctx)
	c.sendAgain(ctx)
	c.look(ctx)
	if c.round == crashTimes()-1 {
		c.everythingAnsweredIsThere(ctx)
	}
	c.head = r.Head()
	if err := r.Close(); err != nil {
		c.t.Fatal(err)
	}
}

// kill runs a child and kills it: at a random moment after so many of its lines, or, after none, while it opens the
// register.
func (c *crash) kill(ctx context.Context, lines int) {
	c.t.Helper()
	ctx, cancel := context.WithTimeout(ctx, childWithin)
	defer cancel()
	child := exec.CommandContext(ctx, os.Args[0])
	child.Env = append(os.Environ(), crashDir+"="+c.a.dir)
	var complaints bytes.Buffer // a panic, a race, what the register logs as an error
	child.Stderr = &complaints
	out, err := child.StdoutPipe()
	if err != nil {
		c.t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		c.t.Fatal(err)
	}
	var killed atomic.Bool
	kill := func(within time.Duration) {
		time.AfterFunc(rand.N(within), func() {
			killed.Store(true)
			child.Process.Kill()
		})
	}
	if lines == 0 {
		kill(40 * time.Millisecond)
	}
	read := bufio.NewReader(out)
	for n := 1; ; n++ {
		line, err := read.ReadBytes('\n')
		if err != nil { // a line that was cut short by the kill was not said
			if !errors.Is(err, io.EOF) {
				c.t.Errorf("round %d: read what the child says: %v", c.round, err)
			}
			break
		}
		c.hear(line)
		if n == lines {
			kill(5 * time.Millisecond)
		}
	}
	if err := child.Wait(); err == nil || !killed.Load() || complaints.Len() > 0 {
		c.t.Fatalf("round %d: the child ended within %s with %v, killed by its turn: %t, and complained %q; want it "+
			"killed, and quiet", c.round, childWithin, err, killed.Load(), complaints.String())
	}
	c.count.kills++
	if lines == 0 {
		c.count.opening++
	}
}

// A write-ahead log that was torn by a loss of power: whatever its last commits were, what is there is whole and can
// go on. (Commits that the disk had confirmed are then lost with the disk's own lie; the signed head still fits.)
func TestTornWriteAheadLogLeavesAWholeLog(t *testing.T) {
	a := busy(t)
	var files [3][]byte
	names := []string{store.File, store.File + "-wal", keyFile}
	for i, name := range names {
		var err error
		if files[i], err = os.ReadFile(filepath.Join(a.dir, name)); err != nil {
			t.Fatal(err)
		}
	}
	pepper, err := os.ReadFile(filepath.Join(a.dir, pepperFile))
	if err != nil {
		t.Fatal(err)
	}
	wal := files[1]
	if len(wal) == 0 {
		t.Fatal("there is no write-ahead log to tear")
	}
	for _, part := range []float64{0.3, 0.7, 0.9, 0.99, 0.9999} {
		dir := t.TempDir()
		torn := append([]byte(nil), wal[:int(part*float64(len(wal)))]...)
		torn = append(torn, make([]byte, 300)...) // the disk had grown the file but not filled it
		for name, text := range map[string][]byte{store.File: files[0], store.File + "-wal": torn, keyFile: files[2],
			pepperFile: pepper} {
			if err := os.WriteFile(filepath.Join(dir, name), text, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		r, err := Open(context.Background(), dir, a.options())
		if err != nil {
			t.Errorf("Open(torn after %g of the log) = %v", part, err)
			continue
		}
		if err := r.Close(); err != nil {
			t.Fatal(err)
		}
		if report := verified(t, dir); !report.OK() {
			t.Errorf("Verify(torn after %g of the log) = %v, want whole", part, report.Faults)
		}
	}
}
