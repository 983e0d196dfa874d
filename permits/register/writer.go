package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"runtime"
	"runtime/debug"
	"time"

	"golang.org/x/mod/sumdb/tlog"
	"gorm.io/gorm"

	"stillwatch/permits"
)

// mostInCommit is how many acts may share one commit.
const mostInCommit = 256

// ErrNotKept says that the disk did not take an act: nothing of it happened as far as this process knows. The act may
// be sent again with the same id; if it had reached the disk after all, the answer is its receipt.
var ErrNotKept = errors.New("the act was not kept")

// job is something that waits to be written: one act, or a few that happen together or not at all.
type job struct {
	ctx    context.Context
	decide func(*turn) error // runs in the writer; an error leaves nothing behind
	done   chan error        // holds one; answered after the commit
}

// turn is a job's go at the state: a world of its own, and what it wants written.
type turn struct {
	r       *Register
	world   *world
	batch   *batch
	at      time.Time
	entries []written
	codes   []codeRow
	also    []func(*gorm.DB) error // rows outside the log, such as a PIN's hash
}

// written is an entry on its way to the disk.
type written struct {
	entry permits.Entry
	body  []byte
	after permits.Permit
	row   *permitRow // nil if it concerns no permit
}

// batch is what goes into one commit.
type batch struct {
	world *world
	peaks peaks
	once  map[permits.ActID]int // acts of this batch that are not in the database yet, by their place in written
	said  map[refusalKey]bool   // refusals of this batch
	all   []written
	also  []func(*gorm.DB) error
	codes []codeRow
}

// perform hands a job to the writer and waits for the disk.
func (r *Register) perform(ctx context.Context, decide func(*turn) error) error {
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

// writer is the one that writes: it takes what waits, decides it in turn, commits it together, and only then answers.
func (r *Register) writer() {
	defer close(r.ended)
	for first := range r.jobs {
		jobs := []*job{first}
		for more := true; more; { // whoever is about to hand in an act comes along, which is quicker for all than a commit each
			runtime.Gosched()
			before := len(jobs)
			jobs = r.waiting(jobs)
			more = len(jobs) > before && len(jobs) < mostInCommit
		}
		r.writeAll(jobs)
	}
}

// waiting adds the jobs that wait, as far as they may share a commit.
func (r *Register) waiting(jobs []*job) []*job {
	for len(jobs) < mostInCommit {
		select {
		case j, ok := <-r.jobs:
			if !ok {
				return jobs
			}
			jobs = append(jobs, j)
		default:
			return jobs
		}
	}
	return jobs
}

// writeAll decides the jobs and commits what came of them.
func (r *Register) writeAll(jobs []*job) {
	if r.trouble.Load() != nil { // the last commit may have reached the disk although it was reported lost
		if err := r.load(context.Background()); err != nil {
			r.fail(jobs, r.inTrouble(err))
			return
		}
	}
	m := r.seen.Load()
	b := &batch{world: m.world, peaks: m.peaks, once: map[permits.ActID]int{}, said: map[refusalKey]bool{}}
	var kept []*job
	for _, j := range jobs {
		if err := r.decideOne(b, j); err != nil {
			j.done <- err
			continue
		}
		kept = append(kept, j)
	}
	if len(b.all) > 0 || len(b.also) > 0 {
		next, err := r.commit(b)
		if err != nil {
			r.fail(kept, r.inTrouble(err))
			return
		}
		r.trouble.Store(nil)
		r.seen.Store(next)
	}
	for _, row := range b.codes {
		r.issued.put(row)
	}
	r.fail(kept, nil)
	for _, w := range b.all {
		r.live.tell(w.entry)
	}
}

func (r *Register) fail(jobs []*job, err error) {
	for _, j := range jobs {
		j.done <- err
	}
}

// decideOne gives a job its turn. What it wants written goes into the batch only if all of it may happen.
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
	t := &turn{r: r, world: b.world.fork(), batch: b, at: r.now().UTC().Truncate(time.Microsecond)}
	if err := j.decide(t); err != nil {
		return err
	}
	b.take(t)
	return nil
}

// take puts a turn's entries into the batch.
func (b *batch) take(t *turn) {
	for _, w := range t.entries {
		if a, no := w.entry.Act.(permits.RefusedAct); no {
			b.said[refusalKey{w.entry.ActID, a}] = true
		} else {
			b.once[w.entry.ActID] = len(b.all)
		}
		b.all = append(b.all, w)
	}
	b.world = t.world
	b.codes = append(b.codes, t.codes...)
	b.also = append(b.also, t.also...)
}

// put gives the entry its number and applies it in the turn's own world.
func (t *turn) put(e permits.Entry) (permits.Entry, permits.Permit, error) {
	e.N = t.world.size
	body, err := e.Encode()
	if err != nil {
		return e, permits.Permit{}, fmt.Errorf("encode an entry of kind %q: %w", e.Kind, err)
	}
	after, err := t.world.apply(e)
	if err != nil {
		return e, after, err
	}
	w := written{entry: e, body: body, after: after}
	if after.ID() != 0 {
		row := rowOf(after, e.N)
		w.row = &row
	}
	t.entries = append(t.entries, w)
	return e, after, nil
}

// commit writes the batch: entries, hashes, signed head and projections in one transaction.
func (r *Register) commit(b *batch) (*moment, error) {
	if err := r.db.stillThere(); err != nil {
		return nil, err
	}
	before := b.peaks.size
	rows, err := b.rows()
	if err != nil {
		return nil, err
	}
	next := &moment{world: b.world, peaks: b.peaks, head: r.seen.Load().head}
	if len(b.all) > 0 {
		if next.head, err = r.signHead(&b.peaks, b.world.lastAt); err != nil {
			return nil, err
		}
	}
	err = r.db.writing(func(tx *sql.Tx) error {
		if len(b.all) > 0 {
			if err := r.db.hot.moveHead(tx, before, next.head); err != nil {
				return err
			}
		}
		if err := r.db.hot.insert(tx, rows); err != nil {
			return err
		}
		for _, f := range b.also {
			if err := f(r.db.within(tx)); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("write %d entries: %w", len(b.all), err)
	}
	return next, nil
}

func (r *Register) signHead(p *peaks, at time.Time) (Head, error) {
	root, err := p.root()
	if err != nil {
		return Head{}, fmt.Errorf("compute the head: %w", err)
	}
	note, err := r.key.sign(p.size, root)
	if err != nil {
		return Head{}, fmt.Errorf("sign the head: %w", err)
	}
	h, err := p.asHead(note)
	h.At = at
	return h, err
}

// batchRows are a batch as rows.
type batchRows struct {
	entries []entryRow
	tree    []treeRow
	lines   []lineRow
	touched []touchedRow
	permits []permitRow // the last of each permit
	codes   []codeRow
}

// rows turns the batch into rows, and puts its leaves into the tree.
func (b *batch) rows() (batchRows, error) {
	rows := batchRows{codes: b.codes}
	last := map[int64]int{}
	for _, w := range b.all {
		stored, err := b.peaks.add(tlog.RecordHash(w.body))
		if err != nil {
			return rows, fmt.Errorf("hash entry %d: %w", w.entry.N, err)
		}
		rows.entries = append(rows.entries, entryRow{w.entry.N, w.body})
		rows.tree = append(rows.tree, treeRow{w.entry.N, pack(stored)})
		rows.lines = append(rows.lines, lineOf(w.entry))
		for _, point := range pointsOf(w.entry, w.after) {
			rows.touched = append(rows.touched, touchedRow{string(point), w.entry.N})
		}
		if w.row == nil {
			continue
		}
		if i, ok := last[w.row.ID]; ok {
			rows.permits[i] = *w.row
		} else {
			last[w.row.ID] = len(rows.permits)
			rows.permits = append(rows.permits, *w.row)
		}
	}
	return rows, nil
}

// inTrouble notes a commit that went wrong, for the officer and for the next commit, and gives the answer to those who
// wait for it.
func (r *Register) inTrouble(err error) error {
	words := diskTrouble(err)
	if words == "" {
		words = "The log could not be written."
	}
	n := &Notice{Kind: NoticeDisk, Since: r.now().UTC(), Words: words + " Nothing can be recorded; what was recorded before is safe.",
		Do: "Do not rely on anything that was not confirmed. Free or mend the disk; the next act that succeeds ends this notice."}
	if old := r.trouble.Load(); old != nil {
		n.Since = old.Since
	}
	r.trouble.Store(n)
	r.log.Error("the log could not be written", "error", err)
	return fmt.Errorf("%w: %w", ErrNotKept, err)
}
