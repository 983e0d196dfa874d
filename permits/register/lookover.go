package register

import (
	"context"
	"errors"
	"fmt"
	"time"

	"stillwatch/permits"
)

// How often a running program looks over its own folder, how long a log may be to be looked over before the program
// answers at all, and how long it rests after every so many entries of a longer one, which is looked over meanwhile.
const (
	lookOverEvery = 24 * time.Hour
	lookOverFirst = 20_000
	restAfter     = 512
	rest          = time.Millisecond
)

// lookOver verifies the log and compares every table with it, as Verify does. What differs is told as a notice, and
// nothing leads on to work until a later look finds all well: the state in memory was read by those tables.
func (r *Register) lookOver(ctx context.Context, slowly bool) {
	report, err := verifyFolder(ctx, r.db, r.key, r.judges, slowly)
	switch {
	case errors.Is(err, context.Canceled):
		return
	case err != nil:
		r.log.Error("the log could not be looked over", "error", err)
		return
	case report.OK():
		r.differs.Store(nil)
		return
	}
	first := report.Faults[0].String()
	r.log.Error("the folder is not as it was written", "faults", len(report.Faults)+report.More, "first", first)
	n := &Notice{Kind: NoticeTables, Since: r.now().UTC(),
		Words: "The tables of the register do not say what its log says: " + first + ".",
		Do: "Nothing leads on to work. Look at the locks themselves. Stop the server, run stillwatch log rebuild, and " +
			"start it again."}
	if !report.IsLogWhole() {
		n.Words = "The log of the register is not as it was written: " + first + "."
		n.Do = "Nothing leads on to work. Keep the folder as it is, run stillwatch log verify, and trust no state on the " +
			"board until it is explained."
	}
	if old := r.differs.Load(); old != nil {
		n.Since = old.Since
	}
	r.differs.Store(n)
}

// keepLookingOver looks over now and then until the register is closed.
func (r *Register) keepLookingOver(ctx context.Context, done chan<- struct{}) {
	defer close(done)
	if r.Head().Size > lookOverFirst {
		r.lookOver(ctx, true)
	}
	again := time.NewTicker(lookOverEvery)
	defer again.Stop()
	for {
		select {
		case <-again.C:
			r.lookOver(ctx, true)
		case <-ctx.Done():
			return
		}
	}
}

// distrust returns why the register is not to be trusted; "" if it is.
func (r *Register) distrust() string {
	if n := r.differs.Load(); n != nil {
		return n.Words
	}
	if c := r.lost.Load(); c != nil {
		return c.Words
	}
	return ""
}

// Rebuild makes the tables anew that are made from the log, in a folder on which no program runs, and returns what was
// wrong before, and what could not be mended: codes of tags and hashes of PINs are in no log. It refuses a log that is
// not whole itself.
func Rebuild(ctx context.Context, dir string) (before, after Report, err error) {
	lock, k, db, err := openStopped(ctx, dir)
	if err != nil {
		return before, after, err
	}
	defer func() { err = errors.Join(err, db.Close(), lock.Close()) }()
	if before, err = verifyFolder(ctx, db, k, permits.Judges(), false); err != nil || before.OK() {
		return before, before, err
	}
	if !before.IsLogWhole() {
		return before, before, fmt.Errorf("%w: %s", ErrLogNotWhole, before.firstOfLog())
	}
	if err := rebuild(ctx, db); err != nil {
		return before, after, fmt.Errorf("rebuild the tables in %s: %w", dir, err)
	}
	after, err = verifyFolder(ctx, db, k, permits.Judges(), false)
	return before, after, err
}

// ErrLogNotWhole says that the log itself is not as it was written: no table can be made from it.
var ErrLogNotWhole = errors.New("the log itself is not as it was written, so nothing can be made from it")

// firstOfLog returns the first fault of the log itself.
func (r Report) firstOfLog() Fault {
	for _, f := range r.Faults {
		if !f.Table {
			return f
		}
	}
	return Fault{}
}
