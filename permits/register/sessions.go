package register

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"time"

	"github.com/alexedwards/scs/v2"
	"gorm.io/gorm"
	"gorm.io/gorm/clause"
)

type sessionRow struct {
	Token string `gorm:"primaryKey"`
	Data  []byte
	Until int64
}

func (sessionRow) TableName() string { return "sessions" }

// sessions keeps web sessions in the register's database. Only a hash of each token is stored, so that who reads the
// file cannot take a session over.
type sessions struct{ r *Register }

// Sessions returns a store for web sessions over the same database. It also has scs's methods that take a context.
func (r *Register) Sessions() scs.Store { return sessions{r} }

func hashToken(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}

// Find returns a session's data; found is false for one that is unknown or has ended.
func (s sessions) Find(token string) (data []byte, found bool, err error) {
	return s.FindCtx(context.Background(), token)
}

// FindCtx is Find with a context.
func (s sessions) FindCtx(ctx context.Context, token string) (data []byte, found bool, err error) {
	var row sessionRow
	err = s.r.db.read.WithContext(ctx).Take(&row, "token = ? AND until > ?", hashToken(token), s.r.now().UnixMicro()).Error
	if errors.Is(err, gorm.ErrRecordNotFound) {
		return nil, false, nil
	}
	if err != nil {
		return nil, false, fmt.Errorf("find a session: %w", err)
	}
	return row.Data, true, nil
}

// Commit keeps a session's data until expiry, and sweeps out sessions that have ended.
func (s sessions) Commit(token string, data []byte, expiry time.Time) error {
	return s.CommitCtx(context.Background(), token, data, expiry)
}

// CommitCtx is Commit with a context.
func (s sessions) CommitCtx(ctx context.Context, token string, data []byte, expiry time.Time) error {
	err := s.r.db.write.WithContext(ctx).Transaction(func(tx *gorm.DB) error {
		if err := tx.Delete(&sessionRow{}, "until <= ?", s.r.now().UnixMicro()).Error; err != nil {
			return err
		}
		return tx.Clauses(clause.OnConflict{UpdateAll: true}).Create(
			&sessionRow{hashToken(token), data, expiry.UnixMicro()}).Error
	})
	if err != nil {
		return fmt.Errorf("keep a session: %w", err)
	}
	return nil
}

// Delete ends a session; an unknown one is no error.
func (s sessions) Delete(token string) error { return s.DeleteCtx(context.Background(), token) }

// DeleteCtx is Delete with a context.
func (s sessions) DeleteCtx(ctx context.Context, token string) error {
	if err := s.r.db.write.WithContext(ctx).Delete(&sessionRow{}, "token = ?", hashToken(token)).Error; err != nil {
		return fmt.Errorf("end a session: %w", err)
	}
	return nil
}
