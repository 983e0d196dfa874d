package register

import (
	"bufio"
	"context"
	"flag"
	"fmt"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"stillwatch/permits"
)

var crashRounds = flag.Int("crash.rounds", 5, "how often the crash test kills a register under load")

// crashDir tells a child process of the crash test where its register lies.
const crashDir = "STILLWATCH_CRASH_DIR"

// TestMain is also the child process of the crash test.
func TestMain(m *testing.M) {
	if dir := os.Getenv(crashDir); dir != "" {
		if err := underLoad(dir); err != nil {
			fmt.Println("failed", err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(m.Run())
}

// underLoad does acts from many phones until somebody kills the process, and says of each on its own line what it is
// about to do, and that it was answered, with the number of its entry.
func underLoad(dir string) error {
	r, err := Open(context.Background(), dir, Options{Argon: quick})
	if err != nil {
		return err
	}
	var say sync.Mutex
	tell := func(format string, args ...any) {
		say.Lock()
		defer say.Unlock()
		fmt.Printf(format, args...)
	}
	var phones sync.WaitGroup
	for range 12 {
		phones.Go(func() {
			for i := 0; ; i++ {
				d := loadAct(r, i)
				tell("try %s\n", d.ID)
				got, err := r.Do(context.Background(), d)
				if err != nil {
					tell("failed %v\n", err)
					return
				}
				tell("answered %s %d\n", d.ID, got.Entry.N)
			}
		})
	}
	phones.Wait()
	return nil
}

// loadAct gives an act of some sort: of the ship, of the one permit, signed or not.
func loadAct(r *Register, i int) Doing {
	d := Doing{ID: r.NewActID(), By: mate.ID, PIN: pinOf(mate.ID)}
	switch i % 3 {
	case 0:
		d.Act = permits.RecordPassing{Point: "V1", Words: "weeps " + string(d.ID)}
	case 1:
		d.Act, d.By, d.PIN = permits.HangLabels{Labels: labelsFor("V2")}, officer.ID, ""
	default:
		d.Act, d.By, d.Permit, d.PIN = permits.Extend{Hours: 10}, officer.ID, 1, pinOf(officer.ID)
	}
	return d
}

// A register is killed without warning, again and again, while twelve phones act. Whatever it answered is there
// afterwards, at the place that it said; whatever it did not answer is there whole or not at all; the log is whole.
func TestKilledRegisterKeepsWhatItAnswered(t *testing.T) {
	a := manned(t)
	id := a.request()
	a.must(id, permits.Authorise{Hours: 12}, officer.ID)
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	everAnswered := map[string]int64{}
	tried := map[string]bool{}
	for round := range *crashRounds {
		answered := map[string]int64{}
		killOnce(t, a.dir, tried, answered)
		maps.Copy(everAnswered, answered)
		if round == *crashRounds-1 {
			answered = everAnswered // at the end all of them again
		}
		report := verified(t, a.dir)
		if !report.OK() {
			t.Fatalf("round %d: Verify() after the kill = %v, want no faults", round, report.Faults)
		}
		r, err := Open(context.Background(), a.dir, a.options())
		if err != nil {
			t.Fatalf("round %d: Open() after the kill = %v", round, err)
		}
		a.Register = r
		compareWithLog(t, a, round, tried, answered)
		if err := r.Close(); err != nil {
			t.Fatal(err)
		}
	}
	t.Logf("%d rounds, %d acts tried, %d answered", *crashRounds, len(tried), len(everAnswered))
	if len(everAnswered) == 0 {
		t.Error("no act was answered before a kill: the test tried nothing")
	}
}

// killOnce runs a child under load and kills it at a random moment.
func killOnce(t *testing.T, dir string, tried map[string]bool, answered map[string]int64) {
	t.Helper()
	child := exec.Command(os.Args[0])
	child.Env = append(os.Environ(), crashDir+"="+dir)
	out, err := child.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := child.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	var kill sync.Once
	for lines.Scan() {
		kill.Do(func() { // the load has begun
			time.AfterFunc(time.Duration(20+rand.IntN(250))*time.Millisecond, func() { child.Process.Kill() })
		})
		var id string
		var n int64
		switch line := lines.Text(); {
		case strings.HasPrefix(line, "failed"):
			t.Errorf("the child %s", line)
		case strings.HasPrefix(line, "try "):
			tried[strings.TrimPrefix(line, "try ")] = true
		default:
			if _, err := fmt.Sscanf(line, "answered %s %d", &id, &n); err == nil {
				answered[id] = n
			}
		}
	}
	if err := child.Wait(); err == nil {
		t.Error("the child ended by itself before it was killed")
	}
}

// compareWithLog looks for every answered act at its place, and for acts that nobody tried.
func compareWithLog(t *testing.T, a *aboard, round int, tried map[string]bool, answered map[string]int64) {
	t.Helper()
	ctx := context.Background()
	for id, n := range answered {
		e, err := a.Entry(ctx, n)
		if err != nil || string(e.ActID) != id {
			t.Errorf("round %d: entry %d is of act %s, %v, want the answered act %s", round, n, e.ActID, err, id)
		}
	}
	after := a.Head().Size - 2000 // of the last rounds
	for {
		list, err := a.Entries(ctx, EntryQuery{Kind: permits.KindRecordPassing, After: &after, Limit: 1000})
		if err != nil {
			t.Fatal(err)
		}
		for _, e := range list {
			if !tried[string(e.ActID)] {
				t.Errorf("round %d: entry %d is of an act that nobody tried", round, e.N)
			}
			after = e.N
		}
		if len(list) < 1000 {
			break
		}
	}
	labels, err := a.LabelCodes(ctx)
	if want := len(a.Ship().Labels); err != nil || len(labels) != want {
		t.Errorf("round %d: %d labels have codes, %v, want %d", round, len(labels), err, want)
	}
}

// A write-ahead log that was torn by a loss of power: whatever its last commits were, what is there is whole and can
// go on. (Commits that the disk had confirmed are then lost with the disk's own lie; the signed head still fits.)
func TestTornWriteAheadLogLeavesAWholeLog(t *testing.T) {
	a := busy(t)
	var files [3][]byte
	names := []string{databaseFile, databaseFile + "-wal", keyFile}
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
		for name, text := range map[string][]byte{databaseFile: files[0], databaseFile + "-wal": torn, keyFile: files[2], pepperFile: pepper} {
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
