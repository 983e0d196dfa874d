package store

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"log/slog"
	"sync"
	"time"

	"gorm.io/gorm"
)

// Sessions keeps web sessions in memory and on the disk, where a restart finds them: every request of every phone asks
// for one, and from the disk that took a quarter of a request's processor time (TestLoadOfPhonesScanning). There are as
// many as people have signed in lately. It is a store of scs, which must be told to hash tokens, so that who reads the
// file cannot take a session over.
type Sessions struct {
	d   *Database
	now func() time.Time
	log *slog.Logger

	mu   sync.RWMutex
	live map[string]sessionRow
}

// Sessions returns the store of web sessions, which goes by this clock. It is to be made once.
func (d *Database) Sessions(now func() time.Time, log *slog.Logger) (*Sessions, error) {
	var rows []sessionRow
	if err := d.read.Find(&rows).Error; err != nil {
		return nil, fmt.Errorf("read the sessions: %w", err)
	}
	s := &Sessions{d: d, now: now, log: log, live: map[string]sessionRow{}}
	for _, row := range rows {
		s.live[row.Token] = row
	}
	return s, nil
}

// Keep ends every session of which keep says no. It is for sessions that were read from the disk, where a row may have
// been put by somebody else: those made since are in memory.
func (s *Sessions) Keep(keep func(data []byte) bool) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	for hash, row := range s.live {
		if keep(row.Data) {
			continue
		}
		delete(s.live, hash)
		if err := s.d.write.Delete(&sessionRow{Token: hash}).Error; err != nil {
			return fmt.Errorf("end a session: %w", err)
		}
	}
	return nil
}

func hashToken(token string) string {
	sum := sha256.Sum256([]byte(token))
	return hex.EncodeToString(sum[:])
}

// Find returns a session's data; found is false for one that is unknown or has ended.
func (s *Sessions) Find(token string) (data []byte, found bool, err error) {
	s.mu.RLock()
	defer s.mu.RUnlock()
	row, found := s.live[hashToken(token)]
	return row.Data, found && row.Until > s.now().UnixMicro(), nil
}

// Commit keeps a session's data until expiry, and sweeps out sessions that have ended. A session that the disk does not
// take lives in memory: a full disk shuts nobody out of what was recorded. The error is always nil.
func (s *Sessions) Commit(token string, data []byte, expiry time.Time) error {
	row, now := sessionRow{hashToken(token), data, expiry.UnixMicro()}, s.now().UnixMicro()
	s.mu.Lock()
	for other, old := range s.live {
		if old.Until <= now {
			delete(s.live, other)
		}
	}
	s.live[row.Token] = row
	s.mu.Unlock()
	err := s.d.write.Transaction(func(tx *gorm.DB) error {
		if err := tx.Delete(&sessionRow{}, "until <= ?", now).Error; err != nil {
			return err
		}
		return replace(tx, []sessionRow{row})
	})
	if err != nil {
		s.log.Error("a session could not be written to the disk; it ends with this program", "err", err)
	}
	return nil
}

// Delete ends a session; an unknown one is no error.
func (s *Sessions) Delete(token string) error {
	hash := hashToken(token)
	s.mu.Lock()
	delete(s.live, hash)
	s.mu.Unlock()
	if err := s.d.write.Delete(&sessionRow{Token: hash}).Error; err != nil {
		return fmt.Errorf("end a session: %w", err)
	}
	return nil
}
