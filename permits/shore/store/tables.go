package store

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	rows "stillwatch/permits/register/store"
)

// Tables are one ship's tables within a transaction: what a follower of its log begins from.
type Tables struct {
	ctx  context.Context
	tx   pgx.Tx
	ship int64
}

// EachOfKinds passes every entry that shapes the ship to f, in the order of the log. The kinds are those that were
// written as shaping it.
func (t Tables) EachOfKinds(_ []string, f func(rows.EntryRow) error) error {
	return t.each(f, "SELECT n, body FROM entries WHERE ship = $1 AND shapes ORDER BY n", t.ship)
}

// EachOfOpenPermits passes every entry of the permits that are not over to f, permit by permit, but for refusals.
func (t Tables) EachOfOpenPermits(f func(rows.EntryRow) error) error {
	return t.each(f, "SELECT e.n, e.body FROM permits p JOIN entries e ON e.ship = p.ship AND e.permit = p.id AND "+
		"e.permit > 0 AND e.kind <> 'refused' WHERE p.ship = $1 AND e.ship = $1 AND p.over = 0 ORDER BY p.id, e.n", t.ship)
}

// EachFrom passes the entries from a number on to f, in the order of the log.
func (t Tables) EachFrom(n int64, f func(rows.EntryRow) error) error {
	return t.each(f, "SELECT n, body FROM entries WHERE ship = $1 AND n >= $2 ORDER BY n", t.ship, n)
}

// EachUse passes every use of a plan to f.
func (t Tables) EachUse(f func(rows.UseRow)) error {
	found, err := t.tx.Query(t.ctx, "SELECT job, person, first, last FROM uses WHERE ship = $1", t.ship)
	if err != nil {
		return fmt.Errorf("read the uses: %w", err)
	}
	var row rows.UseRow
	_, err = pgx.ForEachRow(found, []any{&row.Job, &row.Person, &row.First, &row.Last},
		func() error { f(row); return nil })
	return err
}

// Ends returns the ends of the log as they were written with its newest entry.
func (t Tables) Ends(int64, string) (e rows.Ends, err error) {
	err = t.tx.QueryRow(t.ctx, "SELECT next, last, latest FROM ships WHERE id = $1", t.ship).Scan(&e.Next, &e.Last,
		&e.Latest)
	return e, err
}

// Hashes returns the hashes that are stored with an entry.
func (t Tables) Hashes(n int64) (row rows.TreeRow, err error) {
	row.N = n
	err = t.tx.QueryRow(t.ctx, "SELECT hashes FROM entries WHERE ship = $1 AND n = $2", t.ship, n).Scan(&row.Hashes)
	if err != nil {
		err = fmt.Errorf("read the hashes of entry %d: %w", n, err)
	}
	return row, err
}

func (t Tables) each(f func(rows.EntryRow) error, text string, args ...any) error {
	found, err := t.tx.Query(t.ctx, text, args...)
	if err != nil {
		return fmt.Errorf("read entries: %w", err)
	}
	var row rows.EntryRow
	_, err = pgx.ForEachRow(found, []any{&row.N, &row.Body}, func() error {
		e := row
		row.Body = nil // the next one gets its own bytes
		return f(e)
	})
	return err
}

// EachRecord passes the first entries with their hashes to f, in the order of the log.
func (t Tables) EachRecord(size int64, f func(rows.EntryRow, rows.TreeRow) error) error {
	found, err := t.tx.Query(t.ctx, "SELECT n, body, hashes FROM entries WHERE ship = $1 AND n < $2 ORDER BY n",
		t.ship, size)
	if err != nil {
		return fmt.Errorf("read entries: %w", err)
	}
	var e rows.EntryRow
	var h rows.TreeRow
	_, err = pgx.ForEachRow(found, []any{&e.N, &e.Body, &h.Hashes}, func() error {
		h.N = e.N
		return f(e, h)
	})
	return err
}
