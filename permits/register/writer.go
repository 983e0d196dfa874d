package register

import (
	"context"
	"errors"
	"fmt"
	"runtime"
	"runtime/debug"
	"time"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// mostInCommit is how many acts may share one commit. More would be cheaper still for the disk, but while it takes them
// everybody waits and nothing is left to decide (measured with 50 acts at once: 24 to 32 is best).
const mostInCommit = 32

// mostWaiting is how many acts may wait for the writer without holding up whoever brings them.
const mostWaiting = 256

// ErrNotKept says that the disk did not take an act: nothing of it happened as far as this process knows. The act may
// be sent again with the same id; if it had reached the disk after all, the answer is its receipt.
var ErrNotKept = errors.New("the act was not kept")

// job is something that waits to be written: one act, or a few that happen together or not at all.
type job struct {
	ctx    context.Context
	decide func(*attempt) error // runs in the writer; an error leaves nothing behind
	done   chan error           // holds one; answered after the commit
}

// attempt is a job's try at the state: a state of its own, and what it wants written.
type attempt struct {
	r       *Register
	state   *state
	batch   *batch
	at      time.Time
	entries []written
	codes   []store.CodeRow
	pins    []store.PINRow
}

// written is an entry on its way to the disk.
type written struct {
	entry permits.Entry
	body  []byte
	after permits.Permit
}

// perform hands a job to the writer and waits for the disk.
func (r *Register) perform(ctx context.Context, decide func(*attempt) error) error {
	j := &job{ctx: ctx, decide: decide, done: make(chan error, 1)}
	r.closing.RLock()
	if r.closed {
		r.closing.RUnlock()
		return ErrClosed
	}
	select {
	case r.jobs <- j:
		r.closing.RUnlock()
	case <-ctx.Done():
		r.closing.RUnlock()
		return ctx.Err()
	}
	select {
	case err := <-j.done:
		return err
	case <-ctx.Done():
		return ctx.Err()
	}
}

// writer decides what waits, one job after the other. What it has decided is committed together, and only then
// answered; meanwhile it goes on, by the state as it will be after that commit. If the commit fails, what was decided
// after it is not written either.
func (r *Register) writer() {
	defer close(r.decided)
	var last *batch
	for first := range r.jobs {
		b, err := r.newBatch(last)
		if err != nil {
			first.done <- r.inTrouble(err)
			continue
		}
		r.decide(b, first)
		r.gather(b)
		r.decided <- b
		last = b
	}
}

// newBatch begins a batch: on the state after the last one, or on what is on the disk if that one was lost. A commit
// that was reported lost may have reached the disk all the same.
func (r *Register) newBatch(last *batch) (*batch, error) {
	b := &batch{once: map[permits.ActID]int{}, said: map[refusalKey]bool{}}
	switch {
	case last == nil:
		b.state, b.chain = r.seen.Load().state, &chain{}
	case last.chain.lost.Load():
		if err := r.load(context.Background()); err != nil {
			return nil, err
		}
		b.state, b.chain = r.seen.Load().state, &chain{}
	default:
		b.state, b.chain, b.before = last.state, last.chain, last
		last.before = nil // that one is on the disk
	}
	return b, nil
}

// decide decides a job. One that fails has nothing to wait for.
func (r *Register) decide(b *batch, j *job) {
	if err := r.decideOne(b, j); err != nil {
		j.done <- err
		return
	}
	b.jobs = append(b.jobs, j)
}

// gather decides those who come along until the disk is free.
func (r *Register) gather(b *batch) {
	for r.decideWaiting(b) {
	}
	for len(b.jobs) < mostInCommit {
		select {
		case <-r.free:
			return
		case j, open := <-r.jobs:
			if !open {
				<-r.free
				return
			}
			r.decide(b, j)
		}
	}
	<-r.free
}

// decideWaiting lets whoever is about to hand in an act do so, since together is quicker for all than a commit each,
// and decides what is there. It reports whether there was something, and there is room for more.
func (r *Register) decideWaiting(b *batch) (found bool) {
	runtime.Gosched()
	for len(b.jobs) < mostInCommit {
		select {
		case j, open := <-r.jobs:
			if !open {
				return false
			}
			r.decide(b, j)
			found = true
		default:
			return found
		}
	}
	return false
}

// decideOne tries a job. What it wants written goes into the batch only if all of it may happen.
func (r *Register) decideOne(b *batch, j *job) (err error) {
	if err := j.ctx.Err(); err != nil {
		return err
	}
	defer func() {
		if p := recover(); p != nil {
			r.log.Error("an act broke an invariant", "panic", p, "stack", string(debug.Stack()))
			err = fmt.Errorf("decide an act: %v", p)
		}
	}()
	t := &attempt{r: r, state: b.state.fork(), batch: b, at: r.now().UTC().Truncate(time.Microsecond)}
	if err := j.decide(t); err != nil {
		return err
	}
	b.take(t)
	return nil
}

// put returns the entry with its number and applies it in the attempt's own state.
func (t *attempt) put(e permits.Entry) (permits.Entry, permits.Permit, error) {
	e.N = t.state.size
	body, err := e.Encode()
	if err != nil {
		return e, permits.Permit{}, fmt.Errorf("encode an entry of kind %q: %w", e.Kind, err)
	}
	after, err := t.state.apply(e)
	if err != nil {
		return e, after, err
	}
	t.entries = append(t.entries, written{entry: e, body: body, after: after})
	return e, after, nil
}
