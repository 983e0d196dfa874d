package register

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"gorm.io/gorm"
)

// Numbered steps of the schema, forward only: 0001_….sql and so on, each in a transaction of its own. The number of the
// last is the database's user_version.
//
//go:embed migrations/*.sql
var migrations embed.FS

// applicationID marks the file as ours: "SWch" in ASCII.
const applicationID = 0x53576368

// ErrNewer says that a newer version of the program has written the register: this one does not touch it.
var ErrNewer = errors.New("the register was written by a newer version of the program")

func steps() ([]string, error) {
	names, err := fs.Glob(migrations, "migrations/*.sql")
	if err != nil {
		return nil, fmt.Errorf("list the steps of the schema: %w", err)
	}
	slices.Sort(names)
	return names, nil
}

// schemaVersion returns the number of the last step taken and that of the last one known. It refuses a file that is not
// ours or is newer.
func schemaVersion(db *gorm.DB) (have, known int, err error) {
	names, err := steps()
	if err != nil {
		return 0, 0, err
	}
	var app int
	if err := db.Raw("PRAGMA application_id").Scan(&app).Error; err != nil {
		return 0, 0, fmt.Errorf("read the schema's version: %w", err)
	}
	if err := db.Raw("PRAGMA user_version").Scan(&have).Error; err != nil {
		return 0, 0, fmt.Errorf("read the schema's version: %w", err)
	}
	if have > 0 && app != applicationID {
		return 0, 0, fmt.Errorf("read the schema's version: %s is not a register", databaseFile)
	}
	if have > len(names) {
		return 0, 0, fmt.Errorf("%w: its schema is %d, this program knows up to %d", ErrNewer, have, len(names))
	}
	return have, len(names), nil
}

// migrate brings the schema up to date.
func (d *database) migrate(ctx context.Context, now time.Time) error {
	have, _, err := schemaVersion(d.write.WithContext(ctx))
	if err != nil {
		return err
	}
	names, err := steps()
	if err != nil {
		return err
	}
	return d.bring(ctx, have, migrations, names, now)
}

// bring takes the steps after the first have. Before it changes a schema that is in use, it writes a copy of the
// database beside it.
func (d *database) bring(ctx context.Context, have int, from fs.FS, names []string, now time.Time) error {
	if have > 0 && have < len(names) {
		copyTo := filepath.Join(d.dir, fmt.Sprintf("before-schema-%d-%s.db", have+1, now.UTC().Format("20060102-150405")))
		if err := vacuumInto(ctx, d.write, copyTo); err != nil {
			return fmt.Errorf("copy the register before its schema changes: %w", err)
		}
	}
	for i, name := range names[have:] {
		text, err := fs.ReadFile(from, name)
		if err != nil {
			return fmt.Errorf("change the schema by %s: %w", name, err)
		}
		if err := step(d.write.WithContext(ctx), string(text), have+i+1); err != nil {
			return fmt.Errorf("change the schema by %s: %w", name, err)
		}
	}
	return nil
}

func step(db *gorm.DB, text string, number int) error {
	return db.Transaction(func(tx *gorm.DB) error {
		if err := tx.Exec(text).Error; err != nil {
			return err
		}
		return tx.Exec(fmt.Sprintf("PRAGMA user_version = %d; PRAGMA application_id = %d;", number, applicationID)).Error
	})
}

// guards returns the guard triggers as the migrations create them, by name.
func guards() (map[string]string, error) {
	names, err := steps()
	if err != nil {
		return nil, err
	}
	out := map[string]string{}
	for _, name := range names {
		text, err := migrations.ReadFile(name)
		if err != nil {
			return nil, err
		}
		for part := range strings.SplitSeq(string(text), "CREATE TRIGGER ") {
			body, _, ok := strings.Cut(part, "END;")
			if id, _, named := strings.Cut(body, " "); ok && named {
				out[id] = "CREATE TRIGGER " + body + "END"
			}
		}
	}
	return out, nil
}

// checkGuards refuses a database in which a guard of the log is missing or reads differently.
func checkGuards(db *gorm.DB) error {
	want, err := guards()
	if err != nil {
		return err
	}
	var have []struct{ Name, SQL string }
	if err := db.Raw("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").Scan(&have).Error; err != nil {
		return fmt.Errorf("look for the guards of the log: %w", err)
	}
	for _, h := range have {
		text, ours := want[h.Name]
		if !ours {
			return fmt.Errorf("the database has a trigger that is not ours: %s", h.Name)
		}
		if text != h.SQL {
			return fmt.Errorf("the guard %s of the log has been changed", h.Name)
		}
		delete(want, h.Name)
	}
	for name := range want {
		return fmt.Errorf("the guard %s of the log is missing", name)
	}
	return nil
}
