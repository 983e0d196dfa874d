package register

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"hash/maphash"

	"gorm.io/gorm"

	"stillwatch/permits"
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
		if err := rows.Scan(&w.n, &w.body, &w.hashes, &l.N, &l.At, &l.ActID, &l.Kind, &l.Permit, &l.Person, &l.About); err != nil {
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
		if err := tx.Raw("SELECT n FROM "+table+" WHERE n >= ? OR n < 0 ORDER BY n LIMIT 5", a.report.Entries).Scan(&beyond).Error; err != nil {
			return fmt.Errorf("count %s: %w", table, err)
		}
		for _, n := range beyond {
			a.report.fault(n, "is not there, but the table %s has a row for it", table)
		}
	}
	return nil
}

// projections are what the entries make of the tables for reading: lines compared as they come, the others as sums of
// hashes of their rows, so that a long log needs little memory.
type projections struct {
	seed    maphash.Seed
	touched sum
	codes   sum
	permits map[int64]uint64 // of rows of permits that are over
}

// sum is a sum over rows that does not depend on their order.
type sum struct {
	rows int64
	of   uint64
}

func newProjections() *projections {
	return &projections{seed: maphash.MakeSeed(), permits: map[int64]uint64{}}
}

// hash gives the hash of a row.
func (p *projections) hash(row any) uint64 {
	text, err := json.Marshal(row)
	if err != nil {
		panic(err) // rows are strings and numbers
	}
	return maphash.Bytes(p.seed, text)
}

func (s *sum) add(h uint64) { s.rows, s.of = s.rows+1, s.of+h }

// see gives what looks at every entry.
func (p *projections) see(a *audit) func(*raw, permits.Permit) {
	return func(w *raw, after permits.Permit) {
		if *w.line != lineOf(w.entry) {
			a.report.fault(w.n, "its row in the table lines does not say what the entry says")
		}
		for _, point := range pointsOf(w.entry, after) {
			p.touched.add(p.hash(touchedRow{string(point), w.n}))
		}
		for _, row := range codesOf(w.entry, after) {
			p.codes.add(p.hash(row))
		}
	}
}

// codesOf gives the rows of the codes that an entry issues, without the codes.
func codesOf(e permits.Entry, after permits.Permit) []codeRow {
	var out []codeRow
	switch a := e.Act.(type) {
	case permits.Authorise:
		for i, l := range after.Locks() {
			out = append(out, codeRow{Digest: string(a.Tags[i]), Kind: string(LockTag), Permit: int64(e.Permit), Step: l.Step.N, Point: string(l.Step.Point), Issued: e.N})
		}
	case permits.HangLabels:
		for point, digest := range a.Labels {
			out = append(out, codeRow{Digest: string(digest), Kind: string(PointLabel), Point: string(point), Issued: e.N})
		}
	}
	return out
}

func (p *projections) permitEnds(permit permits.Permit, last int64) {
	p.permits[int64(permit.ID())] = p.hash(rowOf(permit, last))
}

// compare compares the tables with what the entries make.
func (p *projections) compare(tx *gorm.DB, a *audit) error {
	for id, permit := range a.replay.world.open {
		p.permits[int64(id)] = p.hash(rowOf(*permit, a.replay.last[id]))
	}
	var rows []permitRow
	err := tx.FindInBatches(&rows, 500, func(*gorm.DB, int) error {
		for _, row := range rows {
			want, ok := p.permits[row.ID]
			if !ok || want != p.hash(row) {
				a.report.fault(row.LastEntry, "is not what the row of permit %d in the table permits was made of", row.ID)
			}
			delete(p.permits, row.ID)
		}
		return nil
	}).Error
	if err != nil {
		return fmt.Errorf("compare permits: %w", err)
	}
	for id := range p.permits {
		a.report.fault(-1, "permit %d has no row in the table permits", id)
	}
	return errors.Join(p.compareTouched(tx, a), p.compareCodes(tx, a))
}

func (p *projections) compareTouched(tx *gorm.DB, a *audit) error {
	var have sum
	var row touchedRow
	err := eachRow(tx.Raw("SELECT point, n FROM touched"), []any{&row.Point, &row.N}, func() { have.add(p.hash(row)) })
	if err == nil && have != p.touched {
		a.report.fault(-1, "the table touched does not say what the entries say")
	}
	return err
}

func (p *projections) compareCodes(tx *gorm.DB, a *audit) error {
	var have sum
	var row codeRow
	err := eachRow(tx.Raw("SELECT digest, code, kind, permit, step, point, issued FROM codes"),
		[]any{&row.Digest, &row.Code, &row.Kind, &row.Permit, &row.Step, &row.Point, &row.Issued}, func() {
			if _, err := row.parse(); err != nil {
				a.report.fault(row.Issued, "%v", err)
			}
			bare := row
			bare.Code = ""
			have.add(p.hash(bare))
		})
	if err == nil && have != p.codes {
		a.report.fault(-1, "the table codes does not hold the codes whose digests the entries name")
	}
	return err
}

// eachRow scans every row of a query into to.
func eachRow(query *gorm.DB, to []any, f func()) (err error) {
	rows, err := query.Rows()
	if err != nil {
		return fmt.Errorf("read a table: %w", err)
	}
	defer func() { err = errors.Join(err, rows.Close()) }()
	for rows.Next() {
		if err := rows.Scan(to...); err != nil {
			return fmt.Errorf("read a table: %w", err)
		}
		f()
	}
	return rows.Err()
}
