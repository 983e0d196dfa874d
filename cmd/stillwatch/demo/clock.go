package demo

import (
	"sync"
	"time"
)

// DayClock is the time of the crew that is driven: it can be moved on.
type DayClock interface {
	Now() time.Time
	Pass(d time.Duration)
	Until(left time.Duration)
}

// demoClock is the demo's clock: it begins some hours ago and is moved on, because the crew's day is long and the
// visitor's is not. In the end it shows the real time.
type demoClock struct {
	mu     sync.Mutex
	behind time.Duration
}

func newDemoClock(behind time.Duration) *demoClock { return &demoClock{behind: behind} }

// Now returns the demo's time.
func (c *demoClock) Now() time.Time {
	c.mu.Lock()
	defer c.mu.Unlock()
	return time.Now().Add(-c.behind)
}

// Pass lets time go by, but never beyond the real time.
func (c *demoClock) Pass(d time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.behind = max(0, c.behind-d)
}

// Until lets time go by until so much is left to the real time.
func (c *demoClock) Until(left time.Duration) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.behind = min(c.behind, max(0, left))
}
