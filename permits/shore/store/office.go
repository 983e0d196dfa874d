package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"time"

	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

// OfficeRow is somebody of the office.
type OfficeRow struct {
	Name  string `gorm:"primaryKey"`
	Hash  string // of the password
	Ship  string // the one ship that they may see; "": every ship
	Gone  int64  // 0: they are there
	Wrong int64  // wrong passwords since the last right one
	Tried int64  // when the last of them came
}

// TableName returns the table's name, for gorm.
func (OfficeRow) TableName() string { return "office" }

// SetPerson puts somebody of the office into the table, or in place of their row.
func (d *Database) SetPerson(ctx context.Context, row OfficeRow) error {
	if err := d.db.WithContext(ctx).Clauses(clause.OnConflict{UpdateAll: true}).Create(&row).Error; err != nil {
		return fmt.Errorf("keep somebody of the office: %w", err)
	}
	return nil
}

// Person returns somebody of the office; found is false for a name that nobody has.
func (d *Database) Person(ctx context.Context, name string) (row OfficeRow, found bool, err error) {
	err = d.db.WithContext(ctx).Where("name = ?", name).Take(&row).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return row, false, nil
	}
	if err != nil {
		err = fmt.Errorf("read somebody of the office: %w", err)
	}
	return row, err == nil, err
}

// Try counts a password that was tried: a wrong one more, or none any more.
func (d *Database) Try(ctx context.Context, name string, right bool, at int64) error {
	set := map[string]any{"wrong": gorm.Expr("wrong + 1"), "tried": at}
	if right {
		set = map[string]any{"wrong": 0}
	}
	if err := d.db.WithContext(ctx).Model(&OfficeRow{}).Where("name = ?", name).Updates(set).Error; err != nil {
		return fmt.Errorf("count a password that was tried: %w", err)
	}
	return nil
}

// Sessions keeps the sessions of the office's browsers: any process finds them.
type Sessions struct{ d *Database }

// Sessions returns the store of sessions.
func (d *Database) Sessions() Sessions { return Sessions{d} }

type sessionRow struct {
	Token string `gorm:"primaryKey"` // SHA-256 of the token
	Data  []byte
	Until int64
}

func (sessionRow) TableName() string { return "sessions" }

func digest(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}

// FindCtx returns the data of a session that has not run out.
func (s Sessions) FindCtx(ctx context.Context, token string) ([]byte, bool, error) {
	var row sessionRow
	err := s.d.db.WithContext(ctx).Where("token = ? AND until > ?", digest(token), time.Now().Unix()).Take(&row).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return nil, false, nil
	}
	return row.Data, err == nil, err
}

// CommitCtx keeps a session, and lets those go that have run out.
func (s Sessions) CommitCtx(ctx context.Context, token string, data []byte, until time.Time) error {
	db := s.d.db.WithContext(ctx)
	row := sessionRow{digest(token), data, until.Unix()}
	return errors.Join(db.Clauses(clause.OnConflict{UpdateAll: true}).Create(&row).Error,
		db.Where("until < ?", time.Now().Unix()).Delete(&sessionRow{}).Error)
}

// DeleteCtx ends a session.
func (s Sessions) DeleteCtx(ctx context.Context, token string) error {
	return s.d.db.WithContext(ctx).Where("token = ?", digest(token)).Delete(&sessionRow{}).Error
}

// Find is FindCtx without a context.
func (s Sessions) Find(token string) ([]byte, bool, error) {
	return s.FindCtx(context.Background(), token)
}

// Commit is CommitCtx without a context.
func (s Sessions) Commit(token string, data []byte, until time.Time) error {
	return s.CommitCtx(context.Background(), token, data, until)
}

// Delete is DeleteCtx without a context.
func (s Sessions) Delete(token string) error { return s.DeleteCtx(context.Background(), token) }
