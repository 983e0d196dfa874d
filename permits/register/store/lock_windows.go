package store

import (
	"os"

	"golang.org/x/sys/windows"
)

// LockWhole takes the file's lock, which ends with the process at the latest; it does not wait.
func LockWhole(f *os.File) error {
	const flags = windows.LOCKFILE_EXCLUSIVE_LOCK | windows.LOCKFILE_FAIL_IMMEDIATELY
	return windows.LockFileEx(windows.Handle(f.Fd()), flags, 0, 1, 0, new(windows.Overlapped))
}
