package store

import (
	"context"
	"database/sql"
	"errors"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

// Commit is what one transaction writes: entries with all that is made of them.
type Commit struct {
	From    int64   // how many entries the log has before
	Head    HeadRow // after; not looked at without entries
	Entries []EntryRow
	Tree    []TreeRow
	Index   []IndexRow
	Points  []PointRow
	Permits []PermitRow // each permit once, as it stands afterwards
	Codes   []CodeRow
	Uses    []UseRow // each once, as it stands afterwards

	PINs []PINRow // beside the log, which must not have them
}

// ErrOtherWriter says that the log on the disk is not the one that this process has written.
var ErrOtherWriter = errors.New("the log was written by another process")

// insertions are those of every act.
type insertions struct {
	entries insertion[EntryRow]
	tree    insertion[TreeRow]
	index   insertion[IndexRow]
	points  insertion[PointRow]
	permits insertion[PermitRow]
	codes   insertion[CodeRow]
	head    *sql.Stmt
	use     *sql.Stmt
}

// prepare prepares the statements of every act; the tables must be there.
func (in *insertions) prepare(ctx context.Context, pool *sql.DB) (err error) {
	in.permits.replaces = true
	in.head, err = pool.PrepareContext(ctx, "INSERT INTO head VALUES (1, ?, ?) ON CONFLICT DO UPDATE SET size = "+
		"excluded.size, note = excluded.note WHERE size = ?")
	var failed error
	in.use, failed = pool.PrepareContext(ctx, "INSERT INTO uses VALUES (?, ?, ?, ?) ON CONFLICT (job, person) DO UPDATE "+
		"SET first = excluded.first, last = excluded.last")
	return errors.Join(err, failed, in.entries.prepare(ctx, pool), in.tree.prepare(ctx, pool), in.index.prepare(ctx, pool),
		in.points.prepare(ctx, pool), in.permits.prepare(ctx, pool), in.codes.prepare(ctx, pool))
}

// write writes what a commit has of the log.
func (in *insertions) write(tx *sql.Tx, c Commit) error {
	if len(c.Entries) == 0 {
		return nil
	}
	moved, err := tx.Stmt(in.head).Exec(c.Head.Size, c.Head.Note, c.From)
	if err != nil {
		return err
	}
	if n, err := moved.RowsAffected(); err != nil || n != 1 { // it does not stand where this writer left it
		return errors.Join(ErrOtherWriter, err)
	}
	return errors.Join(in.entries.into(tx, c.Entries), in.tree.into(tx, c.Tree), in.index.into(tx, c.Index),
		in.points.into(tx, c.Points), in.permits.into(tx, c.Permits), in.codes.into(tx, c.Codes), in.usesInto(tx, c.Uses))
}

// usesInto puts rows of uses in, in place of those with the same key.
func (in *insertions) usesInto(tx *sql.Tx, rows []UseRow) error {
	for _, row := range rows {
		if _, err := tx.Stmt(in.use).Exec(row.Job, row.Person, row.First, row.Last); err != nil {
			return err
		}
	}
	return nil
}

// Commit writes all of c, or nothing, and returns when it is on the disk.
func (d *Database) Commit(c Commit) error {
	tx, err := d.pools[0].Begin()
	if err != nil {
		return err
	}
	err = d.insertions.write(tx, c)
	if err == nil {
		err = d.setPINs(tx, c.PINs)
	}
	if err != nil {
		return errors.Join(err, tx.Rollback())
	}
	return tx.Commit()
}

// setPINs writes hashes of PINs.
func (d *Database) setPINs(tx *sql.Tx, rows []PINRow) error {
	db := d.write.Session(&gorm.Session{NewDB: true, Context: context.Background()})
	db.Statement.ConnPool = tx
	return replace(db, rows)
}

// replace puts rows in, in place of those with the same key.
func replace[R any](db *gorm.DB, rows []R) error {
	if len(rows) == 0 {
		return nil
	}
	return db.Clauses(clause.OnConflict{UpdateAll: true}).Create(&rows).Error
}

// SetMark keeps a fact about the register itself.
func (d *Database) SetMark(ctx context.Context, name, value string) error {
	return replace(d.write.WithContext(ctx), []markRow{{name, value}})
}

// Rebuild empties the tables that are made from the log and lets fill write them anew, all or nothing. Of the PINs
// keepPINs keeps those whose row is of the entry that it is told; codes that fill does not put are lost.
func (d *Database) Rebuild(ctx context.Context, fill func(put func(Commit) error,
	keepPINs func(entryOf map[string]int64) error) error) error {
	pins, err := d.Now(ctx).PINs()
	if err != nil {
		return err
	}
	tx, err := d.pools[0].BeginTx(ctx, nil)
	if err != nil {
		return err
	}
	for _, table := range []string{"entry_index", "point_index", "permits", "codes", "uses"} {
		if _, e := tx.Exec("DELETE FROM " + table); err == nil {
			err = e
		}
	}
	in := &d.insertions
	put := func(c Commit) error {
		return errors.Join(in.index.into(tx, c.Index), in.points.into(tx, c.Points), in.permits.into(tx, c.Permits),
			in.codes.into(tx, c.Codes), in.usesInto(tx, c.Uses))
	}
	keepPINs := func(entryOf map[string]int64) error {
		for _, row := range pins {
			if n, known := entryOf[row.Person]; known && n == row.Entry {
				continue
			}
			if _, err := tx.Exec("DELETE FROM pins WHERE person = ?", row.Person); err != nil {
				return err
			}
		}
		return nil
	}
	if err == nil {
		err = fill(put, keepPINs)
	}
	if err != nil {
		return errors.Join(err, tx.Rollback())
	}
	return tx.Commit()
}
