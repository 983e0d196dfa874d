package store

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"time"

	"gorm.io/gorm"
)

// Sessions keeps web sessions. Only a hash of each token is stored, so that who reads the file cannot take a session
// over. It is a store of scs, with and without context.
type Sessions struct {
	d   *Database
	now func() time.Time
}

// Sessions returns a store of web sessions that goes by this clock.
func (d *Database) Sessions(now func() time.Time) Sessions { return Sessions{d, now} }

func hashToken(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}

// Find returns a session's data; found is false for one that is unknown or has ended.
func (s Sessions) Find(token string) (data []byte, found bool, err error) {
	return s.FindCtx(context.Background(), token)
}

// FindCtx is Find with a context.
func (s Sessions) FindCtx(ctx context.Context, token string) (data []byte, found bool, err error) {
	row, found, err := take[sessionRow](s.d.read.WithContext(ctx).Where(&sessionRow{Token: hashToken(token)}))
	if err != nil {
		return nil, false, fmt.Errorf("find a session: %w", err)
	}
	return row.Data, found && row.Until > s.now().UnixMicro(), nil
}

// Commit keeps a session's data until expiry, and sweeps out sessions that have ended.
func (s Sessions) Commit(token string, data []byte, expiry time.Time) error {
	return s.CommitCtx(context.Background(), token, data, expiry)
}

// CommitCtx is Commit with a context.
func (s Sessions) CommitCtx(ctx context.Context, token string, data []byte, expiry time.Time) error {
	err := s.d.write.WithContext(ctx).Transaction(func(tx *gorm.DB) error {
		if err := tx.Delete(&sessionRow{}, "until <= ?", s.now().UnixMicro()).Error; err != nil {
			return err
		}
		return replace(tx, []sessionRow{{hashToken(token), data, expiry.UnixMicro()}})
	})
	if err != nil {
		return fmt.Errorf("keep a session: %w", err)
	}
	return nil
}

// Delete ends a session; an unknown one is no error.
func (s Sessions) Delete(token string) error { return s.DeleteCtx(context.Background(), token) }

// DeleteCtx is Delete with a context.
func (s Sessions) DeleteCtx(ctx context.Context, token string) error {
	if err := s.d.write.WithContext(ctx).Delete(&sessionRow{Token: hashToken(token)}).Error; err != nil {
		return fmt.Errorf("end a session: %w", err)
	}
	return nil
}
