package register

import (
	"bytes"
	"context"
	"fmt"
	"runtime"
	"sync"

	"golang.org/x/mod/sumdb/note"
	"golang.org/x/mod/sumdb/tlog"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// Fault is something in a log that is not as it was written.
type Fault struct {
	Entry int64 // which; -1: the log as a whole
	Words string
	Table bool // of a table that is made from the log, which Rebuild mends; not of the log itself
}

// String returns the fault in a line.
func (f Fault) String() string {
	if f.Entry < 0 {
		return "the log: " + f.Words
	}
	return fmt.Sprintf("entry %d: %s", f.Entry, f.Words)
}

// Report is what an audit of a log found.
type Report struct {
	Entries int64
	Permits int64 // requested, over or not
	Head    Head  // as signed
	Faults  []Fault
	More    int // faults beyond those listed

	beyondRepair bool // a fault is of the log itself
}

// OK reports whether the log is whole.
func (r Report) OK() bool { return len(r.Faults) == 0 }

// mostFaults is how many faults are listed.
const mostFaults = 100

func (r *Report) fault(n int64, words string, args ...any) {
	r.beyondRepair = true
	r.add(Fault{n, fmt.Sprintf(words, args...), false})
}

// tableFault is a fault of a table that is made from the log.
func (r *Report) tableFault(n int64, words string, args ...any) {
	r.add(Fault{n, fmt.Sprintf(words, args...), true})
}

func (r *Report) add(f Fault) {
	if len(r.Faults) >= mostFaults {
		r.More++
		return
	}
	r.Faults = append(r.Faults, f)
}

// IsLogWhole reports whether the log itself is whole, whatever the tables say that are made from it.
func (r Report) IsLogWhole() bool { return !r.beyondRepair }

// raw is one entry as it was read, from a database or a file.
type raw struct {
	n      int64
	body   []byte
	hashes []byte          // stored with it; nil if there are none
	index  *store.IndexRow // nil in a file
	broken string          // why there is no entry to read here; "" if there is one

	leaf  tlog.Hash
	entry permits.Entry
	err   error // of decoding
}

// prepare hashes and decodes; it needs nothing else, so many are prepared at once.
func (w *raw) prepare() {
	defer func() {
		if v := recover(); v != nil {
			w.err = fmt.Errorf("makes no sense: %v", v)
		}
	}()
	if w.broken != "" {
		return
	}
	w.leaf = tlog.RecordHash(w.body)
	w.entry, w.err = permits.DecodeEntry(w.n, w.body)
}

// chunk is a run of entries that one worker prepares.
type chunk struct {
	all  []raw
	done chan struct{}
}

const chunkSize = 256

// audit walks a log: the leaf of every entry against its stored hash, the inner hashes against each other, the replay
// through the gates, and whatever each wants to see of an entry.
type audit struct {
	report   Report
	head     Head
	frontier frontier
	replay   *Replay
	torn     bool                               // the tree cannot be followed any more
	halted   bool                               // the replay has met a fault
	each     func(w *raw, after permits.Permit) // of every entry that was replayed
}

func newAudit(head Head, judges []permits.Judge) *audit {
	return &audit{report: Report{Head: head}, head: head, replay: replayBy(judges), each: func(*raw, permits.Permit) {}}
}

// run takes entries from read, which passes each to its argument in the order of the log, prepares them on every core
// and walks them in order.
func (a *audit) run(ctx context.Context, read func(func(raw) error) error) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	work, order := make(chan *chunk, 8), make(chan *chunk, 8)
	var workers sync.WaitGroup
	for range max(2, runtime.GOMAXPROCS(0)) {
		workers.Go(func() {
			for c := range work {
				for i := range c.all {
					c.all[i].prepare()
				}
				close(c.done)
			}
		})
	}
	failed := make(chan error, 1)
	go func() {
		defer close(order)
		defer close(work)
		failed <- feed(ctx, read, work, order)
	}()
	for c := range order {
		<-c.done
		for i := range c.all {
			a.walk(&c.all[i])
		}
	}
	workers.Wait()
	return <-failed
}

// feed cuts what read gives into chunks.
func feed(ctx context.Context, read func(func(raw) error) error, work, order chan<- *chunk) error {
	now := &chunk{done: make(chan struct{})}
	send := func() error {
		for _, to := range []chan<- *chunk{work, order} {
			select {
			case to <- now:
			case <-ctx.Done():
				return ctx.Err()
			}
		}
		now = &chunk{all: make([]raw, 0, chunkSize), done: make(chan struct{})}
		return nil
	}
	err := read(func(w raw) error {
		if now.all = append(now.all, w); len(now.all) < chunkSize {
			return nil
		}
		return send()
	})
	if err != nil || len(now.all) == 0 {
		return err
	}
	return send()
}

// walk looks at one entry.
func (a *audit) walk(w *raw) {
	if due := a.report.Entries; w.n != due {
		a.torn, a.halted = true, true
		switch {
		case w.n == due+1:
			a.report.fault(due, "is missing")
		case w.n > due:
			a.report.fault(due, "and all up to %d are missing", w.n-1)
		default:
			a.report.fault(w.n, "comes out of its turn, where %d should be", due)
		}
	}
	a.report.Entries = w.n + 1
	if w.broken != "" {
		a.torn, a.halted = true, true
		a.report.fault(w.n, "%s", w.broken)
		return
	}
	if w.n >= a.head.Size {
		a.torn, a.halted = true, true
		a.report.fault(w.n, "is beyond the signed head, which ends before entry %d", a.head.Size)
		return
	}
	a.follow(w)
	if a.halted {
		return
	}
	after, err := permits.Permit{}, w.err
	if err == nil {
		after, err = a.replay.Next(w.entry)
	}
	if err != nil {
		a.halted = true
		a.report.fault(w.n, "%v (the replay stops here)", err)
		return
	}
	if w.entry.Kind == permits.KindRequest {
		a.report.Permits++
	}
	a.each(w, after)
}

// follow compares an entry with the hashes that are stored with it, and these with the hashes below them.
func (a *audit) follow(w *raw) {
	stored, err := unpack(w.n, w.hashes)
	if err != nil {
		a.torn = true
		a.report.fault(w.n, "%v", err)
		return
	}
	if stored[0] != w.leaf {
		a.halted = true
		a.report.fault(w.n, "is not what its hash in the tree was made of")
	}
	if a.torn {
		return
	}
	made, err := a.frontier.add(stored[0])
	if err != nil {
		a.torn = true
		a.report.fault(w.n, "%v", err)
		return
	}
	for i := 1; i < len(made); i++ {
		if made[i] != stored[i] {
			first := (w.n + 1) - 1<<i
			a.report.fault(w.n, "the hash over entries %d to %d is not made of the hashes below it", first, w.n)
			break
		}
	}
	a.frontier.at[len(stored)-1] = stored[len(stored)-1]
}

// end compares the tree with the signed head.
func (a *audit) end() {
	if a.report.Entries < a.head.Size {
		if a.report.Entries == a.head.Size-1 {
			a.report.fault(a.report.Entries, "is missing: the signed head says that there are %d entries", a.head.Size)
		} else {
			a.report.fault(a.report.Entries, "and all up to %d are missing: the signed head says that there are %d entries",
				a.head.Size-1, a.head.Size)
		}
		return
	}
	if a.torn {
		return
	}
	root, err := a.frontier.root()
	want, signed := a.head.root()
	if err != nil || signed && !bytes.Equal(root[:], want[:]) {
		a.report.fault(-1, "its hashes make another hash than the one that the head signs")
	}
}

// headOf opens a signed head.
func headOf(signed []byte, v note.Verifier) (Head, error) {
	size, root, err := openHead(signed, v)
	if err != nil {
		return Head{}, err
	}
	h := headFor(size, root)
	h.Signed = signed
	return h, nil
}
