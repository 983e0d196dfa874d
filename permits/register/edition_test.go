package register

import (
	"bytes"
	"compress/gzip"
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"stillwatch/permits"
)

// keptLog reads a log that was written and exported by the program of an earlier day, with the public half of its key.
// Once edition 2 is on ships it is never written anew: that it stays whole when gates or physics change is what it is
// for.
func keptLog(t *testing.T, name string) (log []byte, key string) {
	t.Helper()
	file, err := os.Open(filepath.Join("testdata", name+".jsonl.gz"))
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	in, err := gzip.NewReader(file)
	if err != nil {
		t.Fatal(err)
	}
	if log, err = io.ReadAll(in); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(filepath.Join("testdata", name+".key"))
	if err != nil {
		t.Fatal(err)
	}
	return log, strings.TrimSpace(string(text))
}

// stricter is today's editions and one more, in which no technician checks a lock: a gate that the kept log did not
// meet.
func stricter() []permits.Judge {
	first := permits.Judges()
	return append(first, permits.Judge{Edition: first[len(first)-1].Edition + 1,
		Adds: map[permits.Kind]func(permits.Setting, permits.Permit, permits.PermitAct) error{
			permits.KindCheckLock: func(s permits.Setting, _ permits.Permit, _ permits.PermitAct) error {
				if s.Actor().Has(permits.Technician) {
					return &permits.Refusal{Kind: permits.Refused, Gate: "check lock", What: "A technician checks no lock any more."}
				}
				return nil
			}}})
}

// TestAnOldLogStaysWholeWhenAGateChanges holds the log of an earlier day to today's program, to one with a stricter
// gate behind a new edition, and to one that would judge the old entries by the new gate.
func TestAnOldLogStaysWholeWhenAGateChanges(t *testing.T) {
	log, key := keptLog(t, "edition-2")
	for name, judges := range map[string][]permits.Judge{"today": permits.Judges(), "a later edition": stricter()} {
		report, err := checkBy(context.Background(), bytes.NewReader(log), key, judges)
		if err != nil || !report.OK() || report.Entries < 100 || report.Permits < 2 {
			t.Errorf("%s: the kept log has %d entries, %d permits, %v, %v; want it whole", name, report.Entries, report.Permits,
				report.Faults, err)
		}
	}
	backdated := stricter()[len(permits.Judges()):]
	backdated[0].Edition = permits.FirstEdition
	report, err := checkBy(context.Background(), bytes.NewReader(log), key, backdated)
	if err != nil || report.OK() {
		t.Errorf("judged by the later gate, the kept log is whole, %v: the gate bites nothing", err)
	}
}

// TestALaterEditionJudgesFromWhereItIsAdopted opens a register with a program that has a later edition: what was done
// stays done, the new gate holds from then on, and a program without the edition does not open the log again.
func TestALaterEditionJudgesFromWhereItIsAdopted(t *testing.T) {
	a := manned(t)
	id := a.request()
	a.fitted(id)
	a.must(id, permits.CheckLock{N: 1}, mate.ID)
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	o := a.options()
	o.judges = stricter()
	r, err := Open(context.Background(), a.dir, o)
	if err != nil {
		t.Fatal(err)
	}
	a.Register = r
	if got, want := r.Ship().Edition(), o.judges[len(o.judges)-1].Edition; got != want {
		t.Errorf("the log is judged by edition %d, want %d", got, want)
	}
	if no := refusal(t, second2(a.try(id, permits.CheckLock{N: 2}, mate.ID))); no.Gate != "check lock" {
		t.Errorf("a technician's check behind the new edition = %s %q, want the new gate's refusal", no.Gate, no.What)
	}
	a.must(id, permits.CheckLock{N: 2}, officer.ID)
	if report, err := verifyBy(context.Background(), a.dir, stricter()); err != nil || !report.OK() {
		t.Errorf("verify = %v, %v, want the log whole across the two editions", report.Faults, err)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	if r, err := Open(context.Background(), a.dir, a.options()); !errors.Is(err, ErrNewer) {
		t.Errorf("Open() by a program without the edition = %v, want ErrNewer", err)
		a.Register = r
	}
}
