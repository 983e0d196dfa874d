//go:build unix

package planner

import (
	"syscall"
	"time"
)

// cpuTime is the processor time that this process has used: unlike the clock on
// the wall it doesn't count what other processes take.
func cpuTime() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}
