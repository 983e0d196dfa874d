package register

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stillwatch/permits"
	"stillwatch/permits/register/store"
)

// busy is a register with one permit through its whole way, one with its locks on, labels, a passing point, refusals
// and wrong PINs: at least one entry of nearly every kind.
func busy(t testing.TB) *aboard {
	t.Helper()
	a := manned(t)
	ctx := context.Background()
	first := a.request()
	a.live(first)
	a.closed(first)
	second := a.request()
	refusal(t, second2(a.try(second, permits.Prove{}, fitter.ID)))
	a.must(0, permits.HangLabels{Labels: labelsFor("V2")}, officer.ID)
	if _, err := a.SignIn(ctx, mate.ID, pinOf(mate.ID), Origin{Address: "phone"}); err != nil {
		t.Fatal(err)
	}
	refusal(t, a.verify(mate.ID, "000000", elsewhere.Address))
	if err := a.SignOut(ctx, mate.ID); err != nil {
		t.Fatal(err)
	}
	a.must(0, permits.RecordPassing{Point: "V1", Words: "weeps"}, mate.ID)
	a.must(0, permits.RecordRepair{Point: "V1", Words: "lapped in and tested"}, chief.ID)
	a.must(second, permits.Authorise{Hours: 12}, officer.ID)
	return a
}

func verified(t testing.TB, dir string) Report {
	t.Helper()
	r, err := Verify(context.Background(), dir)
	if err != nil {
		t.Fatalf("Verify(%s) = %v", dir, err)
	}
	return r
}

func exported(t testing.TB, dir string) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := Export(context.Background(), dir, &out); err != nil {
		t.Fatalf("Export(%s) = %v", dir, err)
	}
	return out.Bytes()
}

func TestUntouchedLogIsWhole(t *testing.T) {
	a := busy(t)
	if r := verified(t, a.dir); !r.OK() || r.Entries != a.Head().Size || r.Permits != 2 || r.Head.Hash != a.Head().Hash {
		t.Errorf("Verify(untouched, while open) = %d entries, %d permits, faults %v, want %d entries, 2 permits and none",
			r.Entries, r.Permits, r.Faults, a.Head().Size)
	}
	r, err := Check(context.Background(), bytes.NewReader(exported(t, a.dir)), a.PublicKey())
	if err != nil || !r.OK() || r.Entries != a.Head().Size {
		t.Errorf("Check(export of an untouched log) = %d entries, faults %v, %v, want %d entries and none", r.Entries,
			r.Faults, err, a.Head().Size)
	}
}

// copyOf copies a closed data folder, so that each tampering starts from the same.
func copyOf(t testing.TB, dir string) string {
	t.Helper()
	to := t.TempDir()
	for _, name := range []string{store.File, keyFile, pepperFile} {
		text, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(to, name), text, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	return to
}

// tamper changes a database as somebody would who knows it well: guards off, change, guards on again.
func tamper(t testing.TB, dir string, change func(*sql.DB) error) {
	t.Helper()
	pool, err := sql.Open("sqlite", store.Address(filepath.Join(dir, store.File)))
	if err != nil {
		t.Fatal(err)
	}
	pool.SetMaxOpenConns(1)
	rows, err := pool.Query("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'")
	if err != nil {
		t.Fatal(err)
	}
	guards := map[string]string{}
	for rows.Next() {
		var name, text string
		if err := rows.Scan(&name, &text); err != nil {
			t.Fatal(err)
		}
		guards[name] = text
	}
	if err := errors.Join(rows.Err(), rows.Close()); err != nil || len(guards) == 0 {
		t.Fatalf("%d guards, %v", len(guards), err)
	}
	for name := range guards {
		if _, err := pool.Exec("DROP TRIGGER " + name); err != nil {
			t.Fatal(err)
		}
	}
	if err := change(pool); err != nil {
		t.Fatal(err)
	}
	for _, text := range guards {
		if _, err := pool.Exec(text); err != nil {
			t.Fatal(err)
		}
	}
	if err := pool.Close(); err != nil {
		t.Fatal(err)
	}
}

// names reports whether a fault names entry n.
func names(r Report, n int64) bool {
	for _, f := range r.Faults {
		if f.Entry == n {
			return true
		}
	}
	return false
}

// unnamed returns what log verify or log check have to say of a folder, as far as they do not name entry n.
func unnamed(t testing.TB, dir, key string, n int64) []string {
	t.Helper()
	var out []string
	if r := verified(t, dir); !names(r, n) {
		out = append(out, fmt.Sprintf("Verify() = %v, want a fault that names entry %d", r.Faults, n))
	}
	r, err := Check(context.Background(), bytes.NewReader(exported(t, dir)), key)
	if err != nil || !names(r, n) {
		out = append(out, fmt.Sprintf("Check() = %v, %v, want a fault that names entry %d", r.Faults, err, n))
	}
	return out
}

// Any one byte of any entry.
func TestChangedByteIsNamed(t *testing.T) {
	a := busy(t)
	size, key := a.Head().Size, a.PublicKey()
	dir := t.TempDir()
	if _, err := Backup(context.Background(), a.dir, filepath.Join(dir, "copy"), a.clock()); err != nil {
		t.Fatal(err)
	}
	whole := t.TempDir()
	if _, err := Restore(context.Background(), filepath.Join(dir, "copy"), whole); err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(rt *rapid.T) {
		n := rapid.Int64Range(0, size-1).Draw(rt, "entry")
		flip := rapid.ByteRange(1, 255).Draw(rt, "flip")
		place := rapid.Float64Range(0, 1).Draw(rt, "place")
		touched := copyOf(t, whole)
		defer os.RemoveAll(touched)
		tamper(t, touched, func(db *sql.DB) error {
			var body []byte
			if err := db.QueryRow("SELECT body FROM entries WHERE n = ?", n).Scan(&body); err != nil {
				return err
			}
			body[min(int(place*float64(len(body))), len(body)-1)] ^= flip
			_, err := db.Exec("UPDATE entries SET body = ? WHERE n = ?", body, n)
			return err
		})
		for _, words := range unnamed(t, touched, key, n) {
			rt.Errorf("a byte flipped: %s", words)
		}
	})
}

func TestDroppedSwappedAndAddedEntriesAreNamed(t *testing.T) {
	a := busy(t)
	size, key := a.Head().Size, a.PublicKey()
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	drop := func(n int64) []string {
		return []string{fmt.Sprintf("DELETE FROM entries WHERE n = %d", n), fmt.Sprintf("DELETE FROM tree WHERE n = %d", n),
			fmt.Sprintf("DELETE FROM entry_index WHERE n = %d", n)}
	}
	swap := func(n, m int64) []string {
		var out []string
		for _, table := range []string{"entries", "tree", "entry_index"} {
			out = append(out, fmt.Sprintf("UPDATE %s SET n = -7 WHERE n = %d", table, n),
				fmt.Sprintf("UPDATE %s SET n = %d WHERE n = %d", table, n, m),
				fmt.Sprintf("UPDATE %s SET n = %d WHERE n = -7", table, m))
		}
		return out
	}
	for _, tc := range []struct {
		name string
		sql  []string
		want int64
	}{
		{"the first dropped", drop(0), 0},
		{"one dropped", drop(9), 9},
		{"the last dropped", drop(size - 1), size - 1},
		{"two swapped", swap(11, 14), 11},
		{"two swapped, as the other has it", swap(11, 14), 14},
		{"one added", []string{fmt.Sprintf("INSERT INTO entries SELECT %d, body FROM entries WHERE n = 3", size)}, size},
		{"one added with all its rows", []string{
			fmt.Sprintf("INSERT INTO entries SELECT %d, body FROM entries WHERE n = 3", size),
			fmt.Sprintf("INSERT INTO tree SELECT %d, hashes FROM tree WHERE n = 3", size)}, size},
		{"one put before the first", []string{"INSERT INTO entries SELECT -1, body FROM entries WHERE n = 3"}, -1},
	} {
		t.Run(tc.name, func(t *testing.T) {
			touched := copyOf(t, a.dir)
			tamper(t, touched, func(db *sql.DB) error {
				for _, q := range tc.sql {
					if _, err := db.Exec(q); err != nil {
						return fmt.Errorf("%s: %w", q, err)
					}
				}
				return nil
			})
			for _, words := range unnamed(t, touched, key, tc.want) {
				t.Error(words)
			}
		})
	}
}

// What is not an entry is watched too: hashes, head, guards, and the tables for reading.
func TestChangedTablesAreTold(t *testing.T) {
	a := busy(t)
	if err := a.Close(); err != nil {
		t.Fatal(err)
	}
	for _, tc := range []struct {
		name, sql, words string
	}{
		{"hash", "UPDATE tree SET hashes = zeroblob(32) WHERE n = 4", "is not what its hash"},
		{"inner hash", "UPDATE tree SET hashes = CAST(substr(hashes, 1, 32) || zeroblob(64) AS BLOB) WHERE n = 3",
			"is not made of the hashes below it"},
		{"hashes too many", "UPDATE tree SET hashes = zeroblob(64) WHERE n = 4", "are 64 bytes"},
		{"head signature", "UPDATE head SET note = replace(note, char(10) || size || char(10), char(10) || (size - 1) || " +
			"char(10))", "head"},
		{"head size", "UPDATE head SET size = size + 1", "is filed under size"},
		{"head gone", "DELETE FROM head", "beyond the signed head"},
		{"line", "UPDATE entry_index SET person = 'nobody' WHERE n = 6", "index"},
		{"line gone", "DELETE FROM entry_index WHERE n = 6", "index"},
		{"line too many", "INSERT INTO entry_index SELECT 9999, at, act_id || 'x', kind, permit, person, about FROM " +
			"entry_index WHERE " +
			"n = 6", "index"},
		{"permit", "UPDATE permits SET state = 'live' WHERE id = 1", "permit 1"},
		{"permit gone", "DELETE FROM permits WHERE id = 1", "permit 1"},
		{"permit too many", "INSERT INTO permits SELECT 7, state, over, job, machine, machine_name, title, work, exposure, " +
			"requested_by, requested_at, changed, until, locks, locks_on, signed_on, entries, last_entry, kinds FROM permits " +
			"WHERE id = 1", "permit 7"},
		{"touched", "DELETE FROM point_index WHERE point = 'V1'", "index of points"},
		{"use of a plan", "UPDATE uses SET last = last - 400 WHERE person = 'fitter'", "table uses"},
		{"use of a plan gone", "DELETE FROM uses WHERE person = 'oow'", "table uses"},
		{"code", "UPDATE codes SET point = 'V9' WHERE step = 1", "table codes"},
		{"code exchanged", "UPDATE codes SET code = (SELECT code FROM codes WHERE step = 2) WHERE step = 1", "does not fit"},
		{"foreign trigger", "CREATE TRIGGER x AFTER INSERT ON entry_index BEGIN DELETE FROM entry_index WHERE n = NEW.n; END",
			"not ours"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			touched := copyOf(t, a.dir)
			tamper(t, touched, func(db *sql.DB) error { _, err := db.Exec(tc.sql); return err })
			r := verified(t, touched)
			for _, f := range r.Faults {
				if strings.Contains(f.String(), tc.words) {
					return
				}
			}
			t.Errorf("Verify(%s) = %v, want a fault with %q", tc.sql, r.Faults, tc.words)
		})
	}
}

// Somebody who writes an entry that no gate would have let through, and all the hashes, and even has the key.
func TestForgedEntryFailsTheReplay(t *testing.T) {
	a := busy(t)
	for _, tc := range []struct {
		name  string
		forge func(*attempt) permits.Entry
		words string
	}{
		{"live without proof", func(t *attempt) permits.Entry {
			return permits.Entry{At: t.at, ActID: "forged-1", Kind: permits.KindFitLock, Permit: 2, By: mate.ID,
				To: permits.Live, Act: permits.FitLock{}}
		}, "would not have been let through"},
		{"another state", func(t *attempt) permits.Entry {
			s := t.state.setting(t.at, "forged-2")
			s.By = fitter
			l, _ := t.state.open[2].NextFit()
			e, err := permits.Decide(s, *t.state.open[2], permits.FitLock{Tag: l.Tag, Position: l.Step.Position, Padlock: "X1"})
			if err != nil {
				panic(err)
			}
			e.To = permits.Live
			return e
		}, "leaves the permit live"},
		{"no signature", func(t *attempt) permits.Entry {
			return permits.Entry{At: t.at, ActID: "forged-3", Kind: permits.KindRecordRepair, By: chief.ID,
				Act: permits.RecordRepair{Point: "V1", Words: "mended"}}
		}, "would not have been let through"},
	} {
		t.Run(tc.name, func(t *testing.T) {
			touched := t.TempDir()
			file := filepath.Join(t.TempDir(), "copy")
			if _, err := Backup(context.Background(), a.dir, file, a.clock()); err != nil {
				t.Fatal(err)
			}
			if _, err := Restore(context.Background(), file, touched); err != nil {
				t.Fatal(err)
			}
			r, err := Open(context.Background(), touched, a.options())
			if err != nil {
				t.Fatal(err)
			}
			n := r.Head().Size
			if err := r.perform(context.Background(), func(t *attempt) error {
				_, _,
					err := t.put(tc.forge(t))
				return err
			}); err != nil {
				t.Fatal(err)
			}
			if err := r.Close(); err != nil {
				t.Fatal(err)
			}
			report := verified(t, touched)
			if !names(report, n) || !strings.Contains(report.Faults[0].Words, tc.words) {
				t.Errorf("Verify(forged entry) = %v, want entry %d: %s", report.Faults, n, tc.words)
			}
		})
	}
}

// Any byte of an exported log, not only of the entries.
func TestChangedByteOfAnExportIsTold(t *testing.T) {
	a := busy(t)
	whole, key := exported(t, a.dir), a.PublicKey()
	rapid.Check(t, func(rt *rapid.T) {
		text := bytes.Clone(whole)
		i := rapid.IntRange(0, len(text)-1).Draw(rt, "place")
		text[i] ^= rapid.ByteRange(1, 255).Draw(rt, "flip")
		if r, err := Check(context.Background(), bytes.NewReader(text), key); err == nil && r.OK() {
			rt.Errorf("Check(byte %d changed) found nothing", i)
		}
	})
	for _, cut := range []int{0, 1, len(whole) / 2, len(whole) - 1} {
		if r, err := Check(context.Background(), bytes.NewReader(whole[:cut]), key); err == nil && r.OK() {
			t.Errorf("Check(cut after %d bytes) found nothing", cut)
		}
	}
	other := manned(t)
	if r, err := Check(context.Background(), bytes.NewReader(whole), other.PublicKey()); err != nil || r.OK() {
		t.Errorf("Check(under another ship's key) = %v, %v, want a fault", r.Faults, err)
	}
}
