package store

import (
	"context"
	"fmt"

	rows "stillwatch/permits/register/store"
)

// FleetRow is what the fleet board shows of a ship.
type FleetRow struct {
	ID           int64
	Name         string
	Plant        string
	Size         int64
	Heard        int64
	Last         int64
	Open         int64 // permits that are not over
	Live         int64
	Overdue      int64
	LocksOn      int64
	SignedOn     int64
	Tags         int64 // that hang
	TagsOverdue  int64
	Plans        int64 // in use
	PlansOverdue int64
	Passing      int64
	Alarms       int64
}

// Fleet returns every ship whose log goes on as it stands at a moment, by name; of one ship, if it is named. It reads
// one row a ship, however long the logs are and however many permits are open.
func (d *Database) Fleet(ctx context.Context, now, ship int64) (fleet []FleetRow, err error) {
	past := func(moments string) string { return "(SELECT count(*) FROM unnest(" + moments + ") t WHERE t < @now)" }
	return ask[FleetRow](ctx, d, "read the fleet", "SELECT s.id, s.name, s.plant, s.size, s.heard, s.last, s.open, "+
		"s.live, "+
		"s.locks_on, s.signed_on, s.passing, "+past("s.untils")+" AS overdue, cardinality(s.tags_due) AS tags, "+
		past("s.tags_due")+" AS tags_overdue, cardinality(s.plans_due) AS plans, "+past("s.plans_due")+" AS plans_overdue, "+
		"coalesce(a.n, 0) AS alarms FROM ships s LEFT JOIN (SELECT ship, count(*) AS n FROM alarms WHERE explained = 0 "+
		"GROUP "+
		"BY ship) a ON a.ship = s.id WHERE s.ended = 0 AND (@ship = 0 OR s.id = @ship) ORDER BY s.name",
		map[string]any{"now": now, "ship": ship})
}

// Permits returns permits of a ship, the newest first; only those that are not over, or all.
func (d *Database) Permits(ctx context.Context, ship int64, open bool, limit int) (out []rows.PermitRow, err error) {
	q := d.db.WithContext(ctx).Where("ship = ?", ship).Order("id DESC").Limit(limit)
	if open {
		q = q.Where("over = 0")
	}
	if err = q.Find(&out).Error; err != nil {
		err = fmt.Errorf("read the permits of a ship: %w", err)
	}
	return out, err
}

// TableName returns the table's name, for gorm.
func (PassingRow) TableName() string { return "passings" }

// PassingOf returns the points of a ship that were found passing and not repaired, the oldest first.
func (d *Database) PassingOf(ctx context.Context, ship int64) (out []PassingRow, err error) {
	if err = d.db.WithContext(ctx).Where("ship = ? AND repaired = 0",
		ship).Order("n").Limit(1000).Find(&out).Error; err != nil {
		err = fmt.Errorf("read the passing points of a ship: %w", err)
	}
	return out, err
}

// Over says about which ships a figure is: one, or those with the same plant file's title, or all.
type Over struct {
	Ship     int64  // 0: not asked
	Plant    string // "": not asked
	From, To int64  // microseconds
}

// where is the condition that Over makes on a table with a column ship.
const where = " ship IN (SELECT id FROM ships WHERE ended = 0 AND (@ship = 0 OR id = @ship) AND (@plant = '' OR " +
	"plant = " +
	"@plant)) "

func (o Over) args() map[string]any {
	const day = 86400 * 1_000_000
	return map[string]any{"ship": o.Ship, "plant": o.Plant, "from": o.From, "to": o.To, "first": o.From / day,
		"last": o.To / day}
}

// PassingGroup is how often points of one kind at one place were found passing.
type PassingGroup struct {
	Kind, Place string
	Found       int64 // times, in the time asked for
	Open        int64 // points that pass now
	Ships       int64 // of so many
}

// PassingGroups returns them by kind and place, most often first.
func (d *Database) PassingGroups(ctx context.Context, o Over) (out []PassingGroup, err error) {
	return ask[PassingGroup](ctx, d, "group the passing points", "SELECT kind, place, count(*) FILTER (WHERE at >= "+
		"@from AND "+
		"at < @to) AS found, count(DISTINCT (ship, point)) FILTER (WHERE repaired = 0) AS open, count(DISTINCT ship) AS "+
		"ships "+
		"FROM passings WHERE"+where+"AND (at >= @from AND at < @to OR repaired = 0) GROUP BY kind, place ORDER BY found "+
		"DESC, "+
		"open DESC, kind, place LIMIT 500", o.args())
}

// PassingLine is one point that passes now.
type PassingLine struct {
	Name string // of the ship
	PassingRow
}

// PassingNow returns the points that pass, the oldest first.
func (d *Database) PassingNow(ctx context.Context, o Over, limit int) ([]PassingLine, error) {
	args := o.args()
	args["limit"] = limit
	return ask[PassingLine](ctx, d, "read the passing points", "SELECT s.name, x.* FROM (SELECT * FROM passings "+
		"WHERE"+where+
		"AND repaired = 0 ORDER BY at LIMIT @limit) x JOIN ships s ON s.id = x.ship ORDER BY x.at", args)
}

// CountRow is how often something occurred.
type CountRow struct {
	Words string
	N     int64
}

// RefusalsByGate returns what gates refused, most often first.
func (d *Database) RefusalsByGate(ctx context.Context, o Over) ([]CountRow, error) {
	return ask[CountRow](ctx, d, "count the refusals", "SELECT gate AS words, sum(n)::bigint AS n FROM refusals "+
		"WHERE"+where+
		"AND day >= @first AND day <= @last GROUP BY gate ORDER BY n DESC, words", o.args())
}

// LifeRow is how long permits took from their request to their first acceptance, of one month; of the whole time with
// Month 0. The shares are of those that were accepted, by nearest rank, in microseconds.
type LifeRow struct {
	Month            int64 // 12 times the year, and the month from 0
	Requested, Live  int64
	Half, Nine, Most int64
	LocksHalf        int64
}

// Lives returns the months of a time in which permits were requested, and the whole time first.
func (d *Database) Lives(ctx context.Context, o Over) ([]LifeRow, error) {
	// one sort for the three shares
	return ask[LifeRow](ctx, d, "read how long permits took", "SELECT month, requested, live, coalesce(s[1], 0) AS half, "+
		"coalesce(s[2], 0) AS nine, coalesce(s[3], 0) AS most FROM (SELECT coalesce(month, 0) AS month, count(*) AS "+
		"requested, "+
		"count(*) FILTER (WHERE accepted > 0) AS live, percentile_disc(ARRAY[0.5, 0.9, 1]) WITHIN GROUP (ORDER BY "+
		"accepted - "+
		"requested_at) FILTER (WHERE accepted > 0) AS s FROM (SELECT accepted, requested_at, (extract(year FROM at) * 12 + "+
		"extract(month FROM at) - 1)::bigint AS month FROM (SELECT accepted, requested_at, to_timestamp(requested_at / "+
		"1000000) AT TIME ZONE 'UTC' AS at FROM permits WHERE"+where+"AND requested_at >= @from AND requested_at < @to) "+
		"p) q "+
		"GROUP BY ROLLUP (month)) r ORDER BY month", o.args())
}

// LateRow is how many audits of a ship came late.
type LateRow struct {
	Name         string
	Signed, Late int64
}

// LateAudits returns the ships whose audits of the tags came late, most first.
func (d *Database) LateAudits(ctx context.Context, o Over) ([]LateRow, error) {
	return ask[LateRow](ctx, d, "count the late audits", "SELECT s.name, a.signed, a.late FROM (SELECT ship, count(*) AS "+
		"signed, count(*) FILTER (WHERE late) AS late FROM audits WHERE"+where+"AND at >= @from AND at < @to GROUP BY "+
		"ship) a "+
		"JOIN ships s ON s.id = a.ship WHERE a.late > 0 ORDER BY a.late DESC, s.name", o.args())
}

// Plants returns the titles of the plant files in force, with how many ships have each: ships with the same are
// sisters.
func (d *Database) Plants(ctx context.Context) ([]CountRow, error) {
	return ask[CountRow](ctx, d, "read the plants", "SELECT plant AS words, count(*) AS n FROM ships WHERE ended = 0 "+
		"AND plant "+
		"<> '' GROUP BY plant ORDER BY plant", nil)
}

// File returns a file that a ship has put in force; found is false if it has none.
func (d *Database) File(ctx context.Context, ship int64, what string) (f FileRow, found bool, err error) {
	all, err := ask[FileRow](ctx, d, "read a file in force", "SELECT what, name, text, n FROM files WHERE ship = "+
		"@ship AND "+
		"what = @what", map[string]any{"ship": ship, "what": what})
	if len(all) == 1 {
		return all[0], true, nil
	}
	return f, false, err
}

// ask reads the rows of a question.
func ask[R any](ctx context.Context, d *Database, does, text string, args map[string]any) (out []R, err error) {
	q := d.db.WithContext(ctx)
	if args == nil {
		q = q.Raw(text)
	} else {
		q = q.Raw(text, args)
	}
	if err = q.Scan(&out).Error; err != nil {
		return nil, fmt.Errorf("%s: %w", does, err)
	}
	return out, nil
}
