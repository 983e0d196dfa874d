package store

import (
	"fmt"
)

// EachRecord passes every entry with its hashes and its row of the index to f, in order, until f returns an error. A
// row that is missing comes as zero, with the number -1 in the index. The rows are scanned field by field, since that
// is most of a verification's reading.
func (v View) EachRecord(f func(EntryRow, TreeRow, IndexRow) error) error {
	var e EntryRow
	var t TreeRow
	var i IndexRow
	var failed error
	query := v.db.Raw("SELECT e.n, e.body, t.hashes, coalesce(i.n, -1), coalesce(i.at, 0), coalesce(i.act_id, ''), " +
		"coalesce(i.kind, ''), coalesce(i.permit, 0), coalesce(i.person, ''), coalesce(i.about, '') FROM entries e LEFT " +
		"JOIN " +
		"tree t ON t.n = e.n LEFT JOIN entry_index i ON i.n = e.n ORDER BY e.n")
	err := eachRow(query, []any{&e.N, &e.Body, &t.Hashes, &i.N, &i.At, &i.ActID, &i.Kind, &i.Permit, &i.Person, &i.About},
		func() bool {
			t.N = e.N
			failed = f(e, t, i)
			return failed == nil
		})
	if failed != nil {
		return failed
	}
	return err
}

// Beyond returns the numbers of the first rows of hashes and of the index for which a log of this size has no entry.
func (v View) Beyond(size int64) (tree, index []int64, err error) {
	if err := v.db.Model(&TreeRow{}).Where("n >= ? OR n < 0", size).Order("n").Limit(5).Pluck("n",
		&tree).Error; err != nil {
		return nil, nil, fmt.Errorf("count the rows of hashes: %w", err)
	}
	if err := v.db.Model(&IndexRow{}).Where("n >= ? OR n < 0", size).Order("n").Limit(5).Pluck("n",
		&index).Error; err != nil {
		return nil, nil, fmt.Errorf("count the rows of the index: %w", err)
	}
	return tree, index, nil
}

// EachPermit passes every row of permits to f.
func (v View) EachPermit(f func(PermitRow)) error { return eachOf(v, f) }

// EachPoint passes every row of the index of points to f.
func (v View) EachPoint(f func(PointRow)) error { return eachOf(v, f) }

// EachCode passes every code to f.
func (v View) EachCode(f func(CodeRow)) error { return eachOf(v, f) }

// EachUse passes every row of the uses to f. A file of a format that has none yet has no row.
func (v View) EachUse(f func(UseRow)) error {
	if has, err := v.HasUses(); err != nil || !has {
		return err
	}
	return eachOf(v, f)
}

// HasUses reports whether the file's format has the table of uses.
func (v View) HasUses() (bool, error) {
	have, err := v.format()
	return have >= formatUses, err
}

// eachOf passes the rows of a whole table to f, one at a time.
func eachOf[R any](v View, f func(R)) (err error) {
	var row R
	rows, err := v.db.Model(&row).Rows()
	if err != nil {
		return fmt.Errorf("read a table: %w", err)
	}
	defer rows.Close() // read only
	for rows.Next() {
		var row R
		if err := v.db.ScanRows(rows, &row); err != nil {
			return fmt.Errorf("read a table: %w", err)
		}
		f(row)
	}
	return rows.Err()
}
