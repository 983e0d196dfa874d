//go:build unix

package register

import (
	"os"

	"golang.org/x/sys/unix"
)

// lockWhole takes the file's lock, which ends with the process at the latest; it does not wait.
func lockWhole(f *os.File) error { return unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB) }
