package store

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"strings"

	"gorm.io/gorm"
)

// The tables, their indexes and the guards of the log. Each file has the number of the format to which it brings a
// database; an empty file is brought through all of them, so that old and new files cannot differ.
//
//go:embed migrations/*.sql
var migrations embed.FS

// Format is the number of the schema, which the file carries as its user_version. A later one would be read wrongly and
// is refused. One from oldestFormat on is brought to this one when a program opens it; of the one before (1, the first
// product) the program knows the tables no more.
const (
	Format       = 4
	oldestFormat = 2
	formatUses   = 3 // has the table uses
)

// bringTo are the migrations, by the format to which they bring.
var bringTo = map[int]string{2: migration("0002_log.sql"), formatUses: migration("0003_uses.sql"),
	4: migration("0004_kinds.sql")}

func migration(name string) string {
	text, err := migrations.ReadFile("migrations/" + name)
	if err != nil {
		panic(err) // it is embedded
	}
	return string(text)
}

// applicationID marks the file as ours: "SWch" in ASCII.
const applicationID = 0x53576368

// ErrNewer says that a newer version of the program has written the register: this one does not touch it.
var ErrNewer = errors.New("the register was written by a newer version of the program")

// ErrOlder says that an earlier edition of the program has written the register, which this one cannot read.
var ErrOlder = errors.New("the register was written by an earlier edition of the program, which this one cannot " +
	"read: " +
	"keep the folder with the program that wrote it, close the open permits there, and begin a new folder")

// format returns the file's format; 0 for an empty file. It refuses a file that is not ours.
func (v View) format() (have int, err error) {
	var app int
	if err := v.db.Raw("PRAGMA application_id").Scan(&app).Error; err != nil {
		return 0, fmt.Errorf("read the format: %w", err)
	}
	if err := v.db.Raw("PRAGMA user_version").Scan(&have).Error; err != nil {
		return 0, fmt.Errorf("read the format: %w", err)
	}
	if have > 0 && app != applicationID {
		return 0, fmt.Errorf("read the format: %s is not a register", File)
	}
	return have, nil
}

// CheckFormat refuses a file that is not ours, or of a format that this program cannot read: ErrNewer, ErrOlder.
func (v View) CheckFormat() error {
	switch have, err := v.format(); {
	case err != nil:
		return err
	case have > Format:
		return fmt.Errorf("%w: its format is %d, this program knows up to %d", ErrNewer, have, Format)
	case have < oldestFormat:
		return fmt.Errorf("%w (its format is %d, this program's %d)", ErrOlder, have, Format)
	}
	return nil
}

// fill puts the schema into an empty file, and brings one of an earlier format to this one.
func (d *Database) fill(ctx context.Context) error {
	have, err := View{d.write.WithContext(ctx)}.format()
	if err != nil {
		return err
	}
	if have > 0 {
		if err := d.Now(ctx).CheckFormat(); err != nil || have == Format {
			return err
		}
	}
	err = d.write.WithContext(ctx).Transaction(func(tx *gorm.DB) error {
		for to := max(have+1, oldestFormat); to <= Format; to++ {
			if err := tx.Exec(bringTo[to]).Error; err != nil {
				return err
			}
		}
		return tx.Exec(fmt.Sprintf("PRAGMA user_version = %d; PRAGMA application_id = %d;", Format, applicationID)).Error
	})
	if err != nil {
		return fmt.Errorf("make the tables: %w", err)
	}
	return nil
}

// guards returns the guard triggers as the schema creates them, by name.
func guards() map[string]string {
	out := map[string]string{}
	for part := range strings.SplitSeq(bringTo[oldestFormat], "CREATE TRIGGER ") {
		body, _, ok := strings.Cut(part, "END;")
		if name, _, named := strings.Cut(body, " "); ok && named {
			out[name] = "CREATE TRIGGER " + body + "END"
		}
	}
	return out
}

// CheckGuards refuses a database in which a guard of the log is missing or reads differently.
func (v View) CheckGuards() error {
	var have []struct{ Name, SQL string }
	if err := v.db.Raw("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").Scan(&have).Error; err != nil {
		return fmt.Errorf("look for the guards of the log: %w", err)
	}
	want := guards()
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
