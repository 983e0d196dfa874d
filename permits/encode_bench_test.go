package permits

import (
	"testing"
	"time"
)

// BenchmarkEncodeEntry writes the entry of a fitted lock.
func BenchmarkEncodeEntry(b *testing.B) {
	e := Entry{At: time.Date(2026, 3, 1, 8, 0, 0, 1000, time.UTC), ActID: "0123456789abcdef0123456789abcdef",
		Kind: KindFitLock, Permit: 12, By: "tove", To: Isolating,
		Act: FitLock{Tag: "9f3c51d29f3c51d29f3c51d29f3c51d29f3c51d29f3c51d29f3c51d29f3c51d2", Position: "closed",
			Padlock: "R-21", How: "camera"}}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := e.Encode(); err != nil {
			b.Fatal(err)
		}
	}
}
