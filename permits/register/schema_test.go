package register

import (
	"context"
	"database/sql"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"stillwatch/permits/register/store"
)

func TestDatabaseItselfForbidsChangingTheLog(t *testing.T) {
	a := manned(t)
	for _, q := range []string{
		"UPDATE entries SET body = body", "DELETE FROM entries WHERE n = 1", "UPDATE tree SET hashes = hashes",
		"DELETE FROM tree",
		"INSERT OR REPLACE INTO entries SELECT n, body FROM entries WHERE n = 1",
		"INSERT OR REPLACE INTO tree SELECT n, hashes FROM tree WHERE n = 1",
		"INSERT INTO entries SELECT n + 5000, body FROM entries WHERE n = 1",
		"INSERT INTO entries SELECT -1, body FROM entries WHERE n = 1",
		"DELETE FROM head", "UPDATE head SET size = size - 1",
	} {
		if err := a.db.Exec(context.Background(), q); err == nil {
			t.Errorf("%s went through", q)
		}
	}
	if r := verified(t, a.dir); !r.OK() {
		t.Errorf("Verify() after the attempts = %v, want whole", r.Faults)
	}
}

// change opens the file of a closed register and runs a statement in it.
func change(t *testing.T, dir, q string) {
	t.Helper()
	pool, err := sql.Open("sqlite", store.Address(filepath.Join(dir, store.File)))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := pool.Exec(q); err != nil {
		t.Fatal(err)
	}
	if err := pool.Close(); err != nil {
		t.Fatal(err)
	}
}

func TestStartIsRefused(t *testing.T) {
	a := manned(t)
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	for _, tc := range []struct {
		name, sql, words string
	}{
		{"guard missing", "DROP TRIGGER entries_no_delete", "entries_no_delete"},
		{"guard changed", "DROP TRIGGER tree_no_update; CREATE TRIGGER tree_no_update BEFORE UPDATE ON tree BEGIN SELECT " +
			"1; END", "tree_no_update"},
		{"foreign trigger", "CREATE TRIGGER other AFTER INSERT ON marks BEGIN SELECT 1; END", "other"},
		{"newer schema", "PRAGMA user_version = 99", "newer version"},
		{"older schema", "PRAGMA user_version = 1", "earlier edition"},
		{"not ours", "PRAGMA application_id = 7", "not a register"},
		{"log cut", "DROP TRIGGER entries_no_delete; DELETE FROM entries WHERE n = (SELECT max(n) FROM entries); CREATE " +
			"TRIGGER entries_no_delete BEFORE DELETE ON entries\nBEGIN SELECT RAISE(ABORT, 'an entry of the log is never " +
			"removed'); END", "signed head"},
		{"head forged", "UPDATE head SET note = replace(note, char(10) || size || char(10), char(10) || 2 || char(10))",
			"signature"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			dir := copyOf(t, a.dir)
			change(t, dir, tc.sql)
			r, err := Open(context.Background(), dir, a.options())
			if err == nil {
				r.Close()
			}
			if err == nil || !strings.Contains(err.Error(), tc.words) {
				t.Errorf("Open(%s) = %v, want an error with %q", tc.name, err, tc.words)
			}
			if newer := tc.name == "newer schema"; errors.Is(err, ErrNewer) != newer {
				t.Errorf("errors.Is(%v, ErrNewer) = %t, want %t", err, !newer, newer)
			}
			if older := tc.name == "older schema"; errors.Is(err, ErrOlder) != older {
				t.Errorf("errors.Is(%v, ErrOlder) = %t, want %t", err, !older, older)
			}
		})
	}
}

func TestStartIsRefusedWithoutAllItsFiles(t *testing.T) {
	a := manned(t)
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{store.File, keyFile, pepperFile} {
		dir := copyOf(t, a.dir)
		if err := os.Remove(filepath.Join(dir, name)); err != nil {
			t.Fatal(err)
		}
		if r, err := Open(context.Background(), dir, a.options()); err == nil {
			r.Close()
			t.Errorf("Open(without %s) = nil, want an error: a part was lost", name)
		}
		if there, _ := exists(filepath.Join(dir, name)); there {
			t.Errorf("the refused start made a new %s", name)
		}
	}
}

func TestFirstStartThatWasCutShortIsFinished(t *testing.T) {
	for _, have := range [][]string{{store.File}, {store.File, keyFile}, {store.File, pepperFile}} {
		a := &aboard{t: t, dir: t.TempDir()}
		for _, name := range have {
			if err := os.WriteFile(filepath.Join(a.dir, name), nil, 0o600); err != nil {
				t.Fatal(err)
			}
		}
		r, err := Open(context.Background(), a.dir, a.options())
		if err != nil {
			t.Errorf("Open(with only an empty %v) = %v", have, err)
			continue
		}
		if err := r.Close(); err != nil {
			t.Error(err)
		}
	}
}

func TestFolderIsHeldByOneProcess(t *testing.T) {
	a := manned(t)
	if r, err := Open(context.Background(), a.dir, a.options()); err == nil {
		r.Close()
		t.Error("a second Open of the same folder = nil, want an error")
	}
	a.must(0, nilLabels(), officer.ID)
}
