package store

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// steps returns how SQLite goes through the tables of the log to answer a query, before it fetches the bodies: the
// index of each step, and "sorted" where it has to sort what it found.
func steps(t *testing.T, v View, q EntrySearch) []string {
	t.Helper()
	text, args := q.statement()
	var plan []struct{ Detail string }
	if err := v.db.Raw("EXPLAIN QUERY PLAN "+text, args...).Scan(&plan).Error; err != nil {
		t.Fatal(err)
	}
	var out []string
	walking := false
	for _, p := range plan {
		how, table, _ := strings.Cut(p.Detail, " ")
		switch {
		case how == "CO-ROUTINE":
			walking = true
		case strings.HasPrefix(table, "(subquery"):
			walking = false
		case walking && how == "USE":
			out = append(out, "sorted")
		case walking && (how == "SEARCH" || how == "SCAN"):
			out = append(out, p.Detail)
		}
	}
	return out
}

// A list of entries walks one index from its end, and stops when it has enough: nothing is sorted, and no list is made
// of all that somebody did or all that happened at a point.
func TestListOfEntriesWalksTheRarestIndexFromItsEnd(t *testing.T) {
	path := filepath.Join(t.TempDir(), File)
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	d, err := Open(t.Context(), filepath.Dir(path))
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	for _, tc := range []struct {
		name string
		q    EntrySearch
		want []string // of each step
	}{
		{"everything", EntrySearch{Limit: 50}, []string{"SCAN i"}},
		{"from a number on", EntrySearch{After: new(int64(4))}, []string{"PRIMARY KEY (rowid>?)"}},
		{"before a number", EntrySearch{Before: 4}, []string{"PRIMARY KEY (rowid<?)"}},
		{"permit", EntrySearch{Permit: 1}, []string{"entry_permit"}},
		{"permit before a number", EntrySearch{Permit: 1, Before: 9}, []string{"entry_permit (permit=? AND n<?)"}},
		{"permit and all else", EntrySearch{Permit: 1, Point: "V1", Person: "mate", Kind: "close"},
			[]string{"entry_permit", "PRIMARY KEY (point=? AND n=?)"}},
		{"point", EntrySearch{Point: "V1"}, []string{"PRIMARY KEY (point=?)", "PRIMARY KEY (rowid=?)"}},
		{"point before a number", EntrySearch{Point: "V1", Before: 9},
			[]string{"PRIMARY KEY (point=? AND n<?)", "PRIMARY KEY (rowid=?)"}},
		{"point, person and kind", EntrySearch{Point: "V1", Person: "mate", Kind: "close"},
			[]string{"PRIMARY KEY (point=?)", "PRIMARY KEY (rowid=?)"}},
		{"point and a rare kind", EntrySearch{Point: "V1", Kind: "record passing", Rare: true},
			[]string{"entry_kind", "PRIMARY KEY (point=? AND n=?)"}},
		{"person", EntrySearch{Person: "mate"}, []string{"entry_person", "entry_about"}},
		{"person after a number", EntrySearch{Person: "mate", After: new(int64(4))},
			[]string{"entry_person (person=? AND n>?)", "entry_about (about=? AND n>?)"}},
		{"person and a frequent kind", EntrySearch{Person: "mate", Kind: "sign on"},
			[]string{"entry_person", "entry_about"}},
		{"person and a rare kind", EntrySearch{Person: "mate", Kind: "set pin", Rare: true}, []string{"entry_kind"}},
		{"kind", EntrySearch{Kind: "close", Before: 9}, []string{"entry_kind (kind=? AND n<?)"}},
	} {
		got := steps(t, d.Now(t.Context()), tc.q)
		if !slices.EqualFunc(got, tc.want, strings.Contains) {
			t.Errorf("%s: SQLite goes %q, want %q", tc.name, got, tc.want)
		}
	}
}
