package office

import (
	"context"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"stillwatch/permits/shore/wire"
)

// How many entries a second the shore takes over HTTP, everything included (unpacking, signatures, hashes, replay by
// the gates, rows and indexes, commit), beside what PostgreSQL's own COPY writes of the same rows into a table
// without any index and into one with the shore's partitions and indexes, in the same run.
func BenchmarkIngest(b *testing.B) {
	m := makeLog(b, *benchEntries)
	const ships = 8
	for b.Loop() {
		b.StopTimer()
		first := newAshore(b)
		shores := []*ashore{first, serveShore(b, first.address)}
		fleet := packAll(b, simulateFleet(b, first, m, ships), 0, m.size())
		b.StartTimer()
		began, busy := time.Now(), processorSeconds(b)
		sendAll(b, fleet, shores...)
		took, used := time.Since(began), processorSeconds(b)-busy
		b.StopTimer()
		entries := float64(ships * m.size())
		b.ReportMetric(entries/took.Seconds(), "entries/s")
		b.ReportMetric(used*1e6/entries, "cpu-µs/entry")
		bare, indexed := copyRates(b, first, entries)
		b.ReportMetric(bare, "COPY-bare/s")
		b.ReportMetric(indexed, "COPY-indexed/s")
		b.StartTimer()
	}
}

// processorSeconds returns how much processor time this process and PostgreSQL's have used: a figure that does not
// depend on what else the machine does. It is 0 where the system does not tell.
func processorSeconds(b *testing.B) float64 {
	b.Helper()
	master, err := os.ReadFile(filepath.Join(cluster.dir, "data", "postmaster.pid"))
	if err != nil {
		b.Fatal(err)
	}
	parent, _, _ := strings.Cut(string(master), "\n")
	all, _ := filepath.Glob("/proc/[0-9]*/stat")
	sum := 0.0
	for _, name := range all {
		text, err := os.ReadFile(name)
		if err != nil {
			continue // it has ended
		}
		_, rest, _ := strings.Cut(string(text), ") ")
		f := strings.Fields(rest) // from the third field of proc(5) on
		own := name == "/proc/"+strconv.Itoa(os.Getpid())+"/stat" || name == "/proc/"+parent+"/stat"
		if len(f) < 15 || !own && f[1] != parent {
			continue
		}
		for _, ticks := range f[11:13] { // utime, stime
			n, _ := strconv.ParseFloat(ticks, 64)
			sum += n / 100
		}
		if name == "/proc/"+parent+"/stat" { // and of those of its children that have ended
			for _, ticks := range f[13:15] {
				n, _ := strconv.ParseFloat(ticks, 64)
				sum += n / 100
			}
		}
	}
	return sum
}

// copyRates copies the rows of the log that are ashore, in as many pieces as ships send, and returns rows a second.
func copyRates(b *testing.B, a *ashore, entries float64) (bare, indexed float64) {
	b.Helper()
	ctx := context.Background()
	c, err := pgx.Connect(ctx, a.address)
	if err != nil {
		b.Fatal(err)
	}
	defer c.Close(ctx)
	columns := []string{"ship", "n", "at", "permit", "kind", "shapes", "body", "hashes"}
	found, err := c.Query(ctx, "SELECT ship, n, at, permit, kind, shapes, body, hashes FROM entries ORDER BY ship, n")
	if err != nil {
		b.Fatal(err)
	}
	all, err := pgx.CollectRows(found, func(row pgx.CollectableRow) ([]any, error) { return row.Values() })
	if err != nil {
		b.Fatal(err)
	}
	rate := func(table string) float64 {
		began := time.Now()
		for rest := all; len(rest) > 0; {
			n := min(len(rest), wire.Usual.Entries)
			if _, err := c.CopyFrom(ctx, pgx.Identifier{table}, columns, pgx.CopyFromRows(rest[:n])); err != nil {
				b.Fatal(err)
			}
			rest = rest[n:]
		}
		return entries / time.Since(began).Seconds()
	}
	if _, err := c.Exec(ctx, "CREATE TABLE bare AS SELECT * FROM entries LIMIT 0"); err != nil {
		b.Fatal(err)
	}
	bare = rate("bare")
	if _, err := c.Exec(ctx, "TRUNCATE entries"); err != nil {
		b.Fatal(err)
	}
	return bare, rate("entries")
}
