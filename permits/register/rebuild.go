package register

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// openStopped opens a folder on which no program runs, and holds it.
func openStopped(ctx context.Context, dir string) (lock *os.File, k shipKey, db *store.Database, err error) {
	if k, err = readKey(dir); err != nil {
		return nil, k, nil, err
	}
	if lock, err = os.OpenFile(filepath.Join(dir, lockFile), os.O_RDWR|os.O_CREATE, 0o600); err != nil {
		return nil, k, nil, fmt.Errorf("lock the data folder: %w", err)
	}
	if err = store.LockWhole(lock); err != nil {
		err = fmt.Errorf("lock the data folder %s: stop the server first: %w", dir, err)
	} else {
		db, err = store.Open(ctx, dir)
	}
	if err != nil {
		return nil, k, nil, errors.Join(err, lock.Close())
	}
	return lock, k, db, nil
}

// rebuildBy is how many entries' rows are written at once.
const rebuildBy = 1000

// rebuild writes every table anew that is made from the log.
func rebuild(ctx context.Context, db *store.Database) error {
	codes := map[string]string{} // by digest: what the log does not have
	if err := db.Now(ctx).EachCode(func(row store.CodeRow) {
		if _, err := parseCode(row); err == nil {
			codes[row.Digest] = row.Code
		}
	}); err != nil {
		return err
	}
	return db.Rebuild(ctx, func(put func(store.Commit) error, keepPINs func(map[string]int64) error) error {
		replay, c := NewReplay(), store.Commit{}
		replay.ended = func(p permits.Permit, last int64) { c.Permits = append(c.Permits, permitRow(p, last)) }
		err := db.Now(ctx).EachRecord(func(row store.EntryRow, _ store.TreeRow, _ store.IndexRow) error {
			e, err := permits.DecodeEntry(row.N, row.Body)
			if err != nil {
				return err
			}
			after, err := replay.Next(e)
			if err != nil {
				return err
			}
			c.Index = append(c.Index, indexRow(e))
			for _, point := range permits.Touches(e, after).Points {
				c.Points = append(c.Points, store.PointRow{Point: string(point), N: e.N})
			}
			for _, code := range codesOf(e, after) {
				if text, kept := codes[code.Digest]; kept {
					code.Code = text
					c.Codes = append(c.Codes, code)
				}
			}
			if len(c.Index) < rebuildBy {
				return nil
			}
			full := c
			c = store.Commit{}
			return put(full)
		})
		for id, p := range replay.state.open {
			c.Permits = append(c.Permits, permitRow(*p, replay.last[id]))
		}
		replay.state.uses.Each(func(job string, who permits.PersonID, used permits.Used) {
			c.Uses = append(c.Uses, useRow(job, who, used))
		})
		pins := map[string]int64{}
		for person, set := range replay.state.ship.PINs {
			pins[string(person)] = set.Entry
		}
		if err == nil {
			err = put(c)
		}
		if err == nil {
			err = keepPINs(pins)
		}
		return err
	})
}
