package main

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"stillwatch/permits"
	"stillwatch/permits/register"
	"stillwatch/permits/register/store"
)

// tell runs a command and returns its exit status and all that it printed.
func tell(t *testing.T, args ...string) (status int, printed string) {
	t.Helper()
	var out bytes.Buffer
	status = run(args, &out, &out)
	return status, out.String()
}

// firstRun makes a register in which the chief engineer is, and returns its folder.
func firstRun(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "data")
	r, err := register.Open(context.Background(), dir, register.Options{Logger: slog.New(slog.DiscardHandler),
		Argon: register.Argon{MemoryKiB: 8, Iterations: 1}})
	if err != nil {
		t.Fatal(err)
	}
	chief := permits.Person{ID: "chief", Name: "Chief", Roles: []permits.Role{permits.ChiefEngineer}}
	if err := r.FirstRun(context.Background(), chief, "836205"); err != nil {
		t.Fatal(err)
	}
	if err := r.Close(); err != nil {
		t.Fatal(err)
	}
	return dir
}

// TestRebuildMendsTheTables changes a table by hand and has it made anew.
func TestRebuildMendsTheTables(t *testing.T) {
	data := firstRun(t)
	if status, printed := tell(t, "log", "rebuild", "--data", data); status != 0 || !strings.Contains(printed,
		"nothing to mend") {
		t.Errorf("log rebuild of a whole folder = %d, %q", status, printed)
	}
	db, err := store.OpenFile(data)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(db.Exec(context.Background(), "DELETE FROM entry_index WHERE n = 1"), db.Close()); err != nil {
		t.Fatal(err)
	}
	if status, printed := tell(t, "log", "verify", "--data", data); status != 1 {
		t.Errorf("log verify of changed tables = %d, %q, want 1", status, printed)
	}
	if status, printed := tell(t, "log", "rebuild", "--data", data); status != 0 || !strings.Contains(printed,
		"before: entry 1:") || !strings.Contains(printed, "is whole: 4 entries") {
		t.Errorf("log rebuild = %d, %q, want the fault told and the log whole", status, printed)
	}
}

func TestInspectorChecksTheLogWithoutTheDatabase(t *testing.T) {
	data := firstRun(t)
	if status, printed := tell(t, "log", "verify", "--data", data); status != 0 ||
		!strings.Contains(printed, "is whole: 4 entries") {
		t.Errorf("log verify = %d, %q, want 0 and four entries", status, printed)
	}
	status, key := tell(t, "key", "--data", data)
	key = strings.TrimSpace(key)
	if status != 0 || !strings.HasPrefix(key, "stillwatch-") || strings.Contains(key, "PRIVATE") {
		t.Fatalf("key = %d, %q, want the public half", status, key)
	}
	file := filepath.Join(t.TempDir(), "log.ndjson")
	if status, printed := tell(t, "log", "export", "--data", data, file); status != 0 {
		t.Fatalf("log export = %d, %q", status, printed)
	}
	if status, _ := tell(t, "log", "export", file, "--data", data); status != 1 {
		t.Errorf("log export over a file = %d, want 1", status)
	}
	if status, printed := tell(t, "log", "check", file, "--key", key); status != 0 ||
		!strings.Contains(printed, "is whole: 4 entries") {
		t.Errorf("log check = %d, %q, want 0", status, printed)
	}
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	changed := bytes.Replace(text, []byte(`"name":"Chief"`), []byte(`"name":"Thief"`), 1)
	if bytes.Equal(changed, text) {
		t.Fatal("the export does not name the chief engineer")
	}
	if err := os.WriteFile(file, changed, 0o600); err != nil {
		t.Fatal(err)
	}
	if status, printed := tell(t, "log", "check", file, "--key", key); status != 1 ||
		!strings.Contains(printed, "entry 0: ") {
		t.Errorf("log check of a changed file = %d, %q, want 1 and entry 0 named", status, printed)
	}
}

func TestProofsOfTheCommandLineCheck(t *testing.T) {
	data := firstRun(t)
	_, key := tell(t, "key", "--data", data)
	keyFile := filepath.Join(t.TempDir(), "key")
	if err := os.WriteFile(keyFile, []byte(key), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{{"log", "prove", "1", "--data", data},
		{"log", "prove", "--since", "2", "--data", data}} {
		status, proof := tell(t, args...)
		if status != 0 {
			t.Fatalf("%v = %d, %q", args, status, proof)
		}
		file := filepath.Join(t.TempDir(), "proof")
		if err := os.WriteFile(file, []byte(proof), 0o600); err != nil {
			t.Fatal(err)
		}
		if status, printed := tell(t, "log", "check", file, "--key", keyFile); status != 0 ||
			!strings.HasPrefix(printed, "Proved: ") {
			t.Errorf("log check of %v = %d, %q, want it proved", args, status, printed)
		}
		if err := os.WriteFile(file, []byte(strings.Replace(proof, "set pin", "set pjn", 1)+" "), 0o600); err != nil {
			t.Fatal(err)
		}
		if status, printed := tell(t, "log", "check", file, "--key", keyFile); strings.Contains(proof, "set pin") &&
			status != 1 {
			t.Errorf("log check of a changed proof = %d, %q, want 1", status, printed)
		}
	}
	for _, args := range [][]string{{"log", "prove", "4", "--data", data}, {"log", "prove", "x", "--data", data},
		{"log", "prove", "--data", data}, {"log", "prove", "--since", "9", "--data", data}} {
		if status, printed := tell(t, args...); status != 1 {
			t.Errorf("%v = %d, %q, want 1", args, status, printed)
		}
	}
}

func TestBackupAndRestoreOnTheCommandLine(t *testing.T) {
	data := firstRun(t)
	file := filepath.Join(t.TempDir(), "copy.db")
	if status, printed := tell(t, "backup", file, "--data", data); status != 0 ||
		!strings.Contains(printed, "The copy is whole") {
		t.Fatalf("backup = %d, %q", status, printed)
	}
	to := filepath.Join(t.TempDir(), "new")
	if status, printed := tell(t, "restore", file, "--data", to); status != 0 || !strings.Contains(printed, "4 entries") {
		t.Fatalf("restore = %d, %q", status, printed)
	}
	if status, printed := tell(t, "restore", file, "--data", to); status != 1 {
		t.Errorf("restore into a register = %d, %q, want 1", status, printed)
	}
	if status, printed := tell(t, "log", "verify", "--data", to); status != 0 {
		t.Errorf("log verify of the restored register = %d, %q, want 0", status, printed)
	}
}

func TestDataFolderThatIsNotThereIsToldAndNotMade(t *testing.T) {
	gone := filepath.Join(t.TempDir(), "gone")
	for _, args := range [][]string{{"log", "verify"}, {"log", "export"}, {"log", "prove", "0"}, {"key"},
		{"backup", filepath.Join(t.TempDir(), "copy")}} {
		if status, printed := tell(t, append(args, "--data", gone)...); status != 1 || printed == "" {
			t.Errorf("%v on no folder = %d, %q, want 1 and a reason", args, status, printed)
		}
	}
	if _, err := os.Stat(gone); err == nil {
		t.Error("a command that only reads made the folder")
	}
	for _, args := range [][]string{{"log"}, {"log", "dance"}, {"backup"}, {"restore"}, {"log", "check"}} {
		if status, _ := tell(t, args...); status != 1 {
			t.Errorf("%v = %d, want 1", args, status)
		}
	}
}
