package register

import (
	"slices"
	"testing"

	"github.com/google/go-cmp/cmp"

	"stillwatch/isolation"
	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

func TestEntriesAreThoseThatFulfilEverythingAsked(t *testing.T) {
	a := manned(t)
	id := a.request()
	a.live(id)
	a.closed(id)
	a.fitted(a.request())
	a.must(0, permits.RecordPassing{Point: "V1", Words: "weeps"}, mate.ID)
	all, err := a.Entries(t.Context(), EntryQuery{Limit: 1000, After: new(int64(-1))})
	if err != nil || int64(len(all)) != a.Head().Size {
		t.Fatalf("Entries() = %d, %v, want all %d", len(all), err, a.Head().Size)
	}
	var rows []store.PointRow
	if err := a.raw().Find(&rows, "point = ?", "V1").Error; err != nil {
		t.Fatal(err)
	}
	at := map[int64]bool{}
	for _, row := range rows {
		at[row.N] = true
	}
	fulfils := func(q EntryQuery, e permits.Entry) bool {
		return (q.Permit == 0 || e.Permit == q.Permit) && (q.Point == "" || at[e.N]) && (q.Kind == "" || e.Kind == q.Kind) &&
			(q.Person == "" || e.By == q.Person || permits.Touches(e, permits.Permit{}).Person == q.Person) &&
			(q.After == nil || e.N > *q.After) &&
			(q.After != nil || q.Before == 0 || e.N < q.Before)
	}
	found := 0
	eachQuery(id, func(q EntryQuery) {
		var want, got []int64
		for _, e := range all {
			if fulfils(q, e) {
				want = append(want, e.N)
			}
		}
		if q.After == nil {
			slices.Reverse(want)
		}
		want = want[:min(len(want), q.Limit)]
		list, err := a.Entries(t.Context(), q)
		for _, e := range list {
			got = append(got, e.N)
		}
		if diff := cmp.Diff(want, got); diff != "" || err != nil {
			t.Errorf("Entries(%+v) differs, %v (-want +got):\n%s", q, err, diff)
		}
		found += len(got)
	})
	if found < 400 {
		t.Errorf("all queries together found %d entries: they ask for too little to say anything", found)
	}
}

// eachQuery returns every combination of what may be asked.
func eachQuery(id permits.PermitID, f func(EntryQuery)) {
	for _, q := range []EntryQuery{{}, {Before: 30}, {After: new(int64(15))}} {
		for _, q.Limit = range []int{3, 1000} {
			for _, q.Permit = range []permits.PermitID{0, id} {
				for _, q.Point = range []isolation.NodeID{"", "V1"} {
					for _, q.Person = range []permits.PersonID{"", mate.ID, fitter.ID} {
						for _, q.Kind = range []permits.Kind{"", permits.KindCheckLock, permits.KindSetPIN, permits.KindRecordPassing} {
							f(q)
						}
					}
				}
			}
		}
	}
}

// What puts entries into words asks a permit only for names; they must be the same as those of the whole permit.
func TestPermitAsAuthorisedHasTheNamesOfTheWholePermit(t *testing.T) {
	a := manned(t)
	over, open := a.request(), a.request()
	a.live(over)
	a.closed(over)
	a.fitted(open)
	for _, id := range []permits.PermitID{over, open} {
		whole, err := a.Permit(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		got, err := a.PermitAsAuthorised(t.Context(), id)
		if err != nil || got.ID() != id {
			t.Fatalf("PermitAsAuthorised(%d) = %d, %v", id, got.ID(), err)
		}
		if diff := cmp.Diff(namesOf(whole), namesOf(got), cmp.Exporter(exportAll)); diff != "" {
			t.Errorf("PermitAsAuthorised(%d) differs from the whole permit (-whole +got):\n%s", id, diff)
		}
	}
	if p, _ := a.PermitAsAuthorised(t.Context(), over); p.State() != permits.Authorised {
		t.Errorf("PermitAsAuthorised() of a closed permit = %s, want authorised: it reads more than it says", p.State())
	}
	if _, err := a.PermitAsAuthorised(t.Context(), 99); refusal(t, err).Kind != permits.NotFound {
		t.Errorf("PermitAsAuthorised(99) = %v, want not found", err)
	}
}

// calledBy is what entries speak of by a number, an id or a digest.
type calledBy struct {
	Plan     *isolation.Plan
	Tags     []permits.TagDigest
	Sections []string
	Stored   []string
	Dead     []string
}

func namesOf(p permits.Permit) calledBy {
	n := calledBy{Plan: p.Plan()}
	for _, l := range p.Locks() {
		n.Tags = append(n.Tags, l.Tag)
	}
	for _, d := range p.Drains() {
		n.Sections = append(n.Sections, d.Section.ID)
	}
	for _, s := range p.Stored() {
		n.Stored = append(n.Stored, s.Check.ID)
	}
	for _, d := range p.Dead() {
		n.Dead = append(n.Dead, d.Test.ID)
	}
	return n
}
