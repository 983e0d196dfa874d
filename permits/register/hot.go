package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"strings"

	"gorm.io/gorm"
)

// hot are the statements of every act, prepared once: the writer's on its only connection. gorm prepares anew in every
// transaction, which costs about as much as the whole of an act's other work, so the writer alone goes without it.
type hot struct {
	firstHead, head, permit, moved   *sql.Stmt
	entry, tree, line, touched, code insertion
	once, tag                        *sql.Stmt // reads
}

// insertion puts rows into a table, several by one statement where there are several.
type insertion struct{ one, several *sql.Stmt }

// severalRows is how many rows one statement takes.
const severalRows = 8

const (
	insertFirstHead = "INSERT INTO head (one, size, note) VALUES (1, ?, ?)"
	updateHead      = "UPDATE head SET size = ?, note = ? WHERE one = 1 AND size = ?"
	insertEntry     = "INSERT INTO entries (n, body) VALUES (?, ?)"
	insertTree      = "INSERT INTO tree (n, hashes) VALUES (?, ?)"
	insertLine      = "INSERT INTO lines (n, at, act_id, kind, permit, person, about) VALUES (?, ?, ?, ?, ?, ?, ?)"
	insertTouched   = "INSERT INTO touched (point, n) VALUES (?, ?)"
	insertCode      = "INSERT INTO codes (digest, code, kind, permit, step, point, issued) VALUES (?, ?, ?, ?, ?, ?, ?)"
	selectOnce      = "SELECT n FROM lines WHERE act_id = ? AND kind <> 'refused'"
	selectTag       = "SELECT kind, permit, step, point, issued FROM codes WHERE digest = ?"
	movePermit      = "UPDATE permits SET state = ?, over = ?, changed = ?, until = ?, locks_on = ?, signed_on = ?, " +
		"entries = ?, last_entry = ? WHERE id = ?"
	insertPermit = `INSERT INTO permits (id, state, over, job, machine, machine_name, title, work, exposure, requested_by, requested_at,
		changed, until, locks, locks_on, signed_on, entries, last_entry) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`
)

// prepare prepares the statements; the schema must be there.
func (d *database) prepare(ctx context.Context) error {
	h := &d.hot
	for _, p := range []struct {
		pool *sql.DB
		text string
		to   **sql.Stmt
	}{
		{d.writePool(), insertFirstHead, &h.firstHead}, {d.writePool(), updateHead, &h.head},
		{d.writePool(), insertPermit, &h.permit}, {d.writePool(), movePermit, &h.moved},
		{d.writePool(), insertEntry, &h.entry.one}, {d.writePool(), forSeveral(insertEntry), &h.entry.several},
		{d.writePool(), insertTree, &h.tree.one}, {d.writePool(), forSeveral(insertTree), &h.tree.several},
		{d.writePool(), insertLine, &h.line.one}, {d.writePool(), forSeveral(insertLine), &h.line.several},
		{d.writePool(), insertTouched, &h.touched.one}, {d.writePool(), forSeveral(insertTouched), &h.touched.several},
		{d.writePool(), insertCode, &h.code.one}, {d.writePool(), forSeveral(insertCode), &h.code.several},
		{d.readPool(), selectOnce, &h.once}, {d.readPool(), selectTag, &h.tag},
	} {
		var err error
		if *p.to, err = p.pool.PrepareContext(ctx, p.text); err != nil {
			return fmt.Errorf("prepare %q: %w", p.text, err)
		}
	}
	return nil
}

// forSeveral makes an insertion of one row one of several.
func forSeveral(insert string) string {
	values := insert[strings.LastIndex(insert, "("):]
	return insert + strings.Repeat(", "+values, severalRows-1)
}

// into inserts rows; row gives the values of each.
func (in insertion) into(tx *sql.Tx, rows int, row func(i int) []any) error {
	i := 0
	for ; rows-i >= severalRows; i += severalRows {
		var values []any
		for k := range severalRows {
			values = append(values, row(i+k)...)
		}
		if _, err := tx.Stmt(in.several).Exec(values...); err != nil {
			return err
		}
	}
	for ; i < rows; i++ {
		if _, err := tx.Stmt(in.one).Exec(row(i)...); err != nil {
			return err
		}
	}
	return nil
}

// writing runs f in one transaction of the writer and puts it on the disk.
func (d *database) writing(f func(tx *sql.Tx) error) error {
	tx, err := d.writePool().Begin()
	if err != nil {
		return err
	}
	if err := f(tx); err != nil {
		return errors.Join(err, tx.Rollback())
	}
	return tx.Commit()
}

// within returns gorm on a transaction that was begun without it.
func (d *database) within(tx *sql.Tx) *gorm.DB {
	db := d.write.Session(&gorm.Session{NewDB: true, Context: context.Background()})
	db.Statement.ConnPool = tx
	return db
}

// errOtherWriter says that the log on the disk is not the one that this process has written.
var errOtherWriter = errors.New("the log was written by another process")

// moveHead sets the signed head, if it still stands where this writer left it.
func (h *hot) moveHead(tx *sql.Tx, from int64, to Head) error {
	if from == 0 {
		_, err := tx.Stmt(h.firstHead).Exec(to.Size, string(to.Signed))
		return err
	}
	got, err := tx.Stmt(h.head).Exec(to.Size, string(to.Signed), from)
	if err != nil {
		return err
	}
	if n, err := got.RowsAffected(); err != nil || n != 1 {
		return errors.Join(errOtherWriter, err)
	}
	return nil
}

// insert writes a batch's rows.
func (h *hot) insert(tx *sql.Tx, rows batchRows) error {
	for _, put := range []struct {
		table insertion
		rows  int
		row   func(i int) []any
	}{
		{h.entry, len(rows.entries), func(i int) []any { e := rows.entries[i]; return []any{e.N, e.Body} }},
		{h.tree, len(rows.tree), func(i int) []any { t := rows.tree[i]; return []any{t.N, t.Hashes} }},
		{h.line, len(rows.lines), func(i int) []any {
			l := rows.lines[i]
			return []any{l.N, l.At, l.ActID, l.Kind, l.Permit, l.Person, l.About}
		}},
		{h.touched, len(rows.touched), func(i int) []any { t := rows.touched[i]; return []any{t.Point, t.N} }},
		{h.code, len(rows.codes), func(i int) []any {
			c := rows.codes[i]
			return []any{c.Digest, c.Code, c.Kind, c.Permit, c.Step, c.Point, c.Issued}
		}},
	} {
		if err := put.table.into(tx, put.rows, put.row); err != nil {
			return err
		}
	}
	return h.putPermits(tx, rows.permits)
}

// putPermits brings permits up to date, or puts in those that are new.
func (h *hot) putPermits(tx *sql.Tx, rows []permitRow) error {
	moved := tx.Stmt(h.moved)
	for _, p := range rows {
		got, err := moved.Exec(p.State, p.Over, p.Changed, p.Until, p.LocksOn, p.SignedOn, p.Entries, p.LastEntry, p.ID)
		if err != nil {
			return err
		}
		there, err := got.RowsAffected()
		if err != nil {
			return err
		}
		if there > 0 {
			continue
		}
		_, err = tx.Stmt(h.permit).Exec(p.ID, p.State, p.Over, p.Job, p.Machine, p.MachineName, p.Title, p.Work, p.Exposure,
			p.RequestedBy,
			p.RequestedAt, p.Changed, p.Until, p.Locks, p.LocksOn, p.SignedOn, p.Entries, p.LastEntry)
		if err != nil {
			return err
		}
	}
	return nil
}
