package register

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"golang.org/x/mod/sumdb/tlog"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// A witness is a head of the log that is kept outside the data folder: on another disk, on a phone. It holds what the
// ship's own key has signed, so nobody makes one up; a log that is shorter than it, or has another hash there, is not
// the log that was.

// witnessFile holds the head in the folder of the witness.
const witnessFile = "stillwatch-head.txt"

// witnessEvery is how often the head is written there at most.
const witnessEvery = 10 * time.Second

// Contradiction is a signed head that the log does not agree with.
type Contradiction struct {
	Head  Head   // that was once; zero if it cannot be read
	Words string // what is wrong, in a sentence
}

// errNoWitness says that there is no head yet.
var errNoWitness = errors.New("there is no head yet")

// Witnessed compares the log of a data folder with the head in the folder of its witness; nil where they agree. There
// being no head yet is an error.
func Witnessed(ctx context.Context, dir, witness string) (*Contradiction, error) {
	k, err := readKey(dir)
	if err != nil {
		return nil, err
	}
	signed, err := readWitness(witness)
	if err != nil {
		return nil, err
	}
	db, err := store.OpenToRead(dir)
	if err != nil {
		return nil, err
	}
	var c *Contradiction
	err = db.Isolated(ctx, func(v store.View) error {
		m, s := newState(permits.Judges()), int64(0)
		if s, _, _, err = readHead(v, k); err == nil {
			err = m.load(v, s)
		}
		if err == nil {
			c, err = contradiction(v, s, m.ship.LostUpTo, signed, k)
		}
		return err
	})
	if err = errors.Join(err, db.Close()); err != nil {
		return nil, fmt.Errorf("compare the log in %s with its witness: %w", dir, err)
	}
	return c, nil
}

func readWitness(folder string) ([]byte, error) {
	signed, err := os.ReadFile(filepath.Join(folder, witnessFile))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("read the witness in %s: %w", folder, errNoWitness)
	}
	if err != nil {
		return nil, fmt.Errorf("read the witness: %w", err)
	}
	return signed, nil
}

// contradiction holds a log of this size against a signed head. Heads up to a loss that was accepted are passed over.
func contradiction(v store.View, size, lostUpTo int64, signed []byte, k shipKey) (*Contradiction, error) {
	was, root, err := openHead(signed, k.verifier)
	if err != nil {
		return &Contradiction{Words: "The head that is kept outside the register is not signed by this ship's key."}, nil
	}
	head := headFor(was, root)
	switch {
	case was <= lostUpTo || was == 0:
		return nil, nil
	case was > size:
		return &Contradiction{head, fmt.Sprintf("This register is older than it was: it has %d entries, and a head of %d "+
			"entries was signed by this ship's key. An older copy was put back.", size, was)}, nil
	}
	now, err := tlog.TreeHash(was, storedTree{v})
	if err != nil {
		return nil, fmt.Errorf("compute an earlier head: %w", err)
	}
	if now != root {
		return &Contradiction{head, fmt.Sprintf("This register has gone another way: its first %d entries are not those "+
			"of a head that was signed by this ship's key.", was)}, nil
	}
	return nil, nil
}

// MeetHead holds the log against a head that somebody has kept. A head that shows the register to be older than it was
// is told on the board, and nothing leads on to work until it is explained.
func (r *Register) MeetHead(ctx context.Context, signed []byte) error {
	var c *Contradiction
	err := r.db.Isolated(ctx, func(v store.View) (err error) {
		size, _, _, err := readHead(v, r.key)
		if err == nil {
			c, err = contradiction(v, size, r.Ship().LostUpTo, signed, r.key)
		}
		return err
	})
	if err != nil || c == nil || c.Head.Size == 0 {
		return err
	}
	if old := r.lost.Load(); old == nil || old.Head.Size < c.Head.Size {
		r.log.Error("the register contradicts a head that it has signed", "had", c.Head.Size, "has", r.Head().Size)
		r.lost.Store(c)
	}
	return nil
}

// meetWitness holds the log against the head that is kept in a folder, if there is one.
func (r *Register) meetWitness(ctx context.Context, folder string) error {
	signed, err := readWitness(folder)
	switch {
	case errors.Is(err, errNoWitness):
		return nil
	case err != nil:
		return err
	}
	if _, _, err := openHead(signed, r.key.verifier); err != nil {
		return fmt.Errorf("the witness in %s is of another ship, or was changed (%w): name another folder", folder, err)
	}
	return r.MeetHead(ctx, signed)
}

// keepWitness writes the head into the folder of the witness whenever it has moved, and once more at the end. While the
// log contradicts what is there, that is left as it is.
func (r *Register) keepWitness(ctx context.Context, folder string, done chan<- struct{}) {
	defer close(done)
	beat := time.NewTicker(witnessEvery)
	defer beat.Stop()
	written := int64(0)
	for {
		if h := r.Head(); h.Size > written && r.lost.Load() == nil {
			if err := writeWitness(folder, h.Signed); err != nil {
				r.log.Error("the witness could not be written", "error", err)
				r.witnessTrouble.Store(&Notice{Kind: NoticeWitness, Since: r.now().UTC(),
					Words: "The log's head could not be written to " + folder + ".",
					Do:    "Look whether that disk is there. Without it nobody would see that an older copy was put back."})
			} else {
				written = h.Size
				r.witnessTrouble.Store(nil)
			}
		}
		select {
		case <-beat.C:
			continue
		case <-ctx.Done():
		}
		if h := r.Head(); h.Size > written && r.lost.Load() == nil {
			if err := writeWitness(folder, h.Signed); err != nil {
				r.log.Error("the witness could not be written", "error", err)
			}
		}
		return
	}
}

// writeWitness puts the head in place of the one before, whole or not at all.
func writeWitness(folder string, signed []byte) error {
	name := filepath.Join(folder, witnessFile)
	if err := os.WriteFile(name+".new", signed, 0o644); err != nil {
		return err
	}
	return os.Rename(name+".new", name)
}

// lostNotice tells of the head that the log contradicts.
func (r *Register) lostNotice() (Notice, bool) {
	c := r.lost.Load()
	if c == nil {
		return Notice{}, false
	}
	return Notice{Kind: NoticeLost, Since: r.now().UTC(), Words: c.Words, Head: c.Head,
			Do: "Nothing leads on to work. Look at every lock aboard: some may hang of which this register knows nothing. " +
				"Stop " +
				"the server and put the newer copy back. If it is lost for good, the chief engineer or the master says so below."},
		true
}
