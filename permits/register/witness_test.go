package register

import (
	"context"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"stillwatch/permits"
)

// rolledBack is a register of which an older copy was put back after work had gone on, with the folder of its witness.
func rolledBack(t *testing.T) (a *aboard, witness string, newest Head) {
	t.Helper()
	a = manned(t)
	a.witness = t.TempDir()
	a.reopen()
	id := a.request()
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	old := copyOf(t, a.dir)
	a.open()
	a.fitted(id)
	newest = a.Head()
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	if err := os.RemoveAll(a.dir); err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(a.dir, os.DirFS(old)); err != nil {
		t.Fatal(err)
	}
	return a, a.witness, newest
}

// TestAnOlderCopyIsTold puts an older copy of the data folder back: the board tells it, verifying with the witness
// tells it, nothing leads on to work, the witness keeps what it knows, and the chief engineer's acceptance ends it for
// good.
func TestAnOlderCopyIsTold(t *testing.T) {
	a, witness, newest := rolledBack(t)
	if c, err := Witnessed(context.Background(), a.dir, witness); err != nil || c == nil || c.Head.Size != newest.Size {
		t.Errorf("Witnessed() = %+v, %v, want the head of %d entries", c, err, newest.Size)
	}
	a.open()
	n := noticeOf(t, a, NoticeLost)
	if n == nil || n.Head.Size != newest.Size || !strings.Contains(n.Words, "older") {
		t.Fatalf("the officer is told %+v, want of an older register", n)
	}
	if no := refusal(t, second2(a.try(1, permits.Authorise{Hours: 8}, officer.ID))); !strings.Contains(no.What, "older") {
		t.Errorf("authorise on an older register = %q, want refused for it", no.What)
	}
	a.reopen() // closing must not have taught the witness the shorter log
	if n := noticeOf(t, a, NoticeLost); n == nil {
		t.Error("after a restart nobody is told any more")
	}
	accept := permits.AcceptLoss{Size: newest.Size, Hash: newest.Hash, Words: "the disk died; every lock was looked at"}
	if no := refusal(t, second2(a.try(0, accept, officer.ID))); no.Kind != permits.Forbidden {
		t.Errorf("an officer accepted the loss: %q", no.What)
	}
	other := accept
	other.Size++
	if no := refusal(t, second2(a.try(0, other, chief.ID))); no.Gate != "accept loss" {
		t.Errorf("a loss that nobody knows of was accepted: %q", no.What)
	}
	a.must(0, accept, chief.ID)
	if n := noticeOf(t, a, NoticeLost); n != nil {
		t.Errorf("after the acceptance the officer is told %+v", n)
	}
	a.must(1, permits.Authorise{Hours: 8}, officer.ID)
	if err := a.MeetHead(context.Background(), newest.Signed); err != nil || noticeOf(t, a, NoticeLost) != nil {
		t.Errorf("a phone that has seen the lost head raises it again, %v", err)
	}
	a.reopen()
	if n := noticeOf(t, a, NoticeLost); n != nil {
		t.Errorf("after the acceptance and a restart the officer is told %+v", n)
	}
	if c, err := Witnessed(context.Background(), a.dir, witness); err != nil || c != nil {
		t.Errorf("Witnessed() = %+v, %v, want agreement", c, err)
	}
}

// TestAForkedLogIsTold lets the older copy grow past the head that the witness has.
func TestAForkedLogIsTold(t *testing.T) {
	a, witness, newest := rolledBack(t)
	a.witness = "" // somebody starts it without
	a.open()
	for a.Head().Size <= newest.Size {
		a.must(0, permits.RecordPassing{Point: "V2", Words: "weeps when shut"}, fitter.ID)
		a.must(0, permits.RecordRepair{Point: "V2", Words: "lapped and tested"}, chief.ID)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	a.witness = witness
	a.open()
	if n := noticeOf(t, a, NoticeLost); n == nil || !strings.Contains(n.Words, "another way") {
		t.Errorf("the officer is told %+v, want of a log that went another way", n)
	}
}

// TestOnlyTheShipsOwnHeadsCount shows heads that no ship of ours has signed.
func TestOnlyTheShipsOwnHeadsCount(t *testing.T) {
	a, other := manned(t), manned(t)
	for range 5 {
		other.must(0, permits.RecordPassing{Point: "V2", Words: "weeps when shut"}, fitter.ID)
		other.must(0, permits.RecordRepair{Point: "V2", Words: "lapped and tested"}, chief.ID)
	}
	forged := append([]byte(nil), other.Head().Signed...)
	if err := a.MeetHead(context.Background(), forged); err != nil || noticeOf(t, a, NoticeLost) != nil {
		t.Errorf("another ship's head counted, %v", err)
	}
	if err := a.MeetHead(context.Background(), []byte("no head")); err != nil || noticeOf(t, a, NoticeLost) != nil {
		t.Errorf("nonsense counted, %v", err)
	}
	folder := t.TempDir()
	if err := os.WriteFile(filepath.Join(folder, witnessFile), forged, 0o644); err != nil {
		t.Fatal(err)
	}
	o := a.options()
	o.Witness = folder
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	if r, err := Open(context.Background(), a.dir, o); err == nil {
		t.Error("Open() with another ship's witness = nil, want refused")
		a.Register = r
		return
	}
	a.open()
}
