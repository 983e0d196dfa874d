package register

import (
	"os"
	"strconv"
	"strings"
)

// residentMB returns the process's resident memory in megabytes where the system tells it (Linux), or 0.
func residentMB() float64 {
	text, err := os.ReadFile("/proc/self/status")
	if err != nil {
		return 0
	}
	_, rest, _ := strings.Cut(string(text), "VmRSS:")
	kb, _, _ := strings.Cut(strings.TrimSpace(rest), " ")
	n, err := strconv.ParseFloat(kb, 64)
	if err != nil {
		return 0
	}
	return n / 1024
}

// processSeconds returns the processor time that the process has used where the system tells it (Linux), or 0. On a
// machine that others use too it says more than the clock does.
func processSeconds() float64 {
	text, err := os.ReadFile("/proc/self/stat")
	if err != nil {
		return 0
	}
	_, rest, _ := strings.Cut(string(text), ") ")
	fields := strings.Fields(rest)
	if len(fields) < 13 {
		return 0
	}
	user, _ := strconv.ParseFloat(fields[11], 64)
	system, _ := strconv.ParseFloat(fields[12], 64)
	return (user + system) / 100 // clock ticks: a hundredth of a second on every Linux that Go runs on
}
