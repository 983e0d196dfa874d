package web

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/alexedwards/scs/v2"
)

// slowStore is a store whose answers can be held up, and whose disk can fail.
type slowStore struct {
	rows  map[string][]byte
	asked int
	held  func() // runs between the reading of a row and the answer
	full  error
}

func (s *slowStore) FindCtx(_ context.Context, token string) ([]byte, bool, error) {
	s.asked++
	data, ok := s.rows[token]
	if s.held != nil {
		s.held()
	}
	return data, ok, nil
}

func (s *slowStore) CommitCtx(_ context.Context, token string, data []byte, _ time.Time) error {
	if s.full == nil {
		s.rows[token] = data
	}
	return s.full
}

func (s *slowStore) DeleteCtx(_ context.Context, token string) error {
	if s.full == nil {
		delete(s.rows, token)
	}
	return s.full
}

func (s *slowStore) Find(string) ([]byte, bool, error)      { panic("not with a context") }
func (s *slowStore) Commit(string, []byte, time.Time) error { panic("not with a context") }
func (s *slowStore) Delete(string) error                    { panic("not with a context") }

func shelf(t *testing.T) (*slowStore, scs.Store, *time.Time) {
	t.Helper()
	now := time.Date(2026, 3, 1, 8, 0, 0, 0, time.UTC)
	below := &slowStore{rows: map[string][]byte{}}
	return below, newSessionShelf(below, func() time.Time { return now }), &now
}

func wantSession(t *testing.T, s scs.Store, token, want string) {
	t.Helper()
	data, found, err := s.Find(token)
	if string(data) != want || found != (want != "") || err != nil {
		t.Errorf("Find(%s) = %q, %v, %v, want %q", token, data, found, err, want)
	}
}

func TestSessionIsReadOnceAMinute(t *testing.T) {
	below, s, now := shelf(t)
	if err := s.Commit("a", []byte("one"), now.Add(time.Hour)); err != nil {
		t.Fatal(err)
	}
	for range 100 {
		wantSession(t, s, "a", "one")
	}
	if below.asked != 1 {
		t.Errorf("the database was asked %d times, want once", below.asked)
	}
	delete(below.rows, "a") // its time is over: the database finds it no more
	*now = now.Add(shelfTrust + time.Second)
	wantSession(t, s, "a", "")
}

func TestEndedSessionIsNeverFoundAgain(t *testing.T) {
	below, s, now := shelf(t)
	_ = s.Commit("a", []byte("one"), now.Add(time.Hour))
	below.held = func() { // it is ended while somebody reads it
		below.held = nil
		if err := s.Delete("a"); err != nil {
			t.Fatal(err)
		}
	}
	_, _, _ = s.Find("a")
	wantSession(t, s, "a", "")
}

func TestChangedSessionIsSeenChanged(t *testing.T) {
	below, s, now := shelf(t)
	_ = s.Commit("a", []byte("one"), now.Add(time.Hour))
	wantSession(t, s, "a", "one")
	_ = s.Commit("a", []byte("two"), now.Add(time.Hour))
	wantSession(t, s, "a", "two")
	below.full = errors.New("the disk is full")
	if err := s.Commit("a", []byte("three"), now.Add(time.Hour)); err == nil {
		t.Error("Commit on a full disk = nil, want its error")
	}
	wantSession(t, s, "a", "two")
}

func TestStrangersDoNotFillTheShelf(t *testing.T) {
	_, s, _ := shelf(t)
	for range 3 * shelfMost {
		_, _, _ = s.Find(newActID())
	}
	if kept := len(s.(*sessionShelf).kept); kept != 0 {
		t.Errorf("%d unknown tokens are remembered, want none", kept)
	}
	below, s, _ := shelf(t)
	for range 2*shelfMost + 10 {
		token := newActID()
		below.rows[token] = []byte("x")
		wantSession(t, s, token, "x")
	}
	if kept := len(s.(*sessionShelf).kept); kept > shelfMost {
		t.Errorf("%d sessions are remembered, want %d at most", kept, shelfMost)
	}
}

// TestSessionEndedOnOneSideIsEndedOnTheOther shows the plain side's token to the secure side, as somebody would who
// stole it.
func TestSessionEndedOnOneSideIsEndedOnTheOther(t *testing.T) {
	s := securedShip(t)
	if s.web.store == nil {
		t.Fatal("the server keeps no sessions")
	}
	twin, err := New(s.reg, Config{Now: s.clock, Secure: true, Beside: s.web})
	if err != nil {
		t.Fatal(err)
	}
	defer twin.endAll()
	if twin.store != s.web.store {
		t.Error("the two sides remember sessions apart: one ended on one side would live on the other")
	}
}
