package store

import (
	"fmt"
	"math"
)

// LifeRow is how long one permit took to its work, and what hung for it.
type LifeRow struct {
	ID          int64
	MachineName string
	Requested   int64 // microseconds
	Live        int64 // when it was accepted first; 0: it was not
	Locks       int
}

// Lives returns the permits that were requested in a time, oldest first.
func (v View) Lives(from, to int64) (rows []LifeRow, err error) {
	err = v.db.Raw("SELECT p.id, p.machine_name, p.requested_at AS requested, coalesce(a.at, 0) AS live, p.locks FROM "+
		"permits p LEFT JOIN (SELECT permit, min(at) AS at FROM entry_index WHERE kind = 'accept' AND at >= ? GROUP BY "+
		"permit) a ON a.permit = p.id WHERE p.requested_at >= ? AND p.requested_at < ? ORDER BY p.id", from, from,
		to).Scan(&rows).Error
	if err != nil {
		return nil, fmt.Errorf("read how long permits took: %w", err)
	}
	return rows, nil
}

// EachOfKindBetween passes the newest entries of a kind in a time to f, oldest first.
func (v View) EachOfKindBetween(kind string, from, to int64, limit int, f func(EntryRow) error) error {
	return eachEntry(v.db.Raw("SELECT e.n, e.body FROM (SELECT n FROM entry_index WHERE kind = ? AND at >= ? AND at < ? "+
		"ORDER BY at DESC LIMIT ?) i JOIN entries e ON e.n = i.n ORDER BY e.n", kind, from, to, limit), f)
}

// EachOfMachine passes the newest entries of the permits of a machine, with numbers below before (0: any), to f, newest
// first. So many entries can only be of the so many permits whose own newest entries are the newest: one look into the
// index a permit finds these, and only their entries are sorted.
func (v View) EachOfMachine(machine string, before int64, limit int, f func(EntryRow) error) error {
	if before <= 0 {
		before = math.MaxInt64
	}
	return eachEntry(v.db.Raw("SELECT e.n, e.body FROM (SELECT i.n FROM (SELECT p.id, (SELECT max(l.n) FROM "+
		"entry_index l WHERE l.permit = p.id AND l.permit > 0 AND l.n < ?) AS newest FROM permits p WHERE p.machine = ? "+
		"ORDER BY newest DESC LIMIT ?) q JOIN entry_index i ON i.permit = q.id AND i.permit > 0 AND i.n < ? "+
		"ORDER BY i.n DESC LIMIT ?) f JOIN entries e ON e.n = f.n ORDER BY e.n DESC", before, machine, limit,
		before, limit), f)
}
