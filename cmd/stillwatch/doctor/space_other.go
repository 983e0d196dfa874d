//go:build !linux && !darwin && !windows

package doctor

import "errors"

// freeSpace is not known here.
func freeSpace(string) (uint64, error) { return 0, errors.New("not known on this system") }
