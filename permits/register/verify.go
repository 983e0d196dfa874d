package register

import (
	"context"
	"errors"
	"fmt"

	"gorm.io/gorm"
)

// Verify looks at everything in a data folder, also while the program runs on it: the guards, the signed head, every
// entry against the tree, every entry again through its gate, and the projections against what the entries make. What
// is not as it was written is in the report; an error says that the looking itself went wrong.
func Verify(ctx context.Context, dir string) (Report, error) {
	k, err := readKey(dir)
	if err != nil {
		return Report{}, err
	}
	db, err := openDatabase(dir, false)
	if err != nil {
		return Report{}, err
	}
	var report Report
	err = db.isolated(ctx, func(tx *gorm.DB) error {
		report, err = verify(ctx, tx, k)
		return err
	})
	if e := db.close(); err == nil {
		err = e
	}
	if err != nil {
		return report, fmt.Errorf("verify the log in %s: %w", dir, err)
	}
	return report, nil
}

func verify(ctx context.Context, tx *gorm.DB, k shipKey) (Report, error) {
	if _, _, err := schemaVersion(tx); err != nil {
		return Report{}, err
	}
	head, faults, err := storedHead(tx, k)
	if err != nil {
		return Report{}, err
	}
	a := newAudit(head)
	a.report.Faults = faults
	if err := checkGuards(tx); err != nil {
		a.report.fault(-1, "%v", err)
	}
	p := newProjections()
	a.each = p.see(a)
	a.replay.ended = p.permitEnds
	if err := a.run(ctx, func(take func(raw) error) error { return readRaw(tx, take) }); err != nil {
		return a.report, err
	}
	a.end()
	if err := a.countRows(tx); err != nil {
		return a.report, err
	}
	if a.halted {
		return a.report, nil // projections of a log that cannot be replayed say nothing
	}
	return a.report, p.compare(tx, a)
}

// storedHead reads the head as it is signed; a head that does not check is a fault, not an error.
func storedHead(tx *gorm.DB, k shipKey) (Head, []Fault, error) {
	var row headRow
	err := tx.Take(&row).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return Head{}, nil, nil
	}
	if err != nil {
		return Head{}, nil, fmt.Errorf("read the head: %w", err)
	}
	head, err := headOf([]byte(row.Note), k.verifier)
	if err != nil {
		return Head{Size: row.Size}, []Fault{{-1, err.Error()}}, nil
	}
	if head.Size != row.Size {
		return head, []Fault{{-1, fmt.Sprintf("its head is filed under size %d but signs %d", row.Size, head.Size)}}, nil
	}
	return head, nil, nil
}

// readRaw reads entries with their hashes and lines, in order.
func readRaw(tx *gorm.DB, take func(raw) error) (err error) {
	rows, err := tx.Raw(`SELECT e.n, e.body, t.hashes, coalesce(l.n, -1), coalesce(l.at, 0), coalesce(l.act_id, ''), coalesce(l.kind, ''),
		coalesce(l.permit, 0), coalesce(l.person, ''), coalesce(l.about, '')
		FROM entries e LEFT JOIN tree t ON t.n = e.n LEFT JOIN lines l ON l.n = e.n ORDER BY e.n`).Rows()
	if err != nil {
		return fmt.Errorf("read the log: %w", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var w raw
		l := &lineRow{}
		if err := rows.Scan(&w.n, &w.body, &w.hashes, &l.N, &l.At, &l.ActID, &l.Kind, &l.Permit, &l.Person,
			&l.About); err != nil {
			return fmt.Errorf("read the log: %w", err)
		}
		w.line = l
		if err := take(w); err != nil {
			return err
		}
	}
	return rows.Err()
}

// countRows looks for rows of hashes and lines of entries that do not exist.
func (a *audit) countRows(tx *gorm.DB) error {
	for _, table := range []string{"tree", "lines"} {
		var beyond []int64
		if err := tx.Raw("SELECT n FROM "+table+" WHERE n >= ? OR n < 0 ORDER BY n LIMIT 5",
			a.report.Entries).Scan(&beyond).Error; err != nil {
			return fmt.Errorf("count %s: %w", table, err)
		}
		for _, n := range beyond {
			a.report.fault(n, "is not there, but the table %s has a row for it", table)
		}
	}
	return nil
}
