//go:build unix

package store

import (
	"os"

	"golang.org/x/sys/unix"
)

// LockWhole takes the file's lock, which ends with the process at the latest; it does not wait.
func LockWhole(f *os.File) error { return unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB) }
