package web

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"

	"stillwatch/permits/register"
	"stillwatch/web/screens"
)

// The words of an entry name steps, sections and readings of its permit. Of a permit that is over only as much is read
// as that takes; the words must not change for it.
func TestEntriesReadTheSameOnceTheirPermitIsOver(t *testing.T) {
	j := begin(t)
	j.authorise()
	j.isolate()
	j.record()
	j.goLive()
	j.work()
	j.restore()
	told := func() map[int64]screens.EntryLine {
		list, err := j.a.reg.Entries(t.Context(), register.EntryQuery{Permit: j.id, Limit: 1000})
		if err != nil {
			t.Fatal(err)
		}
		out, tell := map[int64]screens.EntryLine{}, j.a.web.teller(context.Background())
		for _, e := range list {
			out[e.N] = tell.Line(e)
		}
		return out
	}
	before := told()
	j.close()
	after := told()
	if len(before) < 20 || len(after) != len(before)+1 {
		t.Fatalf("%d entries before closing and %d after, want some twenty and one more", len(before), len(after))
	}
	for n, want := range before {
		if diff := cmp.Diff(want, after[n]); diff != "" {
			t.Errorf("entry %d reads otherwise once its permit is over (-before +after):\n%s", n, diff)
		}
	}
}
