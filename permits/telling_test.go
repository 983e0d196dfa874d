package permits

import (
	"regexp"
	"testing"
	"time"
)

// Every entry reads as a sentence from the permit as it is at the end, when the test run is over.
func TestEntriesReadTheSameWhenTheirTestIsOver(t *testing.T) {
	r := newRig(t)
	id := r.untilTesting()
	r.lift(id)
	r.must(id, tomas, RecordTest{Words: "ran smoothly for two minutes"})
	r.must(id, ines, EndTest{Stopped: true})
	names := Names{Ship: r.ship, Permit: r.permits[id], Stamp: func(at time.Time) string { return at.Format("15:04") }}
	hole := regexp.MustCompile(`  | [,.;:)]|\( |\.\.|[,;:]\.`)
	for _, e := range r.entries {
		if said := Tell(names, e); hole.MatchString(said) || said == "" {
			t.Errorf("%s is told as %q: a word is missing", e.Kind, said)
		}
	}
}
