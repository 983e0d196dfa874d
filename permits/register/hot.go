package register

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"gorm.io/gorm"
)

// hot are the statements of every act, prepared once: the writer's on its only connection. gorm prepares anew in every transaction,
// which costs about as much as the whole of an act's other work, so the writer alone goes without it.
type hot struct {
	firstHead, head, entry, tree, line, touched, code, permit *sql.Stmt
	once, tag                                                 *sql.Stmt // reads
}

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
	upsertPermit    = `INSERT INTO permits (id, state, over, job, machine, machine_name, title, work, exposure, requested_by, requested_at,
		changed, until, locks, locks_on, signed_on, entries, last_entry) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)
		ON CONFLICT (id) DO UPDATE SET state = excluded.state, over = excluded.over, changed = excluded.changed, until = excluded.until,
		locks_on = excluded.locks_on, signed_on = excluded.signed_on, entries = excluded.entries, last_entry = excluded.last_entry`
)

// prepare prepares the writer's statements; the schema must be there.
func (d *database) prepare(ctx context.Context) error {
	for text, to := range map[string]**sql.Stmt{
		insertFirstHead: &d.hot.firstHead, updateHead: &d.hot.head, insertEntry: &d.hot.entry, insertTree: &d.hot.tree,
		insertLine: &d.hot.line, insertTouched: &d.hot.touched, insertCode: &d.hot.code, upsertPermit: &d.hot.permit,
	} {
		s, err := d.writePool().PrepareContext(ctx, text)
		if err != nil {
			return fmt.Errorf("prepare to write: %w", err)
		}
		*to = s
	}
	for text, to := range map[string]**sql.Stmt{selectOnce: &d.hot.once, selectTag: &d.hot.tag} {
		s, err := d.readPool().PrepareContext(ctx, text)
		if err != nil {
			return fmt.Errorf("prepare to read: %w", err)
		}
		*to = s
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

// within gives gorm on a transaction that was begun without it.
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
	entry, tree, line := tx.Stmt(h.entry), tx.Stmt(h.tree), tx.Stmt(h.line)
	for i, e := range rows.entries {
		if _, err := entry.Exec(e.N, e.Body); err != nil {
			return err
		}
		if _, err := tree.Exec(e.N, rows.tree[i].Hashes); err != nil {
			return err
		}
		l := rows.lines[i]
		if _, err := line.Exec(l.N, l.At, l.ActID, l.Kind, l.Permit, l.Person, l.About); err != nil {
			return err
		}
	}
	for _, row := range rows.touched {
		if _, err := tx.Stmt(h.touched).Exec(row.Point, row.N); err != nil {
			return err
		}
	}
	for _, c := range rows.codes {
		if _, err := tx.Stmt(h.code).Exec(c.Digest, c.Code, c.Kind, c.Permit, c.Step, c.Point, c.Issued); err != nil {
			return err
		}
	}
	for _, p := range rows.permits {
		_, err := tx.Stmt(h.permit).Exec(p.ID, p.State, p.Over, p.Job, p.Machine, p.MachineName, p.Title, p.Work, p.Exposure, p.RequestedBy,
			p.RequestedAt, p.Changed, p.Until, p.Locks, p.LocksOn, p.SignedOn, p.Entries, p.LastEntry)
		if err != nil {
			return err
		}
	}
	return nil
}
