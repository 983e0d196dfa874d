package shore

import (
	"container/list"
	"errors"
	"sync"

	"stillwatch/permits/register"
	rows "stillwatch/permits/register/store"
	"stillwatch/permits/shore/store"
)

// mostFollowers is how many ships' followers one process keeps. Each holds a plant and the permits that are not over:
// some hundred kilobytes.
const mostFollowers = 128

// catchUpMost is how many entries a follower takes that another process has stored, before it is cheaper to read the
// ship's state anew.
const catchUpMost = 4000

// followers are those of the ships that have sent last. Whoever takes one out has it alone: the ship's row is held
// meanwhile.
type followers struct {
	mu   sync.Mutex
	of   map[int64]*list.Element
	used *list.List // of kept, the last used first
}

type kept struct {
	ship int64
	f    *register.Follower
}

func newFollowers() followers { return followers{of: map[int64]*list.Element{}, used: list.New()} }

// take takes a ship's follower out; nil for none.
func (s *followers) take(ship int64) *register.Follower {
	s.mu.Lock()
	defer s.mu.Unlock()
	e, ok := s.of[ship]
	if !ok {
		return nil
	}
	delete(s.of, ship)
	return s.used.Remove(e).(kept).f
}

// keep puts one back after what it took is on the disk.
func (s *followers) keep(ship int64, f *register.Follower) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if e, ok := s.of[ship]; ok {
		s.used.Remove(e)
	}
	s.of[ship] = s.used.PushFront(kept{ship, f})
	if s.used.Len() > mostFollowers {
		last := s.used.Back()
		delete(s.of, last.Value.(kept).ship)
		s.used.Remove(last)
	}
}

// follow returns a follower that stands where the ship's row says: the one kept, brought on by what other processes
// have stored since, or a new one.
func (s *followers) follow(l store.Locked) (*register.Follower, error) {
	f := s.take(l.Ship.ID)
	if f == nil || f.Size() > l.Ship.Size || l.Ship.Size-f.Size() > catchUpMost {
		return register.Follow(l.Tables, l.Ship.Size)
	}
	if f.Size() == l.Ship.Size {
		return f, nil
	}
	var bodies [][]byte
	err := l.EachFrom(f.Size(), func(e rows.EntryRow) error { bodies = append(bodies, e.Body); return nil })
	if err == nil {
		_, err = f.Take(bodies, register.Head{Size: l.Ship.Size, Hash: l.Ship.Hash}, ignore)
	}
	if err != nil {
		return nil, errors.Join(errors.New("bring a follower on"), err)
	}
	return f, nil
}
