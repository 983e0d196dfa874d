package office

import (
	"context"
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
		began := time.Now()
		sendAll(b, fleet, shores...)
		took := time.Since(began)
		b.StopTimer()
		entries := float64(ships * m.size())
		b.ReportMetric(entries/took.Seconds(), "entries/s")
		bare, indexed := copyRates(b, first, entries)
		b.ReportMetric(bare, "COPY-bare/s")
		b.ReportMetric(indexed, "COPY-indexed/s")
		b.StartTimer()
	}
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
