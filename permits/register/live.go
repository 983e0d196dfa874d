package register

import (
	"sync"

	"stillwatch/permits"
)

// audience is everybody who follows the log as it grows.
type audience struct {
	mu    sync.Mutex
	next  int
	ears  map[int]chan permits.Entry
	ended bool
}

// earSize is how many entries somebody may be behind before being cut.
const earSize = 256

func newAudience() *audience { return &audience{ears: map[int]chan permits.Entry{}} }

// tell passes an entry that is on the disk on. Whoever is too slow is cut: their channel is closed, and they read what
// they missed from the log.
func (a *audience) tell(e permits.Entry) {
	a.mu.Lock()
	defer a.mu.Unlock()
	for id, ear := range a.ears {
		select {
		case ear <- e:
		default:
			delete(a.ears, id)
			close(ear)
		}
	}
}

// end cuts everybody.
func (a *audience) end() {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.ended = true
	for id, ear := range a.ears {
		delete(a.ears, id)
		close(ear)
	}
}

// Subscribe returns the entries that are written from now on, each after it is on the disk, in order; the first may be
// one that was answered just before. The channel is closed by cancel, by Close, and for a reader who falls behind; such
// a reader takes what is missing from Entries.
func (r *Register) Subscribe() (entries <-chan permits.Entry, cancel func()) {
	a := r.live
	a.mu.Lock()
	defer a.mu.Unlock()
	ear := make(chan permits.Entry, earSize)
	if a.ended {
		close(ear)
		return ear, func() {}
	}
	id := a.next
	a.next++
	a.ears[id] = ear
	return ear, func() {
		a.mu.Lock()
		defer a.mu.Unlock()
		if _, on := a.ears[id]; on {
			delete(a.ears, id)
			close(ear)
		}
	}
}
