package office

import (
	"flag"
	"fmt"
	"net/http"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"golang.org/x/sync/errgroup"

	"stillwatch/permits/shore"
	"stillwatch/permits/shore/wire"
)

var (
	scaleShips   = flag.Int("scale.ships", 20, "ships of the simulated fleet")
	scaleEntries = flag.Int64("scale.entries", 400, "entries of each of them; a ship makes some 300 a day")
	scaleBoards  = flag.Int("scale.boards", 20, "how often each page is asked for after each part")
)

// A simulated fleet sends its logs in the real protocol to two processes over one database, in four parts. After each
// part the pages are asked for, so that it is seen how their time grows with what is ashore.
func TestTheFleetBoardStaysQuickAsLogsGrow(t *testing.T) {
	a := newAshore(t)
	shores := []*ashore{a, serveShore(t, a.address)}
	m := makeLog(t, *scaleEntries)
	fleet := simulateFleet(t, a, m, *scaleShips)
	b := a.signedIn(shore.Person{Name: "Port engineer"})
	const parts = 4
	for part := range int64(parts) {
		from, to := m.size()*part/parts, m.size()*(part+1)/parts
		began := time.Now()
		sendParts(t, fleet, from, to, shores)
		took := time.Since(began)
		var entries, bytes, index int64
		a.ask(&entries, "SELECT sum(size)::bigint FROM ships")
		a.ask(&bytes, "SELECT pg_database_size(current_database())")
		a.ask(&index, "SELECT sum(pg_indexes_size(inhrelid))::bigint FROM pg_inherits WHERE inhparent = 'entries'::regclass")
		if want := to * int64(len(fleet)); entries != want {
			t.Fatalf("%d entries ashore, want %d", entries, want)
		}
		t.Logf("%d ships, %d entries: %.0f entries/s with the ships' own packing; %.2f GB, %.0f B an entry, of which "+
			"%.0f in indexes",
			len(fleet), entries, float64((to-from)*int64(len(fleet)))/took.Seconds(), float64(bytes)/1e9,
			float64(bytes)/float64(entries), float64(index)/float64(entries))
		pages := []string{"/sign-in", "/", "/ships/1", "/passing?from=2026-01-01", "/figures?from=2026-01-01"}
		for i, took := range b.times(*scaleBoards, pages...) {
			t.Logf("    %-26s p50 %s, p99 %s", pages[i], share(took, 50), share(took, 99))
		}
	}
}

// times asks for pages again and again, in turn so that each sees the machine as busy as the others, and returns how
// long the answers of each took, in order.
func (b *browser) times(n int, pages ...string) [][]time.Duration {
	b.t.Helper()
	all := make([][]time.Duration, len(pages))
	for range n {
		for i, path := range pages {
			began := time.Now()
			if status, _ := b.get(path); status != http.StatusOK {
				b.t.Fatalf("%s = %d", path, status)
			}
			all[i] = append(all[i], time.Since(began))
		}
	}
	for i := range all {
		slices.Sort(all[i])
	}
	return all
}

// share returns the time that so many of a hundred answers did not exceed.
func share(sorted []time.Duration, percent int) time.Duration {
	return sorted[(len(sorted)*percent+99)/100-1].Round(time.Millisecond / 10)
}

// sendParts cuts, packs and sends the entries [from, to) of every ship.
func sendParts(t testing.TB, fleet []*simulated, from, to int64, shores []*ashore) {
	t.Helper()
	var g errgroup.Group
	g.SetLimit(8)
	var turn atomic.Int64
	for _, s := range fleet {
		g.Go(func() error {
			for n := from; n < to; n += int64(wire.Usual.Entries) {
				p, err := s.segment(n, min(to, n+int64(wire.Usual.Entries)))
				if err == nil {
					err = s.send(shores[int(turn.Add(1))%len(shores)].site.URL, p)
				}
				if err != nil {
					return fmt.Errorf("%s from %d: %w", s.public, n, err)
				}
			}
			return nil
		})
	}
	if err := g.Wait(); err != nil {
		t.Fatal(err)
	}
}
