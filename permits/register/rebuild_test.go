package register

import (
	"context"
	"errors"
	"strings"
	"testing"

	"stillwatch/permits"
)

// TestTablesAreNotBelieved changes each table that is made from the log behind the program's back: at the next start
// the officer is told, nothing leads on to work while locks may come off, and after a rebuild all is as before.
func TestTablesAreNotBelieved(t *testing.T) {
	for name, c := range map[string]struct {
		statement string
		lost      bool // something that no log has is gone for good
	}{
		"a permit with locks on is hidden": {"UPDATE permits SET over = 1, state = 'closed' WHERE id = 1", false},
		"a permit with locks on is gone":   {"DELETE FROM permits WHERE id = 1", false},
		"a permit that never was": {"INSERT INTO permits SELECT 77, state, over, job, machine, machine_name, " +
			"title, work, exposure, requested_by, requested_at, changed, until, locks, locks_on, signed_on, entries, " +
			"last_entry, kinds FROM permits WHERE id = 1", false},
		"a point that passes is forgotten": {"UPDATE entry_index SET kind = 'sign in' WHERE kind = 'record passing'",
			false},
		"an entry is of another permit":   {"UPDATE entry_index SET permit = 9 WHERE kind = 'authorise'", false},
		"somebody's rights are forgotten": {"DELETE FROM entry_index WHERE kind = 'add person' AND n > 2", false},
		"the plant is forgotten":          {"UPDATE entry_index SET kind = 'sign out' WHERE kind = 'adopt plant'", false},
		"a point's history is cut":        {"DELETE FROM point_index", false},
		"a plan was never used":           {"DELETE FROM uses", false},
		"a tag is of another permit":      {"UPDATE codes SET permit = 2", false},
		"a tag's code is gone":            {"DELETE FROM codes", true},
		"a PIN is of another entry":       {"UPDATE pins SET entry = 0 WHERE person = 'mate'", true},
		"a PIN of somebody who is not aboard": {"INSERT INTO pins SELECT 'ghost', hash, entry, seal FROM pins LIMIT 1",
			false},
	} {
		t.Run(name, func(t *testing.T) {
			a := manned(t)
			id := a.request()
			a.fitted(id)
			a.must(0, permits.RecordPassing{Point: "V2", Words: "weeps when shut"}, fitter.ID)
			want := a.Ship()
			a.exec(c.statement)
			a.reopen()
			n := noticeOf(t, a, NoticeTables)
			if n == nil || !strings.Contains(n.Do, "rebuild") {
				t.Fatalf("the officer is told %v, want of the tables", n)
			}
			if no, ok := asRefusal(second2(a.try(id, permits.Extend{Hours: 2}, officer.ID))); !ok {
				t.Errorf("an extension = %v, want refused", no)
			}
			if err := a.Close(); err != nil {
				t.Fatal(err)
			}
			before, after, err := Rebuild(context.Background(), a.dir)
			if err != nil || before.OK() || after.OK() == c.lost {
				t.Fatalf("Rebuild() = before %v, after %v, %v", before.Faults, after.Faults, err)
			}
			a.open()
			if n := noticeOf(t, a, NoticeTables); (n != nil) != c.lost {
				t.Errorf("after the rebuild the officer is told %v", n)
			}
			if got := a.Ship(); !c.lost && (len(got.People) != len(want.People) || len(got.Passing) != 1) {
				t.Errorf("after the rebuild %d people are aboard and %d points pass, want %d and 1", len(got.People),
					len(got.Passing), len(want.People))
			}
			if p, err := a.Permit(context.Background(), id); err != nil || p.LocksOn() == 0 || len(a.OpenPermits()) != 1 {
				t.Errorf("after the rebuild permit %d has %d locks on, %v, and %d permits are open", id, p.LocksOn(), err,
					len(a.OpenPermits()))
			}
		})
	}
}

func noticeOf(t *testing.T, a *aboard, kind NoticeKind) *Notice {
	t.Helper()
	for _, n := range a.Notices(context.Background()) {
		if n.Kind == kind {
			return &n
		}
	}
	return nil
}

// TestNothingIsRebuiltFromALogThatIsNotWhole changes an entry itself.
func TestNothingIsRebuiltFromALogThatIsNotWhole(t *testing.T) {
	a := manned(t)
	a.request()
	a.exec("DROP TRIGGER entries_no_update")
	a.exec("UPDATE entries SET body = CAST(replace(body, 'seal', 'bolt') AS BLOB) WHERE n = (SELECT max(n) FROM entries)")
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	if _, _, err := Rebuild(context.Background(), a.dir); err == nil {
		t.Error("Rebuild() of a log without its guard = nil, want refused")
	}
	if _, err := Open(context.Background(), a.dir, a.options()); err == nil {
		t.Error("Open() of a log without its guard = nil, want refused")
	}
}

// TestRebuildWantsTheServerStopped tries to rebuild under a running program.
func TestRebuildWantsTheServerStopped(t *testing.T) {
	a := manned(t)
	if _, _, err := Rebuild(context.Background(), a.dir); err == nil || !strings.Contains(err.Error(), "stop the server") {
		t.Errorf("Rebuild() under a running program = %v, want refused", err)
	}
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	before, after, err := Rebuild(context.Background(), a.dir)
	if err != nil || !before.OK() || !after.OK() || errors.Is(err, ErrLogNotWhole) {
		t.Errorf("Rebuild() of a whole folder = %v, %v, %v, want nothing to do", before.Faults, after.Faults, err)
	}
	a.open()
}
