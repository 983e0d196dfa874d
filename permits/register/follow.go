package register

import (
	"encoding/hex"
	"errors"
	"fmt"
	"time"

	"golang.org/x/mod/sumdb/tlog"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// Follower goes on with a log that is kept elsewhere than in a data folder: it takes the next entries, asks every gate
// again by the log's own edition, and makes the rows of the tables. It holds what deciding needs: the ship, the permits
// that are not over, and the frontier of the tree.
type Follower struct {
	replay *Replay
	tree   frontier
}

// Follow returns a follower that stands behind the entries that the tables have. It reads what shaped the ship and the
// permits that are not over, not the whole log.
func Follow(t Tables, size int64) (f *Follower, err error) {
	defer func() {
		if v := recover(); v != nil {
			f, err = nil, fmt.Errorf("follow a log of %d entries: its tables make no sense: %v", size, v)
		}
	}()
	f = &Follower{replay: NewReplay()}
	if size == 0 {
		return f, nil
	}
	if f.tree, err = readFrontier(t, size); err == nil {
		err = f.replay.state.load(t, size)
	}
	if err != nil {
		return nil, fmt.Errorf("follow a log of %d entries: %w", size, err)
	}
	return f, nil
}

// Size returns how many entries it has taken.
func (f *Follower) Size() int64 { return f.tree.size }

// Setting returns how things stand aboard at a time, for nobody in particular.
func (f *Follower) Setting(at time.Time) permits.Setting { return f.replay.state.setting(at, "") }

// Ends returns the ends of the log, which Tables.Ends must return of it.
func (f *Follower) Ends() store.Ends {
	s := f.replay.state
	return store.Ends{Next: int64(s.next), Last: s.lastAt.UnixMicro(), Latest: s.latest.UnixMicro()}
}

// ErrEntries says that entries do not make the hash that was signed over them.
var ErrEntries = errors.New("the entries do not make the hash that is signed")

// ErrGate says that an entry cannot have been made by the gates.
var ErrGate = errors.New("the gates would not have let it through")

// Take takes the next entries, up to a head, and returns their rows; the row of the head is not among them. The entries
// are hashed before any is read. each is told of every entry with its permit after it. After an error the follower is
// of no more use.
func (f *Follower) Take(bodies [][]byte, head Head, each func(permits.Entry, permits.Permit)) (store.Commit, error) {
	if err := f.tree.leadsTo(bodies, head); err != nil {
		return store.Commit{}, err
	}
	m := newRowMaker(&f.tree)
	type use struct {
		job string
		who permits.PersonID
	}
	used := map[use]bool{}
	for _, body := range bodies {
		n := f.tree.size
		e, err := permits.DecodeEntry(n, body)
		if err != nil {
			return m.c, fmt.Errorf("%w: entry %d cannot be read: %w", ErrGate, n, err)
		}
		after, err := f.replay.Next(e)
		if errors.Is(err, ErrNewer) {
			return m.c, fmt.Errorf("entry %d: %w", n, err)
		}
		if err != nil {
			return m.c, fmt.Errorf("%w: entry %d %w", ErrGate, n, err)
		}
		if err := m.put(e, body, after); err != nil {
			return m.c, err
		}
		if e.Kind.IsUse() {
			used[use{after.Plan().Job, e.By}] = true
		}
		each(e, after)
	}
	for u := range used {
		if days, ok := f.replay.state.uses.Of(u.job, u.who); ok {
			m.c.Uses = append(m.c.Uses, useRow(u.job, u.who, days))
		}
	}
	return m.c, nil
}

// leadsTo reports ErrEntries unless these entries lead from the frontier to the head.
func (p frontier) leadsTo(bodies [][]byte, head Head) error {
	for _, body := range bodies {
		if _, err := p.add(tlog.RecordHash(body)); err != nil {
			return err
		}
	}
	root, err := p.root()
	if err != nil {
		return err
	}
	if p.size != head.Size || hex.EncodeToString(root[:]) != head.Hash {
		return fmt.Errorf("%w: they make a log of %d entries, the head signs one of %d", ErrEntries, p.size, head.Size)
	}
	return nil
}

// HashAt returns the hash that a log had when it had so many entries, 64 hex digits.
func HashAt(t Tables, size int64) (string, error) {
	root, err := tlog.TreeHash(size, storedTree{t})
	return hex.EncodeToString(root[:]), err
}
