//go:build !unix

package planner

import "time"

var started = time.Now()

// cpuTime is the time since the start, where processor time can't be asked for.
func cpuTime() time.Duration { return time.Since(started) }
