package register

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"log/slog"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"sync/atomic"
	"time"

	"stillwatch/isolation"
	"stillwatch/isolation/plantfile"
	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// Options are what a test or the program sets; zero fields take the defaults.
type Options struct {
	Now    func() time.Time     // time.Now
	Uptime func() time.Duration // how long the program has run, by a clock that nobody sets
	Random io.Reader            // crypto/rand
	Logger *slog.Logger         // slog.Default
	Argon  Argon                // what a PIN's hash costs
	// folder outside the data folder, best on another disk, in which the newest head is kept; "": none is
	Witness string

	beforeCommit func() error    // tests hold the disk up with it
	judges       []permits.Judge // permits.Judges; tests add one
}

// Register is an open register. Its methods may be called by many at once.
type Register struct {
	now    func() time.Time
	random io.Reader
	log    *slog.Logger
	db     *store.Database
	key    shipKey
	lock   *os.File
	pins   *pins
	live   *subscribers
	judges []permits.Judge // editions of the gates, the last for new acts

	sessions *store.Sessions

	jobs    chan *job
	closing sync.RWMutex // held for reading while a job is handed in, for writing by Close
	closed  bool
	decided chan *batch   // from the writer, which decides, to the committer
	free    chan struct{} // holds one while the committer has nothing to do
	ended   chan struct{} // closed when both have ended

	seen    atomic.Pointer[snapshot] // what readers see: always a state that is on the disk
	trouble atomic.Pointer[Notice]   // with the disk; nil after the next commit that succeeds
	differs atomic.Pointer[Notice]   // the folder is not as it was written; nil after a look that finds all well

	lost           atomic.Pointer[Contradiction] // a head that the log contradicts; nil: none is known
	witnessTrouble atomic.Pointer[Notice]
	shoreTrouble   atomic.Pointer[Notice] // what the shore says against the log; nil: nothing

	stopLooking context.CancelFunc // ends keepLookingOver
	looked      chan struct{}      // closed when that has ended; nil before
	witnessed   chan struct{}      // closed when keepWitness has ended; nil: there is none

	beforeCommit func() error
}

// snapshot is the register between two commits.
type snapshot struct {
	state    *state
	frontier frontier
	head     Head
}

// Formats that Open refuses.
var (
	ErrNewer = store.ErrNewer // a newer version of the program has written the register
	ErrOlder = store.ErrOlder // an earlier edition has, and this one cannot read it
)

// ErrClosed says that the register was closed before the act was taken.
var ErrClosed = errors.New("the register is closed")

// Open opens the register in a data folder; an empty or missing folder gets a new one, with a key and a pepper of its
// own. It folds only what concerns the ship and the permits that are not over, so it takes well under a second for a
// long log; Replay and the command "log verify" look at everything.
//
// It refuses a folder that another process holds, one of another format (ErrNewer, ErrOlder), missing guards of the
// log, a missing key, and a log that does not end where its signed head says.
func Open(ctx context.Context, dir string, o Options) (*Register, error) {
	r, err := open(ctx, dir, o)
	if err != nil {
		return nil, err
	}
	if err := r.adoptEdition(ctx); err != nil {
		return nil, fmt.Errorf("open the register in %s: %w", dir, errors.Join(err, r.Close()))
	}
	if r.Head().Size <= lookOverFirst {
		r.lookOver(ctx, false)
	}
	var looking context.Context
	looking, r.stopLooking = context.WithCancel(context.Background())
	r.looked = make(chan struct{})
	go r.keepLookingOver(looking, r.looked)
	if o.Witness != "" {
		if err := r.meetWitness(ctx, o.Witness); err != nil {
			return nil, fmt.Errorf("open the register in %s: %w", dir, errors.Join(err, r.Close()))
		}
		r.witnessed = make(chan struct{})
		go r.keepWitness(looking, o.Witness, r.witnessed)
	}
	return r, nil
}

func open(ctx context.Context, dir string, o Options) (_ *Register, err error) {
	r := &Register{now: o.Now, random: o.Random, log: o.Logger, live: newSubscribers(),
		jobs: make(chan *job, mostWaiting), decided: make(chan *batch), free: make(chan struct{}, 1),
		ended: make(chan struct{})}
	r.free <- struct{}{}
	if r.beforeCommit = o.beforeCommit; r.beforeCommit == nil {
		r.beforeCommit = func() error { return nil }
	}
	if r.now == nil {
		r.now = time.Now
	}
	if r.log == nil {
		r.log = slog.Default()
	}
	if began := time.Now(); o.Uptime == nil {
		o.Uptime = func() time.Duration { return time.Since(began) }
	}
	if r.judges = o.judges; r.judges == nil {
		r.judges = permits.Judges()
	}
	if r.random == nil {
		r.random = rand.Reader
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, r.letGo())
		}
	}()
	if r.lock, err = settle(dir, r.random); err != nil {
		return nil, err
	}
	if r.key, err = readKey(dir); err != nil {
		return nil, err
	}
	pepper, err := readPepper(dir)
	if err != nil {
		return nil, err
	}
	if r.db, err = store.Open(ctx, dir); err != nil {
		return nil, fmt.Errorf("open the register in %s: %w", dir, err)
	}
	if r.sessions, err = r.db.Sessions(r.now, r.log); err != nil {
		return nil, fmt.Errorf("open the register in %s: %w", dir, err)
	}
	r.pins = newPINs(r, pepper, o.Argon, o.Uptime)
	if err := r.load(ctx); err != nil {
		return nil, fmt.Errorf("open the register in %s: %w", dir, err)
	}
	if err := r.pins.load(ctx); err != nil {
		return nil, fmt.Errorf("open the register in %s: %w", dir, err)
	}
	go r.writer()
	go r.committer()
	return r, nil
}

// settle makes the folder and the files that a new register needs, and takes the folder's lock. It refuses a folder of
// which a part was lost.
func settle(dir string, random io.Reader) (*os.File, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("make the data folder: %w", err)
	}
	lock, err := os.OpenFile(filepath.Join(dir, lockFile), os.O_RDWR|os.O_CREATE, 0o600)
	if err != nil {
		return nil, fmt.Errorf("lock the data folder: %w", err)
	}
	if err := store.LockWhole(lock); err != nil {
		return nil, errors.Join(fmt.Errorf("lock the data folder %s, which another process holds: %w", dir, err),
			lock.Close())
	}
	if err := settleFiles(dir, random); err != nil {
		return nil, errors.Join(err, lock.Close())
	}
	return lock, nil
}

// settleFiles writes an empty database, key and pepper if the folder has none of them. A database without its key is
// not taken, nor a key whose database is gone: either is a folder of which a part was lost. An empty database file
// without the other two is a first start that was cut short, and is finished.
func settleFiles(dir string, random io.Reader) error {
	file := func(name string) string { return filepath.Join(dir, name) }
	hasKey, err1 := exists(file(keyFile))
	hasPepper, err2 := exists(file(pepperFile))
	if err := errors.Join(err1, err2); err != nil {
		return fmt.Errorf("look into the data folder: %w", err)
	}
	database, err := os.Stat(file(store.File))
	switch {
	case errors.Is(err, fs.ErrNotExist) && (hasKey || hasPepper):
		return fmt.Errorf("the data folder %s has the ship's key but not the database: put it back from the last backup, "+
			"or take another folder", dir)
	case errors.Is(err, fs.ErrNotExist):
		if err := writeSecret(file(store.File), nil); err != nil {
			return err
		}
	case err != nil:
		return fmt.Errorf("look into the data folder: %w", err)
	case hasKey && hasPepper:
		return nil
	case database.Size() > 0:
		return fmt.Errorf("the data folder %s has the database but not both %s and %s: put them back from the copy", dir,
			keyFile, pepperFile)
	}
	if err := errors.Join(os.RemoveAll(file(keyFile)), os.RemoveAll(file(pepperFile))); err != nil {
		return fmt.Errorf("make the data folder: %w", err)
	}
	if err := makeKey(dir, random); err != nil {
		return err
	}
	return makePepper(dir, random)
}

// Close takes no more acts, ends the writer after those that it has taken, and closes the database.
func (r *Register) Close() error {
	r.closing.Lock()
	if r.closed {
		r.closing.Unlock()
		return nil
	}
	r.closed = true
	close(r.jobs)
	r.closing.Unlock()
	<-r.ended
	if r.looked != nil {
		r.stopLooking()
		<-r.looked
		if r.witnessed != nil {
			<-r.witnessed
		}
	}
	r.live.end()
	return r.letGo()
}

// letGo closes what is open.
func (r *Register) letGo() error {
	var errs []error
	if r.db != nil {
		errs = append(errs, r.db.Close())
	}
	if r.lock != nil {
		errs = append(errs, r.lock.Close())
	}
	return errors.Join(errs...)
}

// state returns the state that is on the disk; it is to be read only.
func (r *Register) state() *state { return r.seen.Load().state }

// Ship returns people, files in force, labels and passing points.
func (r *Register) Ship() permits.Ship { return r.state().ship }

// Plant returns the plant in force, or nil.
func (r *Register) Plant() *isolation.Plant { return r.state().plant }

// Rules returns the rules in force; before the first run, when none are, the shipped ones.
func (r *Register) Rules() *isolation.Rules {
	if rules := r.state().rules; rules != nil {
		return rules
	}
	return plantfile.ShippedRules()
}

// Held returns what open permits hold.
func (r *Register) Held() permits.Held { return r.state().held }

// OpenPermits returns every permit that is not over, by number.
func (r *Register) OpenPermits() []permits.Permit {
	open := r.state().open
	out := make([]permits.Permit, 0, len(open))
	for _, id := range slices.Sorted(maps.Keys(open)) {
		out = append(out, *open[id])
	}
	return out
}

// NeedsFirstRun reports whether nobody is on the books yet.
func (r *Register) NeedsFirstRun() bool { return len(r.state().ship.People) == 0 }

// PublicKey returns the public half of the ship's key, as a note verifier key.
func (r *Register) PublicKey() string { return r.key.public }

// Dir returns the data folder.
func (r *Register) Dir() string { return r.db.Dir() }

// Sessions returns the store of web sessions, in the same database.
func (r *Register) Sessions() *store.Sessions { return r.sessions }
