package authority

import (
	"crypto/tls"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path/filepath"
	"sync"
	"time"
)

// lookEvery is how often the files of a certificate are looked at for a newer one.
const lookEvery = time.Minute

// Files is a certificate from elsewhere. A renewed one is taken without a restart; one that cannot be read
// is told in the log, and the one before stays.
type Files struct {
	cert, key string
	log       *slog.Logger

	mu     sync.Mutex
	looked time.Time
	since  time.Time // when the files that were read were written
	read   *tls.Certificate
}

// NewFiles returns the certificate in two files, in PEM: the chain, and its key.
func NewFiles(cert, key string, logger *slog.Logger) *Files {
	return &Files{cert: cert, key: key, log: logger}
}

// At returns the certificate to show at a moment.
func (f *Files) At(now time.Time) (*tls.Certificate, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.read != nil && now.Sub(f.looked) < lookEvery {
		return f.read, nil
	}
	f.looked = now
	written, err := lastWritten(f.cert, f.key)
	if err == nil && f.read != nil && written.Equal(f.since) {
		return f.read, nil
	}
	if err == nil {
		var pair tls.Certificate
		if pair, err = tls.LoadX509KeyPair(f.cert, f.key); err == nil {
			f.read, f.since = &pair, written
			return f.read, nil
		}
	}
	err = fmt.Errorf("read the certificate %s: %w", filepath.Base(f.cert), err)
	if f.read == nil {
		return nil, err
	}
	f.log.Error("the renewed certificate was not taken; the one before stays", "err", err)
	return f.read, nil
}

// lastWritten returns when the younger of two files was written.
func lastWritten(files ...string) (time.Time, error) {
	var last time.Time
	for _, name := range files {
		info, err := os.Stat(name)
		if errors.Is(err, fs.ErrNotExist) {
			return last, fmt.Errorf("%s is not there", name)
		}
		if err != nil {
			return last, err
		}
		if info.ModTime().After(last) {
			last = info.ModTime()
		}
	}
	return last, nil
}
