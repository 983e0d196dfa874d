package register

import (
	"context"
	"encoding/hex"
	"fmt"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// load makes the state that is on the disk the one that is seen. Only what concerns the ship and the permits that are
// not over is folded.
func (r *Register) load(ctx context.Context) (err error) {
	defer func() {
		if v := recover(); v != nil { // an act on a permit whose beginning the tables have lost
			err = fmt.Errorf("load the log: its tables make no sense (%v): run log rebuild", v)
		}
	}()
	m := &snapshot{state: newState(r.judges)}
	err = r.db.Isolated(ctx, func(v store.View) error {
		size, root, note, err := readHead(v, r.key)
		if err != nil {
			return err
		}
		if m.frontier, err = readFrontier(v, size); err != nil {
			return err
		}
		if m.head, err = m.frontier.asHead(note); err != nil {
			return err
		}
		if size > 0 && m.head.Hash != hex.EncodeToString(root[:]) {
			return fmt.Errorf("the log's hashes do not make the hash that its head signs: run log verify")
		}
		return m.state.load(v, size)
	})
	if err != nil {
		return fmt.Errorf("load the log: %w", err)
	}
	m.head.At = m.state.lastAt
	r.seen.Store(m)
	return nil
}

// readHead reads the signed head, and refuses a log that does not end there.
func readHead(v store.View, k shipKey) (size int64, root [32]byte, note []byte, err error) {
	entries, tree, err := v.Sizes()
	if err != nil {
		return 0, root, nil, err
	}
	row, found, err := v.Head()
	switch {
	case err != nil:
		return 0, root, nil, err
	case !found && entries == 0 && tree == 0:
		return 0, root, nil, nil
	case !found:
		return 0, root, nil, fmt.Errorf("the log has %d entries but no signed head: run log verify", entries)
	}
	size, hash, err := openHead([]byte(row.Note), k.verifier)
	if err != nil {
		return 0, root, nil, err
	}
	if entries != size || tree != size || row.Size != size {
		return 0, root, nil, fmt.Errorf("the log has %d entries and %d rows of hashes but its signed head says %d: run log "+
			"verify", entries, tree, size)
	}
	return size, hash, []byte(row.Note), nil
}

// Tables are what a log's state is read from without reading the whole log.
type Tables interface {
	EachOfKinds(kinds []string, f func(store.EntryRow) error) error // in the order of the log
	EachOfOpenPermits(f func(store.EntryRow) error) error           // permit by permit, but for refusals
	EachUse(f func(store.UseRow)) error
	Ends(size int64, anew string) (store.Ends, error)
	Hashes(n int64) (store.TreeRow, error) // stored with an entry
}

// load folds what concerns the ship, then the open permits.
func (s *state) load(v Tables, size int64) error {
	err := v.EachOfKinds(texts(shapesShip), decoded(func(e permits.Entry) error { s.applyShip(e); return nil }))
	if err != nil {
		return err
	}
	if err := s.readFiles(); err != nil {
		return err
	}
	err = v.EachOfOpenPermits(decoded(func(e permits.Entry) error {
		s.keep(permits.Apply(s.permit(e.Permit), e))
		return nil
	}))
	if err != nil {
		return err
	}
	err = v.EachUse(func(row store.UseRow) {
		who := permits.PersonID(row.Person)
		s.uses = s.uses.With(row.Job, who, day(row.First)).With(row.Job, who, day(row.Last))
	})
	if err != nil {
		return err
	}
	ends, err := v.Ends(size, string(permits.KindPutClockRight))
	if err != nil {
		return err
	}
	s.next, s.size = permits.PermitID(ends.Next), size
	if size > 0 {
		s.lastAt, s.latest = fromMicro(ends.Last), fromMicro(ends.Latest)
	}
	return nil
}

// decoded reads the entry of each row for f.
func decoded(f func(permits.Entry) error) func(store.EntryRow) error {
	return func(row store.EntryRow) error {
		e, err := permits.DecodeEntry(row.N, row.Body)
		if err != nil {
			return fmt.Errorf("read entry %d: %w", row.N, err)
		}
		return f(e)
	}
}

// texts returns kinds as the database has them.
func texts(kinds []permits.Kind) []string {
	out := make([]string, len(kinds))
	for i, k := range kinds {
		out[i] = string(k)
	}
	return out
}
