package register

import (
	"database/sql"
	"fmt"
	"sync/atomic"
	"time"

	"golang.org/x/mod/sumdb/tlog"
	"gorm.io/gorm"

	"stillwatch/permits"
)

// batch is what goes into one commit.
type batch struct {
	world  *world // after it
	line   *line
	before *batch                // decided before, and perhaps not on the disk yet; only the writer looks
	once   map[permits.ActID]int // acts of this batch, by their place in all
	said   map[refusalKey]bool   // refusals of this batch
	all    []written
	also   []func(*gorm.DB) error
	codes  []codeRow
	jobs   []*job // answered when it is on the disk
}

// line is batches of which each was decided on the state after the one before. If one of them is lost, so are those
// after it.
type line struct{ lost atomic.Bool }

// pending returns the batches whose acts may not be on the disk yet, the latest first.
func (b *batch) pending() []*batch {
	if b.before == nil {
		return []*batch{b}
	}
	return []*batch{b, b.before}
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

// committer commits one batch after the other, and answers those whose acts are in it.
func (r *Register) committer() {
	defer close(r.ended)
	for b := range r.decided {
		r.write(b)
		r.free <- struct{}{}
	}
}

// write commits a batch and answers.
func (r *Register) write(b *batch) {
	err := errAfterLost
	if !b.line.lost.Load() {
		if err = r.commit(b); err != nil {
			b.line.lost.Store(true)
			err = r.inTrouble(err)
		}
	}
	for _, j := range b.jobs {
		j.done <- err
	}
	if err != nil {
		return
	}
	for _, w := range b.all {
		r.live.tell(w.entry)
	}
}

// errAfterLost says that an act was decided on a state that did not reach the disk.
var errAfterLost = fmt.Errorf("%w: the acts before it could not be written", ErrNotKept)

// commit writes the batch, entries, hashes, signed head and projections in one transaction, and then shows it.
func (r *Register) commit(b *batch) error {
	if len(b.all) == 0 && len(b.also) == 0 {
		return nil
	}
	if err := r.db.stillThere(); err != nil {
		return err
	}
	next := *r.seen.Load()
	before := next.peaks.size
	rows, err := b.rows(&next.peaks)
	if err != nil {
		return err
	}
	next.world = b.world
	if len(b.all) > 0 {
		if next.head, err = r.signHead(&next.peaks, b.world.lastAt); err != nil {
			return err
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
		return fmt.Errorf("write %d entries: %w", len(b.all), err)
	}
	r.trouble.Store(nil)
	r.seen.Store(&next)
	for _, row := range b.codes {
		r.issued.put(row)
	}
	return nil
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
func (b *batch) rows(tree *peaks) (batchRows, error) {
	rows := batchRows{codes: b.codes}
	last := map[int64]int{}
	for _, w := range b.all {
		if w.entry.N != tree.size {
			return rows, fmt.Errorf("entry %d was decided where entry %d should be", w.entry.N, tree.size)
		}
		stored, err := tree.add(tlog.RecordHash(w.body))
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

// inTrouble notes a commit that went wrong, for the officer and for the next commit, and returns the answer to those who
// wait for it.
func (r *Register) inTrouble(err error) error {
	words := diskTrouble(err)
	if words == "" {
		words = "The log could not be written."
	}
	n := &Notice{Kind: NoticeDisk, Since: r.now().UTC(), Words: words +
		" Nothing can be recorded; what was recorded before is safe.",
		Do: "Do not rely on anything that was not confirmed. Free or mend the disk; the next act that succeeds ends this " +
			"notice."}
	if old := r.trouble.Load(); old != nil {
		n.Since = old.Since
	}
	r.trouble.Store(n)
	r.log.Error("the log could not be written", "error", err)
	return fmt.Errorf("%w: %w", ErrNotKept, err)
}
