package web

import (
	"net/url"
	"testing"
	"time"
)

// TestClockIsTheLastSuchMoment reads a time of the day ten minutes after midnight: what was done before midnight was
// yesterday, and nothing was done later than now.
func TestClockIsTheLastSuchMoment(t *testing.T) {
	now := time.Date(2026, 3, 1, 0, 10, 30, 0, time.Local)
	for text, ago := range map[string]time.Duration{"00:10": 30 * time.Second, "23:50": 20*time.Minute + 30*time.Second,
		"00:11": 23*time.Hour + 59*time.Minute + 30*time.Second} {
		f := &form{Values: url.Values{"at": {text}}}
		if got := f.clock("at", "When", now); !got.Equal(now.Add(-ago)) || f.fault != nil {
			t.Errorf("clock(%q) = %v with %v, want %v ago", text, got, f.fault, ago)
		}
	}
	for _, text := range []string{"", "24:00", "half past two", "9"} {
		f := &form{Values: url.Values{"at": {text}}}
		if f.clock("at", "When", now); f.fault == nil || f.fault.Field != "at" {
			t.Errorf("clock(%q) is not refused", text)
		}
	}
}
