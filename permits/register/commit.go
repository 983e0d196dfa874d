package register

import (
	"fmt"
	"slices"
	"sync/atomic"
	"time"

	"golang.org/x/mod/sumdb/tlog"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// batch is what goes into one commit.
type batch struct {
	state  *state // after it
	chain  *chain
	before *batch                // decided before, and perhaps not on the disk yet; only the writer looks
	once   map[permits.ActID]int // acts of this batch, by their place in all
	said   map[refusalKey]bool   // refusals of this batch
	all    []written
	pins   []store.PINRow
	codes  []store.CodeRow
	jobs   []*job // answered when it is on the disk
}

// chain is batches of which each was decided on the state after the one before. If one of them is lost, so are those
// after it.
type chain struct{ lost atomic.Bool }

// pending returns the batches whose acts may not be on the disk yet, the latest first.
func (b *batch) pending() []*batch {
	if b.before == nil {
		return []*batch{b}
	}
	return []*batch{b, b.before}
}

// take puts an attempt's entries into the batch.
func (b *batch) take(t *attempt) {
	for _, w := range t.entries {
		if a, no := w.entry.Act.(permits.RefusedAct); no {
			b.said[refusalKey{w.entry.ActID, a}] = true
		} else {
			b.once[w.entry.ActID] = len(b.all)
		}
		b.all = append(b.all, w)
	}
	b.state = t.state
	b.codes = append(b.codes, t.codes...)
	b.pins = append(b.pins, t.pins...)
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
	if !b.chain.lost.Load() {
		if err = r.commit(b); err != nil {
			b.chain.lost.Store(true)
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
	if len(b.all) == 0 {
		return nil
	}
	if err := r.db.StillThere(); err != nil {
		return err
	}
	next := *r.seen.Load()
	rows, err := b.rows(&next.frontier)
	if err != nil {
		return err
	}
	rows.Uses = b.uses(next.state.uses)
	next.state = b.state
	if next.head, err = r.signHead(&next.frontier, b.state.lastAt); err != nil {
		return err
	}
	rows.Head = store.HeadRow{Size: next.head.Size, Note: string(next.head.Signed)}
	if err := r.beforeCommit(); err != nil {
		return err
	}
	if err := r.db.Commit(rows); err != nil {
		return fmt.Errorf("write %d entries: %w", len(b.all), err)
	}
	r.trouble.Store(nil)
	r.seen.Store(&next)
	if c := r.lost.Load(); c != nil && c.Head.Size <= next.state.ship.LostUpTo {
		r.lost.Store(nil)
	}
	return nil
}

func (r *Register) signHead(p *frontier, at time.Time) (Head, error) {
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

// rows turns the batch into rows, but for the head, and puts its leaves into the tree.
func (b *batch) rows(tree *frontier) (store.Commit, error) {
	m := newRowMaker(tree)
	m.c.Codes, m.c.PINs = b.codes, b.pins
	for _, w := range b.all {
		if err := m.put(w.entry, w.body, w.after); err != nil {
			return m.c, err
		}
	}
	return m.c, nil
}

// rowMaker makes rows of entries and puts their leaves into a tree.
type rowMaker struct {
	c    store.Commit
	tree *frontier
	last map[permits.PermitID]int // place of each permit's row
}

func newRowMaker(tree *frontier) *rowMaker {
	return &rowMaker{c: store.Commit{From: tree.size}, tree: tree, last: map[permits.PermitID]int{}}
}

// put makes the rows of the next entry; after is its permit after it.
func (m *rowMaker) put(e permits.Entry, body []byte, after permits.Permit) error {
	if e.N != m.tree.size {
		return fmt.Errorf("entry %d was decided where entry %d should be", e.N, m.tree.size)
	}
	stored, err := m.tree.add(tlog.RecordHash(body))
	if err != nil {
		return fmt.Errorf("hash entry %d: %w", e.N, err)
	}
	m.c.Entries = append(m.c.Entries, store.EntryRow{N: e.N, Body: body})
	m.c.Tree = append(m.c.Tree, store.TreeRow{N: e.N, Hashes: pack(stored)})
	m.c.Index = append(m.c.Index, indexRow(e))
	for _, point := range permits.Touches(e, after).Points {
		m.c.Points = append(m.c.Points, store.PointRow{Point: string(point), N: e.N})
	}
	id := after.ID()
	if id == 0 {
		return nil
	}
	row := permitRow(after, e.N)
	if i, ok := m.last[id]; ok {
		m.c.Permits[i] = row
	} else {
		m.last[id] = len(m.c.Permits)
		m.c.Permits = append(m.c.Permits, row)
	}
	return nil
}

// uses returns the rows of uses that the batch changes.
func (b *batch) uses(before permits.Uses) []store.UseRow {
	var out []store.UseRow
	for _, w := range b.all {
		if !w.entry.Kind.IsUse() {
			continue
		}
		job := w.after.Plan().Job
		was, known := before.Of(job, w.entry.By)
		now, _ := b.state.uses.Of(job, w.entry.By)
		if row := useRow(job, w.entry.By, now); (!known || now != was) && !slices.Contains(out, row) {
			out = append(out, row)
		}
	}
	return out
}

// inTrouble notes a commit that went wrong, for the officer and for the next commit, and returns the answer to those
// who wait for it.
func (r *Register) inTrouble(err error) error {
	words := store.Trouble(err)
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
