package register

import (
	"bytes"
	"context"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

func TestRightPINSignsInAndLeavesAnEntry(t *testing.T) {
	a := manned(t)
	who, err := a.SignIn(context.Background(), mate.ID, pinOf(mate.ID), Origin{Address: "phone 3"})
	if err != nil || who.By != mate.ID {
		t.Fatalf("SignIn() = %v, %v, want %s", who, err, mate.ID)
	}
	got, err := a.Entries(context.Background(), EntryQuery{Kind: permits.KindSignIn})
	if err != nil || len(got) != 1 || got[0].By != mate.ID {
		t.Errorf("sign-ins kept: %v, %v, want one by %s", got, err, mate.ID)
	}
}

func TestWhoHasLeftSignsInNoMore(t *testing.T) {
	a := manned(t)
	gone := mate
	gone.Left = true
	a.must(0, permits.ChangePerson{Person: gone}, chief.ID)
	_, err := a.SignIn(context.Background(), mate.ID, pinOf(mate.ID), Origin{})
	if no := refusal(t, err); no.Kind != permits.Forbidden {
		t.Errorf("SignIn(left) = %s, want forbidden", no.Kind)
	}
}

// verify gives a PIN at the sign-in page of an address.
func (a *aboard) verify(id permits.PersonID, pin, address string) error {
	return a.pins.verify(context.Background(), id, pin, Origin{Address: address})
}

// guess gives a wrong PIN and returns how long one must wait afterwards.
func guess(t *testing.T, a *aboard, id permits.PersonID, o Origin) time.Duration {
	t.Helper()
	if no := refusal(t, a.pins.verify(context.Background(), id, "000000", o)); no.Field != "pin" {
		t.Fatalf("a wrong PIN is refused at field %q, want pin", no.Field)
	}
	return a.pins.tries.wait(originsOf(id, true, a.pins.isMarked(id, o.Mark), o))
}

var elsewhere = Origin{Address: "10.0.0.66"}

func TestWrongPINsSlowDownAndThenLock(t *testing.T) {
	a := manned(t)
	want := []time.Duration{0, 0, 2, 4, 8, 16, 32, 64, 128, 900, 900}
	for i, w := range want {
		got := guess(t, a, mate.ID, elsewhere)
		if w *= time.Second; w == 0 && got > 0 || w > 0 && (got > w || got < w-time.Second) {
			t.Errorf("after %d wrong PINs the wait is %s, want %s", i+1, got, w)
		}
		if got > 0 {
			if err := a.verify(mate.ID, pinOf(mate.ID), elsewhere.Address); err == nil {
				t.Errorf("the right PIN is taken during the wait after %d wrong ones", i+1)
			}
			a.wait(got + time.Second)
		}
	}
	got, err := a.Entries(context.Background(), EntryQuery{Person: mate.ID, Kind: permits.KindRefusedPIN})
	if err != nil || len(got) != len(want) {
		t.Fatalf("%d wrong PINs kept, %v, want %d: none for those that were not looked at", len(got), err, len(want))
	}
	if last := got[0].Act.(permits.RefusedPIN); !last.Locked || last.Tries != len(want) {
		t.Errorf("the last wrong PIN is kept as %+v, want locked after %d", last, len(want))
	}
	if err := a.verify(mate.ID, pinOf(mate.ID), elsewhere.Address); err != nil {
		t.Errorf("the right PIN after the wait = %v, want taken", err)
	}
	if got := guess(t, a, mate.ID, elsewhere); got > 0 {
		t.Errorf("the count does not begin anew after a right PIN: wait %s", got)
	}
}

// A wait is as long as it is however the clock is set: a clock that ran ahead and was set right renews none, and one
// that is set ahead ends none.
func TestWaitIsMeasuredWithoutTheClock(t *testing.T) {
	a := manned(t)
	locked := func(words string, want bool) {
		t.Helper()
		if err := a.verify(mate.ID, pinOf(mate.ID), elsewhere.Address); (err != nil) != want {
			t.Errorf("the right PIN %s = %v, want refused: %t", words, err, want)
		}
	}
	a.setClock(48 * time.Hour) // it runs ahead
	for i := range lockTries {
		if wait := guess(t, a, mate.ID, elsewhere); i < lockTries-1 {
			a.wait(wait + time.Second)
		}
	}
	a.setClock(-48 * time.Hour) // and is set right
	locked("just after the clock was set right", true)
	a.wait(15*time.Minute + time.Second)
	locked("15 minutes later", false)
	for i := range lockTries {
		if wait := guess(t, a, mate.ID, elsewhere); i < lockTries-1 {
			a.wait(wait + time.Second)
		}
	}
	a.setClock(-48 * time.Hour)
	a.reopen() // the wrong PINs lie two days ahead in the log
	locked("just after a start with a clock that was set right", true)
	a.wait(15*time.Minute + time.Second)
	locked("15 minutes after the start", false)
}

// A stranger guesses at everybody's PIN from many addresses without end for an hour, and the crew signs off every time,
// on the devices on which they are signed in, on those of others, and after signing in anew where they were before.
func TestStrangerWhoGuessesShutsNobodyOut(t *testing.T) {
	a := manned(t)
	id := a.request()
	a.live(id)
	ctx := context.Background()
	mark := a.MarkDevice(mate.ID)
	signed := 0
	for minute := range 60 {
		for n := range 12 {
			for _, who := range []permits.PersonID{mate.ID, fitter.ID, chief.ID, "nobody"} {
				if err := a.verify(who, "000000", "10.0.0."+itoa(int64((minute*12+n)%250))); err == nil {
					t.Fatal("a wrong PIN was taken")
				}
			}
			a.wait(5 * time.Second)
		}
		by := []permits.PersonID{mate.ID, fitter.ID}[minute%2] // on the mate's own phone, or on the fitter's
		for _, act := range []permits.Act{permits.SignOn{}, permits.SignOff{}} {
			_, err := a.Do(ctx, Doing{ID: a.NewActID(), Permit: id, Act: act, By: by, Signer: mate.ID, PIN: pinOf(mate.ID),
				Device: "10.0.0.7"})
			if err != nil {
				t.Fatalf("minute %d: %s on the device of %s = %v, want taken", minute, act.Kind(), by, err)
			}
			signed++
		}
		if _, err := a.SignIn(ctx, mate.ID, pinOf(mate.ID), Origin{Address: "10.0.0.7", Mark: mark}); err != nil {
			t.Fatalf("minute %d: signing in on a device that the register knows = %v, want taken", minute, err)
		}
	}
	if signed != 120 {
		t.Errorf("%d signatures, want 120", signed)
	}
	if err := a.verify(mate.ID, pinOf(mate.ID), "10.0.0.251"); err == nil {
		t.Error("a new device is let in at once while strangers guess: nobody slows them down")
	}
	a.wait(allStrangers.most)
	if err := a.verify(mate.ID, pinOf(mate.ID), "10.0.0.251"); err != nil {
		t.Errorf("a new device after the longest wait = %v, want taken", err)
	}
}

// Somebody who is signed in and guesses another's PIN is slowed down however often they sign in anew, and shuts the
// other out of nothing but their own device.
func TestGuessesOfSomebodySignedInCountTogether(t *testing.T) {
	a := manned(t)
	at := func(by permits.PersonID) Origin { return Origin{Address: "10.0.0.7", SignedIn: by} }
	for range onePerson.free {
		guess(t, a, mate.ID, at(fitter.ID))
	}
	if _, err := a.SignIn(context.Background(), fitter.ID, pinOf(fitter.ID), Origin{Address: "10.0.0.8"}); err != nil {
		t.Fatal(err)
	}
	if wait := guess(t, a, mate.ID, at(fitter.ID)); wait == 0 {
		t.Error("a new session begins a new count")
	}
	if err := a.pins.verify(context.Background(), mate.ID, pinOf(mate.ID), at(mate.ID)); err != nil {
		t.Errorf("the mate's own device meanwhile = %v, want taken", err)
	}
}

func TestMarkOfADeviceIsOfOnePersonAndOnePIN(t *testing.T) {
	a := manned(t)
	mark := a.MarkDevice(mate.ID)
	if !a.pins.isMarked(mate.ID, mark) || a.pins.isMarked(fitter.ID, mark) || a.pins.isMarked(mate.ID, mark+"0") ||
		a.pins.isMarked(mate.ID, "") {
		t.Error("a mark is not known, or known as somebody else's")
	}
	if _, err := a.SetPIN(context.Background(), SetPINDoing{ID: a.NewActID(), By: mate.ID, ByPIN: pinOf(mate.ID),
		Person: mate.ID, New: "836205"}); err != nil {
		t.Fatal(err)
	}
	if a.pins.isMarked(mate.ID, mark) {
		t.Error("the mark outlasts the PIN")
	}
}

// Whoever can write to the database signs as nobody: not by another's hash in a person's place, and not by an old one.
func TestHashOfAPINIsTakenInItsOwnPlaceOnly(t *testing.T) {
	a := manned(t)
	ctx := context.Background()
	var old store.PINRow
	if err := a.raw().Take(&old, "person = ?", string(mate.ID)).Error; err != nil {
		t.Fatal(err)
	}
	if _, err := a.SetPIN(ctx, SetPINDoing{ID: a.NewActID(), By: mate.ID, ByPIN: pinOf(mate.ID), Person: mate.ID,
		New: "836205"}); err != nil {
		t.Fatal(err)
	}
	a.exec("UPDATE pins SET hash = (SELECT hash FROM pins WHERE person = 'fitter') WHERE person = 'oow'")
	a.exec("UPDATE pins SET (hash, entry, seal) = (SELECT hash, entry, seal FROM pins WHERE person = 'fitter') WHERE " +
		"person = 'chief'")
	if err := a.raw().Save(&old).Error; err != nil {
		t.Fatal(err)
	}
	for id, pin := range map[permits.PersonID]string{officer.ID: pinOf(fitter.ID), chief.ID: pinOf(fitter.ID),
		mate.ID: pinOf(mate.ID)} {
		no := refusal(t, a.pins.verify(ctx, id, pin, Origin{SignedIn: id}))
		if !strings.Contains(no.What, "stored PIN") {
			t.Errorf("the PIN that somebody put in the place of %s's is refused with %q, want told", id, no.What)
		}
	}
}

func TestLockOutOutlastsARestartAndIsToldToTheOfficer(t *testing.T) {
	a := manned(t)
	for i := range lockTries {
		if wait := guess(t, a, mate.ID, elsewhere); wait > 0 && i < lockTries-1 {
			a.wait(wait + time.Second)
		}
	}
	a.reopen()
	told := false
	for _, n := range a.Notices(context.Background()) {
		told = told || n.Kind == NoticePIN && strings.Contains(n.Words, mate.Name)
	}
	if !told {
		t.Errorf("Notices() = %v, want one about %s", a.Notices(context.Background()), mate.ID)
	}
	if err := a.verify(mate.ID, pinOf(mate.ID), elsewhere.Address); err == nil {
		t.Error("the right PIN is taken while locked, after a restart")
	}
	if _, err := a.SetPIN(context.Background(), SetPINDoing{ID: a.NewActID(), By: chief.ID, ByPIN: pinOf(chief.ID),
		Person: mate.ID, New: "839201"}); err != nil {
		t.Fatalf("SetPIN(by the chief engineer) = %v", err)
	}
	if err := a.verify(mate.ID, "839201", elsewhere.Address); err != nil {
		t.Errorf("the new PIN = %v, want taken at once", err)
	}
}

func TestGuessesInParallelAreAllCounted(t *testing.T) {
	a := manned(t)
	var wg sync.WaitGroup
	for range 40 {
		wg.Go(func() { a.verify(mate.ID, "000000", elsewhere.Address) })
	}
	wg.Wait()
	got, err := a.Entries(context.Background(), EntryQuery{Kind: permits.KindRefusedPIN})
	if err != nil || len(got) != onePerson.free+1 {
		t.Errorf("40 guesses at once: %d were looked at, %v, want %d", len(got), err, onePerson.free+1)
	}
}

func TestDeviceThatTriesManyPeopleIsSlowedDown(t *testing.T) {
	a := manned(t)
	for i := range deviceTries {
		refusal(t, a.verify(permits.PersonID("stranger-"+itoa(int64(i))), "000000", "phone"))
	}
	if err := a.verify(mate.ID, pinOf(mate.ID), "phone"); err == nil {
		t.Error("the device's next PIN is looked at at once")
	}
	if err := a.verify(mate.ID, pinOf(mate.ID), "another"); err != nil {
		t.Errorf("another device's PIN = %v, want taken", err)
	}
	got, err := a.Entries(context.Background(), EntryQuery{Kind: permits.KindRefusedPIN})
	if err != nil || len(got) != 0 {
		t.Errorf("strangers' names left %d entries, %v, want none: anybody can type anything", len(got), err)
	}
}

func TestPINsThatAreEasilyGuessedAreNotSet(t *testing.T) {
	for _, pin := range []string{"", "12345", "1234567890123", "12345a", "１２３４５６", "111111", "121212", "123123",
		"12341234", "123456", "654321", "890123", "109876", "112233", "159357", "1212121"} {
		if CheckPIN(pin) == nil {
			t.Errorf("CheckPIN(%q) = nil, want a refusal", pin)
		}
	}
	for _, pin := range []string{"836205", "48151623", "902714658301", "110358"} {
		if err := CheckPIN(pin); err != nil {
			t.Errorf("CheckPIN(%q) = %v, want nil", pin, err)
		}
	}
}

func TestOnlyTheOwnPINOrTheChiefEngineerSetsAPIN(t *testing.T) {
	a := manned(t)
	ctx := context.Background()
	set := func(by permits.PersonID, pin string, whose permits.PersonID) error {
		_, err := a.SetPIN(ctx, SetPINDoing{ID: a.NewActID(), By: by, ByPIN: pin, Person: whose, New: "836205"})
		return err
	}
	if no := refusal(t, set(mate.ID, pinOf(mate.ID), fitter.ID)); no.Kind != permits.Forbidden {
		t.Errorf("SetPIN(another's) = %s, want forbidden", no.Kind)
	}
	if no := refusal(t, set(mate.ID, "000000", mate.ID)); no.Field != "pin" {
		t.Errorf("SetPIN(with a wrong PIN of one's own) is refused at %q, want pin", no.Field)
	}
	if err := a.verify(fitter.ID, pinOf(fitter.ID), ""); err != nil {
		t.Errorf("the fitter's PIN was changed: %v", err)
	}
	if err := set(mate.ID, pinOf(mate.ID), mate.ID); err != nil {
		t.Errorf("SetPIN(own) = %v", err)
	}
	if err := a.verify(mate.ID, "836205", ""); err != nil {
		t.Errorf("the new PIN = %v, want taken", err)
	}
}

// Sent by a phone that lost the answer, or twice at once so that both share a commit, a new PIN is set once.
func TestPINSetTwiceUnderOneIDIsSetOnce(t *testing.T) {
	a := manned(t)
	ctx := context.Background()
	d := SetPINDoing{ID: a.NewActID(), By: chief.ID, ByPIN: pinOf(chief.ID), Person: mate.ID, New: "836205"}
	before := len(kept(t, a, permits.KindSetPIN))
	release := holdWriter(a)
	errs := make(chan error, 2)
	for range cap(errs) {
		go func() { _, err := a.SetPIN(ctx, d); errs <- err }()
	}
	for len(a.jobs) < cap(errs) {
		time.Sleep(time.Millisecond)
	}
	release()
	for range cap(errs) {
		if err := <-errs; err != nil {
			t.Errorf("SetPIN(the same at once) = %v, want set", err)
		}
	}
	guess(t, a, mate.ID, elsewhere)
	if _, err := a.SetPIN(ctx, d); err != nil {
		t.Errorf("SetPIN(the same again) = %v, want nil", err)
	}
	if got := len(kept(t, a, permits.KindSetPIN)) - before; got != 1 {
		t.Errorf("%d entries of the new PIN, want 1", got)
	}
	if got := a.pins.tries.counts[originsOf(mate.ID, true, false, elsewhere)[0].origin].wrong; got != 1 {
		t.Errorf("a PIN that was not set again leaves %d wrong ones counted, want 1", got)
	}
	d.Person = fitter.ID
	_, err := a.SetPIN(ctx, d)
	if no := refusal(t, err); no.Kind != permits.Conflict {
		t.Errorf("SetPIN(same id, of another person) = %s, want a conflict", no.Kind)
	}
}

// kept returns the newest hundred entries of a kind.
func kept(t *testing.T, a *aboard, kind permits.Kind) []permits.Entry {
	t.Helper()
	got, err := a.Entries(context.Background(), EntryQuery{Kind: kind})
	if err != nil {
		t.Fatal(err)
	}
	return got
}

// holdWriter keeps the writer busy until release, so that what comes in meanwhile shares a commit.
func holdWriter(a *aboard) (release func()) {
	held, let := make(chan struct{}), make(chan struct{})
	go a.perform(context.Background(), func(*attempt) error {
		close(held)
		<-let
		return nil
	})
	<-held
	return func() { close(let) }
}

func TestFirstRunIsOnlyForAnEmptyRegister(t *testing.T) {
	a := empty(t)
	ctx := context.Background()
	if !a.NeedsFirstRun() {
		t.Fatal("NeedsFirstRun() = false on an empty register")
	}
	if no := refusal(t, a.FirstRun(ctx, fitter, "836205")); no.Gate != "add person" {
		t.Errorf("FirstRun(technician) is refused by %q, want add person", no.Gate)
	}
	if a.Head().Size != 0 {
		t.Fatalf("a refused first run left %d entries", a.Head().Size)
	}
	if err := a.FirstRun(ctx, chief, "836205"); err != nil {
		t.Fatal(err)
	}
	if no := refusal(t, a.FirstRun(ctx, chief, "836205")); no.Kind != permits.Conflict {
		t.Errorf("a second FirstRun = %s, want conflict", no.Kind)
	}
	if got := a.Ship().RulesSHA256; got != a.Rules().SHA256 || got == "" {
		t.Errorf("rules in force are %q, want the shipped ones", got)
	}
	if r := verified(t, a.dir); !r.OK() || r.Entries != 4 {
		t.Errorf("Verify(first run) = %d entries, %v, want 4 and whole", r.Entries, r.Faults)
	}
}

// Neither PINs nor codes of tags nor the secrets are in any file that can be read without the keys, nor in what is
// logged.
func TestSecretsAreNeitherInTheDatabaseNorInTheLogs(t *testing.T) {
	a := empty(t)
	var logged bytes.Buffer
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	o := a.options()
	o.Logger = slog.New(slog.NewTextHandler(&logged, &slog.HandlerOptions{Level: slog.LevelDebug}))
	r, err := Open(context.Background(), a.dir, o)
	if err != nil {
		t.Fatal(err)
	}
	a.Register = r
	ctx := context.Background()
	if err := a.FirstRun(ctx, chief, "836205"); err != nil {
		t.Fatal(err)
	}
	if err := a.Sessions().Commit("the-token-of-a-session", []byte("x"), a.clock().Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	refusal(t, a.verify(chief.ID, "836206", ""))
	for _, name := range []string{store.File, store.File + "-wal"} {
		text, err := os.ReadFile(filepath.Join(a.dir, name))
		if err != nil {
			t.Fatal(err)
		}
		for _, secret := range []string{"836205", "836206", "the-token-of-a-session", "PRIVATE+KEY"} {
			if bytes.Contains(text, []byte(secret)) {
				t.Errorf("%s holds %q", name, secret)
			}
		}
	}
	if strings.Contains(logged.String(), "83620") {
		t.Errorf("a PIN was logged: %s", logged.String())
	}
	for _, name := range []string{keyFile, pepperFile, store.File} {
		info, err := os.Stat(filepath.Join(a.dir, name))
		if err != nil || info.Mode().Perm() != 0o600 {
			t.Errorf("%s has mode %v, %v, want 0600", name, info.Mode(), err)
		}
	}
}

func TestSessionsOutlastARestartAndEnd(t *testing.T) {
	a := manned(t)
	s := a.Sessions()
	if err := s.Commit("token", []byte("mate"), a.clock().Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	a.reopen()
	s = a.Sessions()
	if data, found, err := s.Find("token"); err != nil || !found || string(data) != "mate" {
		t.Errorf("Find() after a restart = %q %t %v, want it", data, found, err)
	}
	a.wait(2 * time.Hour)
	if _, found, err := s.Find("token"); err != nil || found {
		t.Errorf("Find() after its end = %t %v, want none", found, err)
	}
	if err := s.Delete("token"); err != nil {
		t.Errorf("Delete() = %v", err)
	}
}

// On the server's console a chief engineer who cannot get in gets a new PIN, by an entry, and nobody else does.
func TestRescueGivesAChiefEngineerANewPIN(t *testing.T) {
	a := manned(t)
	ctx := context.Background()
	if _, err := a.Rescue(ctx, mate.ID); refusal(t, err).Gate != "set pin" {
		t.Errorf("Rescue(technician) = %v, want refused", err)
	}
	for range lockTries {
		a.wait(onePerson.most)
		guess(t, a, chief.ID, elsewhere)
	}
	pin, err := a.Rescue(ctx, chief.ID)
	if err != nil || CheckPIN(pin) != nil {
		t.Fatalf("Rescue() = %q, %v", pin, err)
	}
	if err := a.verify(chief.ID, pinOf(chief.ID), "10.0.0.9"); err == nil {
		t.Error("the old PIN is still taken")
	}
	if err := a.verify(chief.ID, pin, elsewhere.Address); err != nil {
		t.Errorf("the new PIN where the old one was guessed = %v, want taken", err)
	}
	if e := kept(t, a, permits.KindSetPIN)[0]; e.By != "" || !e.Act.(permits.SetPIN).Rescue {
		t.Errorf("the entry is %+v, want a rescue by nobody", e)
	}
	a.reopen()
	if err := a.verify(chief.ID, pin, ""); err != nil {
		t.Errorf("the new PIN after a restart = %v, want taken", err)
	}
	if r := verified(t, a.dir); !r.OK() {
		t.Errorf("Verify() = %v, want whole", r.Faults)
	}
}
