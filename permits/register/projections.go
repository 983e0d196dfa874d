package register

import (
	"errors"
	"fmt"
	"hash/maphash"
	"maps"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// projections are what the entries make of the tables for reading: lines compared as they come, the others as sums of
// hashes of their rows, so that a long log needs little memory.
type projections struct {
	seed    maphash.Seed
	points  sum
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

// hash returns the hash of a row.
func hash[R comparable](p *projections, row R) uint64 { return maphash.Comparable(p.seed, row) }

func (s *sum) add(h uint64) { s.rows, s.of = s.rows+1, s.of+h }

// see returns what looks at every entry.
func (p *projections) see(a *audit) func(*raw, permits.Permit) {
	return func(w *raw, after permits.Permit) {
		if *w.index != indexRow(w.entry) {
			a.report.tableFault(w.n, "its row in the index does not say what the entry says")
		}
		for _, point := range permits.Touches(w.entry, after).Points {
			p.points.add(hash(p, store.PointRow{Point: string(point), N: w.n}))
		}
		for _, row := range codesOf(w.entry, after) {
			p.codes.add(hash(p, row))
		}
	}
}

// codesOf returns the rows of the codes that an entry issues, without the codes.
func codesOf(e permits.Entry, after permits.Permit) []store.CodeRow {
	a, issues := e.Act.(permits.Issuing)
	if !issues {
		return nil
	}
	var out []store.CodeRow
	for _, c := range a.Codes(after) {
		row := codeRow(c)
		row.Permit, row.Issued = int64(e.Permit), e.N
		out = append(out, row)
	}
	return out
}

func (p *projections) permitEnds(permit permits.Permit, last int64) {
	p.permits[int64(permit.ID())] = hash(p, permitRow(permit, last))
}

// compare compares the tables with what the entries make.
func (p *projections) compare(v store.View, a *audit) error {
	for id, permit := range a.replay.state.open {
		p.permits[int64(id)] = hash(p, permitRow(*permit, a.replay.last[id]))
	}
	err := v.EachPermit(func(row store.PermitRow) {
		if want, ok := p.permits[row.ID]; !ok || want != hash(p, row) {
			a.report.tableFault(row.LastEntry, "is not what the row of permit %d in the table permits was made of", row.ID)
		}
		delete(p.permits, row.ID)
	})
	if err != nil {
		return fmt.Errorf("compare permits: %w", err)
	}
	for id := range p.permits {
		a.report.tableFault(-1, "permit %d has no row in the table permits", id)
	}
	return errors.Join(p.comparePoints(v, a), p.compareCodes(v, a), comparePINs(v, a),
		compareUses(v, a))
}

// compareUses looks whether the table of uses says what the entries say.
func compareUses(v store.View, a *audit) error {
	if has, err := v.HasUses(); err != nil || !has { // it is made when a program opens the file
		return err
	}
	want := map[store.UseRow]bool{}
	a.replay.state.uses.Each(func(job string, who permits.PersonID, used permits.Used) {
		want[useRow(job, who, used)] = true
	})
	err := v.EachUse(func(row store.UseRow) {
		if !want[row] {
			a.report.tableFault(-1, "the table uses does not say when %q used the plan of %q", row.Person, row.Job)
		}
		delete(want, row)
	})
	for row := range want {
		a.report.tableFault(-1, "the table uses lacks when %q used the plan of %q", row.Person, row.Job)
	}
	return err
}

// comparePINs looks whether each person's PIN is that of the entry which set it last. The PIN itself no log has; that
// the row was not copied from another person's is sealed by the ship's secret, and looked at whenever somebody signs.
func comparePINs(v store.View, a *audit) error {
	set := maps.Clone(a.replay.state.ship.PINs)
	rows, err := v.PINs()
	if err != nil {
		return err
	}
	for _, row := range rows {
		if want, ok := set[permits.PersonID(row.Person)]; !ok || want.Entry != row.Entry {
			a.report.tableFault(row.Entry, "is not what set the PIN that the table pins has for %q", row.Person)
		}
		delete(set, permits.PersonID(row.Person))
	}
	for person, want := range set {
		a.report.tableFault(want.Entry, "set a PIN of %q that the table pins does not have", person)
	}
	return nil
}

func (p *projections) comparePoints(v store.View, a *audit) error {
	var have sum
	err := v.EachPoint(func(row store.PointRow) { have.add(hash(p, row)) })
	if err == nil && have != p.points {
		a.report.tableFault(-1, "the index of points does not say what the entries say")
	}
	return err
}

func (p *projections) compareCodes(v store.View, a *audit) error {
	var have sum
	err := v.EachCode(func(row store.CodeRow) {
		if _, err := parseCode(row); err != nil {
			a.report.tableFault(row.Issued, "%v", err)
		}
		row.Code = ""
		have.add(hash(p, row))
	})
	if err == nil && have != p.codes {
		a.report.tableFault(-1, "the table codes does not hold the codes whose digests the entries name")
	}
	return err
}
