package register

import (
	"context"
	"time"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// Life is how long one permit took from its request to its work, and how many steps it had.
type Life struct {
	ID        permits.PermitID
	Machine   string
	Requested time.Time
	Live      time.Time // when it was accepted first; zero: it never was
	Locks     int
}

// Lives returns the permits that were requested in a time, oldest first.
func (r *Register) Lives(ctx context.Context, from, to time.Time) ([]Life, error) {
	rows, err := r.db.Now(ctx).Lives(from.UnixMicro(), to.UnixMicro())
	if err != nil {
		return nil, err
	}
	out := make([]Life, len(rows))
	for i, row := range rows {
		out[i] = Life{ID: permits.PermitID(row.ID), Machine: row.MachineName, Requested: fromMicro(row.Requested),
			Locks: row.Locks}
		if row.Live > 0 {
			out[i].Live = fromMicro(row.Live)
		}
	}
	return out, nil
}

// EntriesBetween returns the entries of a kind in a time, oldest first; of more than limit the newest.
func (r *Register) EntriesBetween(ctx context.Context, kind permits.Kind, from, to time.Time,
	limit int) (out []permits.Entry, err error) {
	err = r.db.Now(ctx).EachOfKindBetween(string(kind), from.UnixMicro(), to.UnixMicro(), limit, listed(&out))
	return out, err
}

// EntriesOfMachine returns entries of the permits of a machine with numbers below before (0: from the newest), newest
// first.
func (r *Register) EntriesOfMachine(ctx context.Context, machine string, before int64, limit int) (out []permits.Entry,
	err error) {
	err = r.db.Now(ctx).EachOfMachine(machine, before, limit, listed(&out))
	return out, err
}

// listed puts the entries of rows behind those in a list.
func listed(list *[]permits.Entry) func(store.EntryRow) error {
	return decoded(func(e permits.Entry) error { *list = append(*list, e); return nil })
}
