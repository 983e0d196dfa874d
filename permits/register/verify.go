package register

import (
	"bytes"
	"context"
	"fmt"
	"time"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// Verify looks at everything in a data folder, also while the program runs on it: the guards, the signed head, every
// entry against the tree, every entry again through its gate, and the projections against what the entries make. What
// is not as it was written is in the report; an error says that the looking itself went wrong.
func Verify(ctx context.Context, dir string) (Report, error) {
	return verifyBy(ctx, dir, permits.Judges())
}

func verifyBy(ctx context.Context, dir string, judges []permits.Judge) (Report, error) {
	k, err := readKey(dir)
	if err != nil {
		return Report{}, err
	}
	db, err := store.OpenToRead(dir)
	if err != nil {
		return Report{}, err
	}
	report, err := verifyFolder(ctx, db, k, judges, false)
	if e := db.Close(); err == nil {
		err = e
	}
	if err != nil {
		return report, fmt.Errorf("verify the log in %s: %w", dir, err)
	}
	return report, nil
}

// verifyFolder looks at a folder as it stands at one moment; slowly with rests between, so that whoever works meanwhile
// does not feel it.
func verifyFolder(ctx context.Context, db *store.Database, k shipKey, judges []permits.Judge, slowly bool) (r Report,
	err error) {
	err = db.Isolated(ctx, func(v store.View) error {
		r, err = verify(ctx, v, k, judges, slowly)
		return err
	})
	return r, err
}

func verify(ctx context.Context, v store.View, k shipKey, judges []permits.Judge, slowly bool) (Report, error) {
	if err := v.CheckFormat(); err != nil {
		return Report{}, err
	}
	head, faults, err := storedHead(v, k)
	if err != nil {
		return Report{}, err
	}
	a := newAudit(head, judges)
	a.report.Faults = faults
	if err := v.CheckGuards(); err != nil {
		a.report.fault(-1, "%v", err)
	}
	p := newProjections()
	a.each = p.see(a)
	a.replay.ended = p.permitEnds
	err = a.run(ctx, func(take func(raw) error) error {
		return readRaw(v, func(w raw) error {
			if slowly && w.n%restAfter == 0 {
				time.Sleep(rest)
			}
			return take(w)
		})
	})
	if err != nil {
		return a.report, err
	}
	a.end()
	if err := a.countRows(v); err != nil {
		return a.report, err
	}
	if a.halted {
		return a.report, nil // projections of a log that cannot be replayed say nothing
	}
	return a.report, p.compare(v, a)
}

// storedHead reads the head as it is signed; a head that does not check is a fault, not an error.
func storedHead(v store.View, k shipKey) (Head, []Fault, error) {
	row, found, err := v.Head()
	if err != nil || !found {
		return Head{}, nil, err
	}
	head, err := headOf([]byte(row.Note), k.verifier)
	if err != nil {
		return Head{Size: row.Size}, []Fault{{Entry: -1, Words: err.Error()}}, nil
	}
	if head.Size != row.Size {
		return head, []Fault{{Entry: -1, Words: fmt.Sprintf("its head is filed under size %d but signs %d", row.Size,
			head.Size)}}, nil
	}
	return head, nil, nil
}

// readRaw reads entries with their hashes and rows of the index, in order.
func readRaw(v store.View, take func(raw) error) error {
	return v.EachRecord(func(e store.EntryRow, t store.TreeRow, i store.IndexRow) error {
		return take(raw{n: e.N, body: bytes.Clone(e.Body), hashes: bytes.Clone(t.Hashes), index: &i})
	})
}

// countRows looks for rows of hashes and of the index of entries that do not exist.
func (a *audit) countRows(v store.View) error {
	tree, index, err := v.Beyond(a.report.Entries)
	if err != nil {
		return err
	}
	for _, n := range tree {
		a.report.fault(n, "is not there, but there is a row of hashes for it")
	}
	for _, n := range index {
		a.report.tableFault(n, "is not there, but there is a row of the index for it")
	}
	return nil
}
