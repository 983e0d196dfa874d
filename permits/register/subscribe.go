package register

import (
	"sync"

	"stillwatch/permits"
)

// subscribers is everybody who follows the log as it grows.
type subscribers struct {
	mu       sync.Mutex
	next     int
	channels map[int]chan permits.Entry
	ended    bool
}

// subscriberBuffer is how many entries somebody may be behind before being cut.
const subscriberBuffer = 256

func newSubscribers() *subscribers { return &subscribers{channels: map[int]chan permits.Entry{}} }

// tell passes an entry that is on the disk on. Whoever is too slow is cut: their channel is closed, and they read what
// they missed from the log.
func (a *subscribers) tell(e permits.Entry) {
	a.mu.Lock()
	defer a.mu.Unlock()
	for id, ch := range a.channels {
		select {
		case ch <- e:
		default:
			delete(a.channels, id)
			close(ch)
		}
	}
}

// end cuts everybody.
func (a *subscribers) end() {
	a.mu.Lock()
	defer a.mu.Unlock()
	a.ended = true
	for id, ch := range a.channels {
		delete(a.channels, id)
		close(ch)
	}
}

// Subscribe returns the entries that are written from now on, each after it is on the disk, in order; the first may be
// one that was answered just before. The channel is closed by cancel, by Close, and for a reader who falls behind; such
// a reader takes what is missing from Entries.
func (r *Register) Subscribe() (entries <-chan permits.Entry, cancel func()) {
	a := r.live
	a.mu.Lock()
	defer a.mu.Unlock()
	ch := make(chan permits.Entry, subscriberBuffer)
	if a.ended {
		close(ch)
		return ch, func() {}
	}
	id := a.next
	a.next++
	a.channels[id] = ch
	return ch, func() {
		a.mu.Lock()
		defer a.mu.Unlock()
		if _, on := a.channels[id]; on {
			delete(a.channels, id)
			close(ch)
		}
	}
}
