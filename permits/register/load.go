package register

import (
	"context"
	"encoding/hex"
	"errors"
	"fmt"

	"gorm.io/gorm"

	"stillwatch/permits"
)

// load makes the state that is on the disk the one that is seen. Only what concerns the ship and the permits that are
// not over is folded.
func (r *Register) load(ctx context.Context) error {
	m := &moment{world: newWorld()}
	err := r.db.isolated(ctx, func(tx *gorm.DB) error {
		size, root, note, err := readHead(tx, r.key)
		if err != nil {
			return err
		}
		if m.peaks, err = readPeaks(ctx, tx, size); err != nil {
			return err
		}
		if m.head, err = m.peaks.asHead(note); err != nil {
			return err
		}
		if size > 0 && m.head.Hash != hex.EncodeToString(root[:]) {
			return fmt.Errorf("the log's hashes do not make the hash that its head signs: run log verify")
		}
		return m.world.load(tx, size)
	})
	if err != nil {
		return fmt.Errorf("load the log: %w", err)
	}
	m.head.At = m.world.lastAt
	r.seen.Store(m)
	return nil
}

// readHead reads the signed head, and refuses a log that does not end there.
func readHead(tx *gorm.DB, k shipKey) (size int64, root [32]byte, note []byte, err error) {
	var count struct{ Entries, Tree int64 }
	if err := tx.Raw("SELECT (SELECT coalesce(max(n) + 1, 0) FROM entries) AS entries, (SELECT coalesce(max(n) + 1, 0) " +
		"FROM tree) AS tree").
		Scan(&count).Error; err != nil {
		return 0, root, nil, fmt.Errorf("count the entries: %w", err)
	}
	var row headRow
	err = tx.Take(&row).Error
	switch {
	case errors.Is(err, gorm.ErrRecordNotFound) && count.Entries == 0 && count.Tree == 0:
		return 0, root, nil, nil
	case errors.Is(err, gorm.ErrRecordNotFound):
		return 0, root, nil, fmt.Errorf("the log has %d entries but no signed head: run log verify", count.Entries)
	case err != nil:
		return 0, root, nil, fmt.Errorf("read the head: %w", err)
	}
	size, hash, err := openHead([]byte(row.Note), k.verifier)
	if err != nil {
		return 0, root, nil, err
	}
	if count.Entries != size || count.Tree != size || row.Size != size {
		return 0, root, nil, fmt.Errorf("the log has %d entries and %d rows of hashes but its signed head says %d: run log "+
			"verify", count.Entries, count.Tree, size)
	}
	return size, hash, []byte(row.Note), nil
}

// load folds what concerns the ship, then the open permits.
func (w *world) load(tx *gorm.DB, size int64) error {
	shapes := tx.Raw("SELECT e.n, e.body FROM lines l JOIN entries e ON e.n = l.n WHERE l.kind IN ? ORDER BY l.n",
		shapesShip)
	if err := eachEntry(shapes, func(e permits.Entry) error { w.applyShip(e); return nil }); err != nil {
		return err
	}
	if err := w.readFiles(); err != nil {
		return err
	}
	open := tx.Raw(`SELECT e.n, e.body FROM permits p JOIN lines l ON l.permit = p.id AND l.permit > 0 JOIN entries e ON e.n = l.n
		WHERE p.over = 0 AND l.kind <> ? ORDER BY p.id, l.n`, permits.KindRefusedAct)
	if err := eachEntry(open,
		func(e permits.Entry) error { w.keep(permits.Apply(w.permit(e.Permit), e)); return nil }); err != nil {
		return err
	}
	var ends struct{ Next, Last, Latest int64 }
	err := tx.Raw(`SELECT (SELECT coalesce(max(id), 0) + 1 FROM permits) AS next, coalesce((SELECT at FROM lines WHERE n = ?), 0) AS last,
		(SELECT coalesce(max(at), 0) FROM lines) AS latest`, size-1).Scan(&ends).Error
	if err != nil {
		return fmt.Errorf("find the log's ends: %w", err)
	}
	w.next, w.size = permits.PermitID(ends.Next), size
	if size > 0 {
		w.lastAt, w.latest = fromMicro(ends.Last), fromMicro(ends.Latest)
	}
	return nil
}

// eachEntry decodes the entries that a query of number and body gives, one at a time.
func eachEntry(query *gorm.DB, f func(permits.Entry) error) (err error) {
	rows, err := query.Rows()
	if err != nil {
		return fmt.Errorf("read entries: %w", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		var n int64
		var body []byte
		if err := rows.Scan(&n, &body); err != nil {
			return fmt.Errorf("read entries: %w", err)
		}
		e, err := permits.DecodeEntry(n, body)
		if err != nil {
			return fmt.Errorf("read entry %d: %w", n, err)
		}
		if err := f(e); err != nil {
			return err
		}
	}
	return rows.Err()
}
