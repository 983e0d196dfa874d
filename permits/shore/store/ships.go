package store

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

// EnrolmentRow is a one-time code, as its digest, and what it is for.
type EnrolmentRow struct {
	Digest string `gorm:"primaryKey"`
	Name   string // of the ship
	Anew   bool   // the ship's log of before ends
	Until  int64
	Used   int64  // 0: not yet
	Key    string // that was enrolled by it
}

// TableName returns the table's name, for gorm.
func (EnrolmentRow) TableName() string { return "enrolments" }

// KeyRow is a key that a ship had, with the signed act that brought it.
type KeyRow struct {
	Ship int64
	Key  string
	At   int64
	Act  string
}

// TableName returns the table's name, for gorm.
func (KeyRow) TableName() string { return "ship_keys" }

// AddEnrolment keeps a code.
func (d *Database) AddEnrolment(ctx context.Context, row EnrolmentRow) error {
	if err := d.db.WithContext(ctx).Create(&row).Error; err != nil {
		return fmt.Errorf("keep the code: %w", err)
	}
	return nil
}

// Reasons why a code enrols nothing.
var (
	ErrNoCode    = errors.New("no such code was made, or it has been used, or it has run out")
	ErrNameTaken = errors.New("a ship of this name is enrolled")
	ErrKeyTaken  = errors.New("this key is enrolled already")
)

// Enrol makes a ship of a code and a key at a moment, and uses the code up; the same code with the same key once more
// returns the same name.
func (d *Database) Enrol(ctx context.Context, digest string, k KeyRow) (name string, err error) {
	err = d.onConnection(ctx, func(c *pgx.Conn) error {
		return pgx.BeginFunc(ctx, c, func(tx pgx.Tx) error {
			var e EnrolmentRow
			err := tx.QueryRow(ctx, "SELECT name, anew, until, used, key FROM enrolments WHERE digest = $1 FOR UPDATE",
				digest).Scan(&e.Name, &e.Anew, &e.Until, &e.Used, &e.Key)
			name = e.Name
			switch {
			case errors.Is(err, pgx.ErrNoRows):
				return ErrNoCode
			case err != nil:
				return err
			case e.Used > 0 && e.Key == k.Key:
				return nil
			case e.Used > 0 || e.Until < k.At:
				return ErrNoCode
			}
			return enrol(ctx, tx, digest, e, k)
		})
	})
	return name, err
}

func enrol(ctx context.Context, tx pgx.Tx, digest string, e EnrolmentRow, k KeyRow) error {
	if e.Anew {
		if _, err := tx.Exec(ctx, "UPDATE ships SET ended = $2 WHERE name = $1 AND ended = 0", e.Name, k.At); err != nil {
			return err
		}
	}
	var taken, keys int
	err := tx.QueryRow(ctx, "SELECT count(*) FILTER (WHERE name = $1), count(*) FILTER (WHERE key = $2) FROM ships WHERE "+
		"ended = 0", e.Name, k.Key).Scan(&taken, &keys)
	switch {
	case err != nil:
		return err
	case taken > 0:
		return ErrNameTaken
	case keys > 0:
		return ErrKeyTaken
	}
	err = tx.QueryRow(ctx, "INSERT INTO ships (name, key, enrolled) VALUES ($1, $2, $3) RETURNING id", e.Name, k.Key,
		k.At).Scan(&k.Ship)
	if err == nil {
		_, err = tx.Exec(ctx, "INSERT INTO ship_keys VALUES ($1, $2, $3, $4)", k.Ship, k.Key, k.At, k.Act)
	}
	if err == nil {
		_, err = tx.Exec(ctx, "UPDATE enrolments SET used = $2, key = $3 WHERE digest = $1", digest, k.At, k.Key)
	}
	return err
}

// ByName returns the ship that is enrolled under a name; found is false if there is none.
func (d *Database) ByName(ctx context.Context, name string) (s Ship, found bool, err error) {
	return d.oneShip(ctx, "name = ? AND ended = 0", name)
}

// ByKey returns the ship whose key signs now; found is false if there is none.
func (d *Database) ByKey(ctx context.Context, key string) (s Ship, found bool, err error) {
	return d.oneShip(ctx, "key = ? AND ended = 0", key)
}

// ByID returns a ship, one whose log has ended too.
func (d *Database) ByID(ctx context.Context, id int64) (s Ship, found bool, err error) {
	return d.oneShip(ctx, "id = ?", id)
}

func (d *Database) oneShip(ctx context.Context, where string, args ...any) (s Ship, found bool, err error) {
	err = d.db.WithContext(ctx).Where(where, args...).Take(&s).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return s, false, nil
	}
	if err != nil {
		err = fmt.Errorf("read a ship: %w", err)
	}
	return s, err == nil, err
}

// Logs returns every log that came under a ship's name, the newest first.
func (d *Database) Logs(ctx context.Context, name string) (all []Ship, err error) {
	if err = d.db.WithContext(ctx).Where("name = ?", name).Order("id DESC").Find(&all).Error; err != nil {
		err = fmt.Errorf("read the logs of a ship: %w", err)
	}
	return all, err
}

// Keys returns every key that a ship had, oldest first.
func (d *Database) Keys(ctx context.Context, ship int64) (keys []KeyRow, err error) {
	if err = d.db.WithContext(ctx).Where("ship = ?", ship).Order("at").Find(&keys).Error; err != nil {
		err = fmt.Errorf("read the keys of a ship: %w", err)
	}
	return keys, err
}

// AlarmRow is something about a ship's log that a person must look into.
type AlarmRow struct {
	ID        int64
	Ship      int64
	Kind      string
	At        int64
	Words     string
	Had       string // signed head that the shore had
	Got       string // signed head that came
	Mark      string // the same alarm is kept once
	Explained int64  // 0: nobody has explained it
	Why       string
}

// TableName returns the table's name, for gorm.
func (AlarmRow) TableName() string { return "alarms" }

// Raise keeps an alarm, unless it is known.
func (d *Database) Raise(ctx context.Context, a AlarmRow) error {
	err := d.db.WithContext(ctx).Clauses(clause.OnConflict{Columns: []clause.Column{{Name: "ship"}, {Name: "mark"}},
		DoNothing: true}).Omit("id").Create(&a).Error
	if err != nil {
		return fmt.Errorf("keep an alarm: %w", err)
	}
	return nil
}

// Alarms returns the alarms of a ship that nobody has explained, the newest first; 0: of every ship whose log goes on.
func (d *Database) Alarms(ctx context.Context, ship int64) (all []AlarmRow, err error) {
	q := d.db.WithContext(ctx).Where("explained = 0").Order("at DESC, id DESC")
	if ship > 0 {
		q = q.Where("ship = ?", ship)
	} else {
		q = q.Where("ship IN (SELECT id FROM ships WHERE ended = 0)")
	}
	if err = q.Limit(500).Find(&all).Error; err != nil {
		err = fmt.Errorf("read the alarms: %w", err)
	}
	return all, err
}

// Explain closes the alarms of a ship with words; it returns how many there were.
func (d *Database) Explain(ctx context.Context, ship, at int64, why string) (int64, error) {
	done := d.db.WithContext(ctx).Model(&AlarmRow{}).Where("ship = ? AND explained = 0", ship).
		Updates(map[string]any{"explained": at, "why": why})
	if done.Error != nil {
		return 0, fmt.Errorf("explain the alarms: %w", done.Error)
	}
	return done.RowsAffected, nil
}
