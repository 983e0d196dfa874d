package register

import (
	"encoding/binary"
	"errors"
	"fmt"
	"hash/maphash"

	"gorm.io/gorm"

	"stillwatch/permits"
)

// projections are what the entries make of the tables for reading: lines compared as they come, the others as sums of
// hashes of their rows, so that a long log needs little memory.
type projections struct {
	seed    maphash.Seed
	touched sum
	codes   sum
	permits map[int64]uint64 // of rows of permits that are over
	text    []byte           // room for a row
}

// sum is a sum over rows that does not depend on their order.
type sum struct {
	rows int64
	of   uint64
}

func newProjections() *projections {
	return &projections{seed: maphash.MakeSeed(), permits: map[int64]uint64{}}
}

// hash returns the hash of a row.
func hash[R interface{ appendTo([]byte) []byte }](p *projections, row R) uint64 {
	p.text = row.appendTo(p.text[:0])
	return maphash.Bytes(p.seed, p.text)
}

func (s *sum) add(h uint64) { s.rows, s.of = s.rows+1, s.of+h }

// see returns what looks at every entry.
func (p *projections) see(a *audit) func(*raw, permits.Permit) {
	return func(w *raw, after permits.Permit) {
		if *w.line != lineOf(w.entry) {
			a.report.fault(w.n, "its row in the table lines does not say what the entry says")
		}
		for _, point := range pointsOf(w.entry, after) {
			p.touched.add(hash(p, touchedRow{string(point), w.n}))
		}
		for _, row := range codesOf(w.entry, after) {
			p.codes.add(hash(p, row))
		}
	}
}

// codesOf returns the rows of the codes that an entry issues, without the codes.
func codesOf(e permits.Entry, after permits.Permit) []codeRow {
	var out []codeRow
	switch a := e.Act.(type) {
	case permits.Authorise:
		for i, l := range after.Locks() {
			out = append(out, codeRow{Digest: string(a.Tags[i]), Kind: string(LockTag), Permit: int64(e.Permit), Step: l.Step.N,
				Point: string(l.Step.Point), Issued: e.N})
		}
	case permits.HangLabels:
		for point, digest := range a.Labels {
			out = append(out, codeRow{Digest: string(digest), Kind: string(PointLabel), Point: string(point), Issued: e.N})
		}
	}
	return out
}

func (p *projections) permitEnds(permit permits.Permit, last int64) {
	p.permits[int64(permit.ID())] = hash(p, rowOf(permit, last))
}

// compare compares the tables with what the entries make.
func (p *projections) compare(tx *gorm.DB, a *audit) error {
	for id, permit := range a.replay.world.open {
		p.permits[int64(id)] = hash(p, rowOf(*permit, a.replay.last[id]))
	}
	row, over := permitRow{}, int64(0)
	err := eachRow(tx.Raw("SELECT "+permitColumns+" FROM permits"), row.columns(&over), func() {
		row.Over = over == 1
		if want, ok := p.permits[row.ID]; !ok || want != hash(p, row) || over != 0 && over != 1 {
			a.report.fault(row.LastEntry, "is not what the row of permit %d in the table permits was made of", row.ID)
		}
		delete(p.permits, row.ID)
	})
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
	err := eachRow(tx.Raw("SELECT point, n FROM touched"), []any{&row.Point, &row.N}, func() { have.add(hash(p, row)) })
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
			have.add(hash(p, bare))
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

// permitColumns are the columns of the table permits in the order of columns.
const permitColumns = `id, state, over, job, machine, machine_name, title, work, exposure, requested_by, requested_at,
	changed, until, locks, locks_on, signed_on, entries, last_entry`

// columns returns where a row of permitColumns is scanned to.
func (row *permitRow) columns(over *int64) []any {
	return []any{&row.ID, &row.State, over, &row.Job, &row.Machine, &row.MachineName, &row.Title, &row.Work, &row.Exposure,
		&row.RequestedBy,
		&row.RequestedAt, &row.Changed, &row.Until, &row.Locks, &row.LocksOn, &row.SignedOn, &row.Entries, &row.LastEntry}
}

// The rows as bytes, to be hashed: every column, each text with its length before it, so that no two rows look alike.

func (row touchedRow) appendTo(b []byte) []byte {
	return appendNumbers(appendTexts(b, row.Point), row.N)
}

func (row codeRow) appendTo(b []byte) []byte {
	return appendNumbers(appendTexts(b, row.Digest, row.Code, row.Kind, row.Point), row.Permit, int64(row.Step),
		row.Issued)
}

func (row permitRow) appendTo(b []byte) []byte {
	b = appendTexts(b, row.State, row.Job, row.Machine, row.MachineName, row.Title, row.Work, row.Exposure,
		row.RequestedBy)
	over := int64(0)
	if row.Over {
		over = 1
	}
	return appendNumbers(b, row.ID, over, row.RequestedAt, row.Changed, row.Until, int64(row.Locks), int64(row.LocksOn),
		int64(row.SignedOn),
		int64(row.Entries), row.LastEntry)
}

func appendTexts(b []byte, texts ...string) []byte {
	for _, t := range texts {
		b = append(binary.AppendUvarint(b, uint64(len(t))), t...)
	}
	return b
}

func appendNumbers(b []byte, numbers ...int64) []byte {
	for _, n := range numbers {
		b = binary.AppendVarint(b, n)
	}
	return b
}
