//go:build linux || darwin

package doctor

import "syscall"

// freeSpace returns how many bytes of the folder's disk an ordinary account may still fill.
func freeSpace(folder string) (uint64, error) {
	var s syscall.Statfs_t
	if err := syscall.Statfs(folder, &s); err != nil {
		return 0, err
	}
	return s.Bavail * uint64(s.Bsize), nil
}
