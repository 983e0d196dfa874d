package web

import (
	"context"
	"sync"
	"time"

	"github.com/alexedwards/scs/v2"
)

// How long a session is believed without asking the database, and how many are remembered. The database is locked to
// this process and every change goes through the shelf, so only the end of a session's life can be missed, by
// shelfTrust at most.
const (
	shelfTrust = time.Minute
	shelfMost  = 4096
)

// sessionShelf remembers the sessions that were asked for lately: every request of every phone asks for one. Under
// load, finding them in the database took half of all the waiting (TestLoadOfPhonesScanning with -mutexprofile). It is
// a scs.CtxStore over another.
type sessionShelf struct {
	below scs.CtxStore
	now   func() time.Time

	mu      sync.RWMutex
	changes int // counts commits and deletions, so that what was read before one is not put down after it
	kept    map[string]shelved
}

// shelved is one session that exists, and until when that is believed.
type shelved struct {
	data  []byte
	until time.Time
}

// ctxStore is what the register gives, with the methods of both kinds of store.
type ctxStore interface {
	scs.Store
	scs.CtxStore
}

func newSessionShelf(below scs.Store, now func() time.Time) scs.Store {
	full, ok := below.(ctxStore)
	if !ok {
		return below
	}
	return &sessionShelf{below: full, now: now, kept: map[string]shelved{}}
}

// FindCtx returns a session, from memory if it was asked for lately.
func (s *sessionShelf) FindCtx(ctx context.Context, token string) (data []byte, found bool, err error) {
	s.mu.RLock()
	k, known := s.kept[token]
	before := s.changes
	s.mu.RUnlock()
	if known && s.now().Before(k.until) {
		return k.data, true, nil
	}
	if data, found, err = s.below.FindCtx(ctx, token); err != nil || !found {
		return data, found, err // strangers' tokens are not remembered: they could fill the shelf
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.changes == before {
		s.put(token, shelved{data, s.now().Add(shelfTrust)})
	}
	return data, found, nil
}

// put remembers a session, and forgets all when there are too many.
func (s *sessionShelf) put(token string, k shelved) {
	if len(s.kept) >= shelfMost {
		clear(s.kept)
	}
	s.kept[token] = k
}

// CommitCtx keeps a session; it is remembered only once it is on the disk.
func (s *sessionShelf) CommitCtx(ctx context.Context, token string, data []byte, expiry time.Time) error {
	s.drop(token)
	err := s.below.CommitCtx(ctx, token, data, expiry)
	s.drop(token)
	return err
}

// DeleteCtx ends a session.
func (s *sessionShelf) DeleteCtx(ctx context.Context, token string) error {
	s.drop(token)
	err := s.below.DeleteCtx(ctx, token)
	s.drop(token)
	return err
}

// drop forgets a session, and makes readers who are under way forget what they read.
func (s *sessionShelf) drop(token string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.changes++
	delete(s.kept, token)
}

// Find is FindCtx without a context.
func (s *sessionShelf) Find(token string) ([]byte, bool, error) {
	return s.FindCtx(context.Background(), token)
}

// Commit is CommitCtx without a context.
func (s *sessionShelf) Commit(token string, data []byte, expiry time.Time) error {
	return s.CommitCtx(context.Background(), token, data, expiry)
}

// Delete is DeleteCtx without a context.
func (s *sessionShelf) Delete(token string) error { return s.DeleteCtx(context.Background(), token) }
