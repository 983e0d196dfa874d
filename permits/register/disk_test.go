package register

import (
	"bytes"
	"context"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

func nilLabels() permits.Act { return permits.HangLabels{Labels: labelsFor("V1")} }

func notices(a *aboard, kind NoticeKind) []Notice {
	var out []Notice
	for _, n := range a.Notices(context.Background()) {
		if n.Kind == kind {
			out = append(out, n)
		}
	}
	return out
}

func TestFullDiskIsToldAndLosesNothingThatWasAnswered(t *testing.T) {
	a := manned(t)
	kept := a.must(0, nilLabels(), officer.ID)
	a.exec("PRAGMA max_page_count = 1") // the file may not grow any more
	d := Doing{ID: a.NewActID(), Act: permits.RecordPassing{Point: "V1", Words: strings.Repeat("weeps ", 80)}, By: mate.ID}
	var err error
	for range 50 { // the file's free pages are used up first
		if _, err = a.Do(context.Background(), d); err != nil {
			break
		}
		d.ID = a.NewActID()
	}
	if !errors.Is(err, ErrNotKept) {
		t.Fatalf("Do(on a full disk) = %v, want ErrNotKept", err)
	}
	size := a.Head().Size
	if got := notices(a, NoticeDisk); len(got) != 1 || !strings.Contains(got[0].Words, "full") {
		t.Errorf("Notices() = %v, want one that the disk is full", got)
	}
	if e, err := a.Entry(context.Background(), kept.Entry.N); err != nil || e.ActID != kept.Entry.ActID {
		t.Errorf("Entry(%d) on a full disk = %v, %v, want what was answered", kept.Entry.N, e, err)
	}
	a.exec("PRAGMA max_page_count = 1000000")
	got, err := a.Do(context.Background(), d)
	if err != nil || got.Repeated || got.Entry.N != size {
		t.Errorf("the same act sent again = entry %d, %v, want entry %d done now", got.Entry.N, err, size)
	}
	if got := notices(a, NoticeDisk); len(got) != 0 {
		t.Errorf("Notices() after room was made = %v, want none of the disk", got)
	}
	if r := verified(t, a.dir); !r.OK() {
		t.Errorf("Verify() = %v, want whole", r.Faults)
	}
}

func TestDiskThatCannotBeWrittenIsTold(t *testing.T) {
	a := manned(t)
	// SQLite returns the same error as for a read-only disk
	a.exec("PRAGMA query_only = 1")
	if _, err := a.try(0, nilLabels(), officer.ID); !errors.Is(err, ErrNotKept) {
		t.Fatalf("Do(on a read-only disk) = %v, want ErrNotKept", err)
	}
	if got := notices(a, NoticeDisk); len(got) != 1 || !strings.Contains(got[0].Words, "not written") {
		t.Errorf("Notices() = %v, want one that the disk cannot be written", got)
	}
	if len(a.OpenPermits()) != 0 || a.Ship().People[mate.ID].ID == "" {
		t.Error("what was recorded cannot be read any more")
	}
	a.exec("PRAGMA query_only = 0")
	a.must(0, nilLabels(), officer.ID)
}

func TestLostFolderIsToldAndNothingIsAnsweredInIt(t *testing.T) {
	a := manned(t)
	away := a.dir + "-away"
	if err := os.Rename(a.dir, away); err != nil {
		t.Skip("this system does not let a folder in use be moved")
	}
	if _, err := a.try(0, nilLabels(), officer.ID); !errors.Is(err, ErrNotKept) {
		t.Errorf("Do(in a lost folder) = %v, want ErrNotKept", err)
	}
	if got := notices(a, NoticeDisk); len(got) != 1 || !strings.Contains(got[0].Words, "lost") {
		t.Errorf("Notices() = %v, want one that the folder was lost", got)
	}
	if err := os.Rename(away, a.dir); err != nil {
		t.Fatal(err)
	}
	a.must(0, nilLabels(), officer.ID)
	if r := verified(t, a.dir); !r.OK() {
		t.Errorf("Verify() = %v, want whole", r.Faults)
	}
}

func TestLogWrittenByAnotherProcessIsNotOverwritten(t *testing.T) {
	a := manned(t)
	a.exec("UPDATE head SET size = size + 3")
	if _, err := a.try(0, nilLabels(), officer.ID); !errors.Is(err, ErrNotKept) {
		t.Errorf("Do(after another process wrote) = %v, want ErrNotKept", err)
	}
}

func TestClockThatWentBackIsTold(t *testing.T) {
	a := manned(t)
	if got := notices(a, NoticeClock); len(got) != 0 {
		t.Fatalf("Notices() = %v, want none of the clock", got)
	}
	a.setClock(-3 * time.Hour)
	a.must(0, nilLabels(), officer.ID)
	a.reopen()
	if got := notices(a, NoticeClock); len(got) != 1 || !strings.Contains(got[0].Words, "180 minutes") {
		t.Errorf("Notices() after the clock went back = %v, want one that says 180 minutes", got)
	}
	if r := verified(t, a.dir); !r.OK() {
		t.Errorf("Verify() = %v, want whole: the order is by number", r.Faults)
	}
	a.wait(4 * time.Hour)
	if got := notices(a, NoticeClock); len(got) != 0 {
		t.Errorf("Notices() when the clock is right again = %v, want none", got)
	}
}

func TestBackupWhileRunningRestoresToTheSame(t *testing.T) {
	a := busy(t)
	ctx := context.Background()
	file := filepath.Join(t.TempDir(), "copy.db")
	stop, done := make(chan struct{}), make(chan error, 1)
	go func() {
		for {
			select {
			case <-stop:
				done <- nil
				return
			default:
			}
			if _, err := a.try(0, nilLabels(), officer.ID); err != nil {
				done <- err
				return
			}
		}
	}()
	report, err := Backup(ctx, a.dir, file, a.clock())
	close(stop)
	if e := <-done; err != nil || e != nil {
		t.Fatalf("Backup(while acts go on) = %v, acts %v", err, e)
	}
	if _, err := Backup(ctx, a.dir, file, a.clock()); err == nil {
		t.Error("a second Backup into the same file = nil, want an error: it never overwrites")
	}
	to := filepath.Join(t.TempDir(), "new")
	if _, err := Restore(ctx, file, to); err != nil {
		t.Fatalf("Restore() = %v", err)
	}
	if _, err := Restore(ctx, file, to); err == nil {
		t.Error("a second Restore into the same folder = nil, want an error")
	}
	r, err := Open(ctx, to, a.options())
	if err != nil {
		t.Fatal(err)
	}
	if got := r.Head(); got.Size != report.Entries || got.Hash != report.Head.Hash {
		t.Errorf("restored head = %d %s, want %d %s", got.Size, got.Hash, report.Entries, report.Head.Hash)
	}
	if err := r.pins.verify(context.Background(), mate.ID, pinOf(mate.ID), elsewhere); err != nil {
		t.Errorf("VerifyPIN() after restoring = %v, want taken", err)
	}
	if r.PublicKey() != a.PublicKey() {
		t.Error("the restored register has another key")
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	left, err := filepath.Glob(filepath.Join(filepath.Dir(file), ".checking-*"))
	if err != nil || len(left) != 0 {
		t.Errorf("the check of the copy left %v behind", left)
	}
}

func TestBrokenBackupIsNotRestored(t *testing.T) {
	a := busy(t)
	ctx := context.Background()
	file := filepath.Join(t.TempDir(), "copy.db")
	if _, err := Backup(ctx, a.dir, file, a.clock()); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	i := bytes.Index(text, []byte("Change the shaft seal"))
	text[i] ^= 1
	if err := os.WriteFile(file, text, 0o600); err != nil {
		t.Fatal(err)
	}
	to := filepath.Join(t.TempDir(), "new")
	if _, err := Restore(ctx, file, to); err == nil {
		t.Error("Restore(a broken copy) = nil, want an error")
	}
	if there, _ := exists(filepath.Join(to, store.File)); there {
		t.Error("the broken copy was put into the folder all the same")
	}
}

func TestMissingAndOldBackupsAreTold(t *testing.T) {
	a := manned(t)
	if got := notices(a, NoticeBackup); len(got) != 0 {
		t.Errorf("Notices() on the first day = %v, want none of backups", got)
	}
	a.wait(8 * 24 * time.Hour)
	if got := notices(a, NoticeBackup); len(got) != 1 || !strings.Contains(got[0].Words, "never") {
		t.Errorf("Notices() after eight days = %v, want one that there was never a backup", got)
	}
	if _, err := Backup(context.Background(), a.dir, filepath.Join(t.TempDir(), "copy"), a.clock()); err != nil {
		t.Fatal(err)
	}
	if got := notices(a, NoticeBackup); len(got) != 0 {
		t.Errorf("Notices() after a backup = %v, want none", got)
	}
	a.wait(8 * 24 * time.Hour)
	if got := notices(a, NoticeBackup); len(got) != 1 {
		t.Errorf("Notices() with an old backup = %v, want one", got)
	}
}
