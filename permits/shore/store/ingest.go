package store

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"

	rows "stillwatch/permits/register/store"
)

// Ship is a ship as the shore knows it.
type Ship struct {
	ID       int64
	Name     string
	Key      string // the one that signs now
	Size     int64
	Hash     string // of the tree of Size entries
	Head     string // signed
	Enrolled int64
	Ended    int64 // the ship has begun a new log; this one stays as it is
	Heard    int64
	Last     int64
	Latest   int64
	Next     int64
	Edition  int64
	Plant    string

	State `gorm:"-"` // only written; Fleet reads it
}

// State is what the fleet board shows of a ship as of its newest entry.
type State struct {
	Open, Live, LocksOn, SignedOn, Passing int64
	Untils, TagsDue, PlansDue              []int64 // moments
}

// TableName returns the table's name, for gorm.
func (Ship) TableName() string { return "ships" }

// shipColumns are those that scanShip takes, in order.
const shipColumns = "id, name, key, size, hash, head, enrolled, ended, heard, last, latest, next, edition, plant"

func scanShip(row pgx.Row) (s Ship, err error) {
	err = row.Scan(&s.ID, &s.Name, &s.Key, &s.Size, &s.Hash, &s.Head, &s.Enrolled, &s.Ended, &s.Heard, &s.Last, &s.Latest,
		&s.Next, &s.Edition, &s.Plant)
	return s, err
}

// PassingRow is a point that was found passing.
type PassingRow struct {
	Ship     int64
	N        int64 // entry that says so
	At       int64
	Point    string
	Kind     string // of the point
	Place    string
	Words    string
	Repaired int64 // 0: not yet
}

// Repair says that a point was repaired.
type Repair struct {
	Point string
	At    int64
}

// AuditRow is a signed audit of the tags.
type AuditRow struct {
	N, At, Tags int64
	Late        bool
}

// RefusalKey is under what refusals are counted.
type RefusalKey struct {
	Day  int64 // since 1970 UTC
	Gate string
}

// FileRow is a plant file or rules that were put in force.
type FileRow struct {
	What, Name, Text string
	N                int64
}

// Batch is what a segment brings: its rows, what the shore's own tables make of it, and the ship as it is afterwards.
type Batch struct {
	rows.Commit
	Shapes   []bool          // of each entry: it must be read again to know the ship
	Accepted map[int64]int64 // permits that were accepted, and when
	Passings []any           // PassingRow and Repair, in the order of the log
	Audits   []AuditRow
	Refusals map[RefusalKey]int64
	Files    []FileRow
	After    Ship
}

// Locked is a ship whose row is held: until the transaction ends no other process takes anything of it.
type Locked struct {
	Tables
	Ship Ship
}

// ErrNoShip says that no ship has this key.
var ErrNoShip = errors.New("no ship is enrolled with this key")

// InShip holds the row of the ship whose key signs, and runs f in one transaction: all that it puts is kept, or
// nothing. A process that dies in it leaves nothing, and the row is free at once.
func (d *Database) InShip(ctx context.Context, key string, f func(Locked) error) error {
	return d.onConnection(ctx, func(c *pgx.Conn) error {
		return pgx.BeginFunc(ctx, c, func(tx pgx.Tx) error {
			s, err := scanShip(tx.QueryRow(ctx, "SELECT "+shipColumns+" FROM ships WHERE key = $1 AND ended = 0 FOR "+
				"UPDATE", key))
			if errors.Is(err, pgx.ErrNoRows) {
				return ErrNoShip
			}
			if err != nil {
				return fmt.Errorf("hold the ship: %w", err)
			}
			return f(Locked{Tables{ctx, tx, s.ID}, s})
		})
	})
}

// InLog runs f on the log of a ship as it stands at one moment; nothing is held, and nothing may be put.
func (d *Database) InLog(ctx context.Context, id int64, f func(Locked) error) error {
	return d.onConnection(ctx, func(c *pgx.Conn) error {
		return pgx.BeginTxFunc(ctx, c, pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly},
			func(tx pgx.Tx) error {
				s, err := scanShip(tx.QueryRow(ctx, "SELECT "+shipColumns+" FROM ships WHERE id = $1", id))
				if errors.Is(err, pgx.ErrNoRows) {
					return ErrNoShip
				}
				if err != nil {
					return fmt.Errorf("read the ship: %w", err)
				}
				return f(Locked{Tables{ctx, tx, s.ID}, s})
			})
	})
}

// Put writes a batch.
func (l Locked) Put(b Batch) error {
	if err := l.copyEntries(b); err != nil {
		return err
	}
	q := &pgx.Batch{}
	for _, p := range b.Permits {
		queuePermit(q, l.ship, p, b.Accepted[p.ID])
	}
	for _, u := range b.Uses {
		q.Queue("INSERT INTO uses VALUES ($1, $2, $3, $4, $5) ON CONFLICT (ship, job, person) DO UPDATE SET first = "+
			"excluded.first, last = excluded.last", l.ship, u.Job, u.Person, u.First, u.Last)
	}
	for k, n := range b.Refusals {
		q.Queue("INSERT INTO refusals VALUES ($1, $2, $3, $4) ON CONFLICT (ship, day, gate) DO UPDATE SET n = refusals.n + "+
			"excluded.n", l.ship, k.Day, k.Gate, n)
	}
	for _, p := range b.Passings {
		switch p := p.(type) {
		case PassingRow:
			q.Queue("INSERT INTO passings VALUES ($1, $2, $3, $4, $5, $6, $7)", l.ship, p.N, p.At, p.Point, p.Kind, p.Place,
				p.Words)
		case Repair:
			q.Queue("UPDATE passings SET repaired = $3 WHERE ship = $1 AND point = $2 AND repaired = 0", l.ship, p.Point, p.At)
		}
	}
	for _, a := range b.Audits {
		q.Queue("INSERT INTO audits VALUES ($1, $2, $3, $4, $5)", l.ship, a.N, a.At, a.Tags, a.Late)
	}
	for _, f := range b.Files {
		q.Queue("INSERT INTO files VALUES ($1, $2, $3, $4, $5) ON CONFLICT (ship, what) DO UPDATE SET n = excluded.n, "+
			"name = "+
			"excluded.name, text = excluded.text", l.ship, f.What, f.N, f.Name, f.Text)
	}
	a := b.After
	q.Queue("UPDATE ships SET size = $2, hash = $3, head = $4, heard = $5, last = $6, latest = $7, next = $8, edition "+
		"= $9, "+
		"plant = $10, open = $11, live = $12, locks_on = $13, signed_on = $14, passing = $15, untils = $16, tags_due = $17, "+
		"plans_due = $18 WHERE id = $1", l.ship, a.Size, a.Hash, a.Head, a.Heard, a.Last, a.Latest, a.Next, a.Edition,
		a.Plant,
		a.Open, a.Live, a.LocksOn, a.SignedOn, a.Passing, a.Untils, a.TagsDue, a.PlansDue)
	if err := l.tx.SendBatch(l.ctx, q).Close(); err != nil {
		return fmt.Errorf("write what the entries make: %w", err)
	}
	return nil
}

// copyEntries writes the log itself.
func (l Locked) copyEntries(b Batch) error {
	if len(b.Entries) == 0 {
		return nil
	}
	columns := []string{"ship", "n", "at", "permit", "kind", "shapes", "body", "hashes"}
	n, err := l.tx.CopyFrom(l.ctx, pgx.Identifier{"entries"}, columns, pgx.CopyFromSlice(len(b.Entries),
		func(i int) ([]any, error) {
			x := b.Index[i]
			return []any{l.ship, x.N, x.At, x.Permit, x.Kind, b.Shapes[i], b.Entries[i].Body, b.Tree[i].Hashes}, nil
		}))
	if err == nil && n != int64(len(b.Entries)) {
		err = fmt.Errorf("%d of %d were taken", n, len(b.Entries))
	}
	if err != nil {
		return fmt.Errorf("write the entries: %w", err)
	}
	return nil
}

func queuePermit(q *pgx.Batch, ship int64, p rows.PermitRow, accepted int64) {
	q.Queue("INSERT INTO permits VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, "+
		"$18, "+
		"$19, $20, $21) ON CONFLICT (ship, id) DO UPDATE SET state = excluded.state, over = excluded.over, work = "+
		"excluded.work, changed = excluded.changed, until = excluded.until, locks = excluded.locks, locks_on = "+
		"excluded.locks_on, signed_on = excluded.signed_on, entries = excluded.entries, last_entry = excluded.last_entry, "+
		"kinds = excluded.kinds, accepted = CASE WHEN permits.accepted > 0 THEN permits.accepted ELSE excluded.accepted END",
		ship, p.ID, p.State, p.Over, p.Job, p.Machine, p.MachineName, p.Title, p.Work, p.Exposure, p.RequestedBy,
		p.RequestedAt, p.Changed, p.Until, p.Locks, p.LocksOn, p.SignedOn, p.Entries, p.LastEntry, p.Kinds, accepted)
}

// Hear notes that the ship has asked, at a moment.
func (l Locked) Hear(at int64) error {
	_, err := l.tx.Exec(l.ctx, "UPDATE ships SET heard = $2 WHERE id = $1", l.ship, at)
	return err
}

// SetHead keeps another signature under the head of the same entries, as after a new key.
func (l Locked) SetHead(head string, at int64) error {
	_, err := l.tx.Exec(l.ctx, "UPDATE ships SET head = $2, heard = $3 WHERE id = $1", l.ship, head, at)
	return err
}

// SetKey puts a key in place of the one that signs now, with the act that does it.
func (l Locked) SetKey(key, act string, at int64) error {
	_, err := l.tx.Exec(l.ctx, "UPDATE ships SET key = $2, heard = $3 WHERE id = $1", l.ship, key, at)
	if err == nil {
		_, err = l.tx.Exec(l.ctx, "INSERT INTO ship_keys VALUES ($1, $2, $3, $4)", l.ship, key, at, act)
	}
	if err != nil {
		return fmt.Errorf("keep the ship's new key: %w", err)
	}
	return nil
}
