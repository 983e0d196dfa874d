package store

import (
	"database/sql"
	"errors"
	"fmt"

	"gorm.io/gorm"
)

// take returns the one row of a query; found is false if there is none.
func take[R any](query *gorm.DB) (row R, found bool, err error) {
	err = query.Take(&row).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return row, false, nil
	}
	return row, err == nil, err
}

// Sizes returns how many entries and how many rows of hashes the highest numbers say that there are.
func (v View) Sizes() (entries, tree int64, err error) {
	var count struct{ Entries, Tree int64 }
	err = v.db.Raw("SELECT (SELECT coalesce(max(n) + 1, 0) FROM entries) AS entries, (SELECT coalesce(max(n) + 1, 0) " +
		"FROM tree) AS tree").Scan(&count).Error
	if err != nil {
		return 0, 0, fmt.Errorf("count the entries: %w", err)
	}
	return count.Entries, count.Tree, nil
}

// Head returns the signed head; found is false for a log that has none yet.
func (v View) Head() (row HeadRow, found bool, err error) {
	if row, found, err = take[HeadRow](v.db); err != nil {
		err = fmt.Errorf("read the head: %w", err)
	}
	return row, found, err
}

// Entry returns the bytes of one entry.
func (v View) Entry(n int64) (row EntryRow, found bool, err error) {
	if row, found, err = take[EntryRow](v.db.Where("n = ?", n)); err != nil {
		err = fmt.Errorf("read entry %d: %w", n, err)
	}
	return row, found, err
}

// Hashes returns the hashes that are stored with an entry.
func (v View) Hashes(n int64) (row TreeRow, err error) {
	if err = v.db.Where("n = ?", n).Take(&row).Error; err != nil {
		err = fmt.Errorf("read the hashes of entry %d: %w", n, err)
	}
	return row, err
}

// Act returns the number of the entry that an act made; found is false for an act that has not happened.
func (v View) Act(id string) (n int64, found bool, err error) {
	err = v.db.Raw("SELECT n FROM entry_index WHERE act_id = ? AND kind <> 'refused'", id).Row().Scan(&n)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return 0, false, nil
	case err != nil:
		return 0, false, fmt.Errorf("look for an act: %w", err)
	}
	return n, true, nil
}

// EachRefusal passes the entries of an act's refusals to f.
func (v View) EachRefusal(id string, f func(EntryRow) error) error {
	return eachEntry(v.db.Raw("SELECT e.n, e.body FROM entry_index i JOIN entries e ON e.n = i.n WHERE i.act_id = ? AND "+
		"i.kind = 'refused'", id), f)
}

// EachOfKinds passes every entry of these kinds to f, in the order of the log.
func (v View) EachOfKinds(kinds []string, f func(EntryRow) error) error {
	return eachEntry(v.db.Raw("SELECT e.n, e.body FROM entry_index i JOIN entries e ON e.n = i.n WHERE i.kind IN ? ORDER "+
		"BY i.n", kinds), f)
}

// EachOfOpenPermits passes every entry of the permits that are not over to f, permit by permit, but for refusals.
func (v View) EachOfOpenPermits(f func(EntryRow) error) error {
	return eachEntry(v.db.Raw("SELECT e.n, e.body FROM permits p JOIN entry_index i ON i.permit = p.id AND i.permit > 0 "+
		"JOIN entries e ON e.n = i.n WHERE p.over = 0 AND i.kind <> 'refused' ORDER BY p.id, i.n"), f)
}

// EachOfPermit passes the entries of a permit to f, but for refusals.
func (v View) EachOfPermit(permit int64, f func(EntryRow) error) error {
	return eachEntry(v.db.Raw("SELECT e.n, e.body FROM entry_index i JOIN entries e ON e.n = i.n WHERE i.permit = ? AND "+
		"i.permit > 0 AND +i.kind <> 'refused' ORDER BY i.n", permit), f)
}

// EachOfPermitAndKinds passes the first entries of a permit that are of these kinds to f, as many as there are kinds.
func (v View) EachOfPermitAndKinds(permit int64, kinds []string, f func(EntryRow) error) error {
	return eachEntry(v.db.Raw("SELECT e.n, e.body FROM entry_index i JOIN entries e ON e.n = i.n WHERE i.permit = ? AND "+
		"i.permit > 0 AND +i.kind IN ? ORDER BY i.n LIMIT ?", permit, kinds, len(kinds)), f)
}

// eachEntry passes the rows of a query of number and body to f, one at a time.
func eachEntry(query *gorm.DB, f func(EntryRow) error) error {
	var row EntryRow
	var failed error
	err := eachRow(query, []any{&row.N, &row.Body}, func() bool { failed = f(row); return failed == nil })
	return errors.Join(failed, err)
}

// eachRow scans the rows of a query into to, until f has had enough.
func eachRow(query *gorm.DB, to []any, f func() bool) (err error) {
	rows, err := query.Rows()
	if err != nil {
		return fmt.Errorf("read a table: %w", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		if err := rows.Scan(to...); err != nil {
			return fmt.Errorf("read a table: %w", err)
		}
		if !f() {
			return nil
		}
	}
	return rows.Err()
}

// Ends are figures from the ends of the tables.
type Ends struct {
	Next   int64 // number of the next permit
	Last   int64 // moment of the last entry
	Latest int64 // latest moment of any entry since the last of the kind that begins it anew
}

// Ends returns the ends of a log of this many entries; the latest moment is looked for from the last entry of the kind
// anew on.
func (v View) Ends(size int64, anew string) (e Ends, err error) {
	err = v.db.Raw("SELECT (SELECT coalesce(max(id), 0) + 1 FROM permits) AS next, coalesce((SELECT at FROM entry_index "+
		"WHERE n = ?), 0) AS last, (SELECT coalesce(max(at), 0) FROM entry_index WHERE n >= (SELECT "+
		"coalesce(max(n), 0) FROM entry_index WHERE kind = ?)) AS latest", size-1, anew).Scan(&e).Error
	if err != nil {
		return e, fmt.Errorf("find the log's ends: %w", err)
	}
	return e, nil
}

// Code returns what was issued under a digest.
func (v View) Code(digest string) (row CodeRow, found bool, err error) {
	if row, found, err = take[CodeRow](v.db.Where("digest = ?", digest)); err != nil {
		err = fmt.Errorf("find a tag: %w", err)
	}
	return row, found, err
}

// CodesOf returns the codes of a kind that were issued for a permit; 0: for none.
func (v View) CodesOf(permit int64, kind string) (rows []CodeRow, err error) {
	if err = v.db.Find(&rows, "permit = ? AND kind = ?", permit, kind).Error; err != nil {
		err = fmt.Errorf("read the codes of permit %d: %w", permit, err)
	}
	return rows, err
}

// PIN returns the hash of a person's PIN.
func (v View) PIN(person string) (row PINRow, found bool, err error) {
	if row, found, err = take[PINRow](v.db.Where("person = ?", person)); err != nil {
		err = fmt.Errorf("read the PIN of %s: %w", person, err)
	}
	return row, found, err
}

// PINs returns the hashes of everybody's PINs.
func (v View) PINs() (rows []PINRow, err error) {
	if err = v.db.Find(&rows).Error; err != nil {
		err = fmt.Errorf("read the PINs: %w", err)
	}
	return rows, err
}

// Mark returns a fact about the register itself; "" if it was never set.
func (v View) Mark(name string) (string, error) {
	row, _, err := take[markRow](v.db.Where("name = ?", name))
	return row.Value, err
}
