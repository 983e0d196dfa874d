package shore

import (
	"context"
	"fmt"
	"time"

	"stillwatch/permits/lookback"
	rows "stillwatch/permits/register/store"
	"stillwatch/permits/shore/store"
)

// What the office looks at. Moments are microseconds since 1970, UTC; 0 is none.
type (
	// Ship is a ship as the shore knows it.
	Ship = store.Ship
	// Key is a key that a ship had.
	Key = store.KeyRow
	// Alarm is something about a ship's log that a person must look into.
	Alarm = store.AlarmRow
	// FleetLine is what the fleet board shows of a ship.
	FleetLine = store.FleetRow
	// PermitLine is what lists show of a permit.
	PermitLine = rows.PermitRow
	// PassingPoint is a point that was found passing.
	PassingPoint = store.PassingRow
	// PassingGroup is how often points of one kind at one place were found passing.
	PassingGroup = store.PassingGroup
	// PassingLine is one point that passes now, with its ship.
	PassingLine = store.PassingLine
	// Late is how many audits of a ship came late.
	Late = store.LateRow
)

// Asked says about which ships, and which time, a figure is.
type Asked struct {
	Ship     int64  // 0: any
	Plant    string // title of the plant file, which sister ships share; "": any
	From, To time.Time
}

func (a Asked) over() store.Over {
	return store.Over{Ship: a.Ship, Plant: a.Plant, From: a.From.UnixMicro(), To: a.To.UnixMicro()}
}

// Named returns the ship that is enrolled under a name.
func (s *Shore) Named(ctx context.Context, name string) (Ship, error) {
	ship, found, err := s.db.ByName(ctx, name)
	if err == nil && !found {
		err = noShip(name)
	}
	return ship, err
}

// Numbered returns a ship by its number, one whose log has ended too; ErrNoShip if there is none.
func (s *Shore) Numbered(ctx context.Context, id int64) (Ship, error) {
	ship, found, err := s.db.ByID(ctx, id)
	if err == nil && !found {
		err = ErrNoShip
	}
	return ship, err
}

// Fleet returns every ship whose log goes on, by name.
func (s *Shore) Fleet(ctx context.Context) ([]FleetLine, error) {
	return s.db.Fleet(ctx, s.now().UnixMicro(), 0)
}

// Alarms returns the alarms that nobody has explained, the newest first.
func (s *Shore) Alarms(ctx context.Context) ([]Alarm, error) { return s.db.Alarms(ctx, 0) }

// Board is one ship as of its newest head.
type Board struct {
	FleetLine
	Alarms  []Alarm
	Open    []PermitLine
	Passing []PassingPoint
	Keys    []Key
	Logs    []Ship // every log that came under the name, the newest first
}

// mostOpen bounds what one page lists.
const mostOpen = 500

// Board returns one ship as it stands; ErrNoShip if its log does not go on.
func (s *Shore) Board(ctx context.Context, id int64) (b Board, err error) {
	lines, err := s.db.Fleet(ctx, s.now().UnixMicro(), id)
	if err == nil && len(lines) == 0 {
		err = ErrNoShip
	}
	if err != nil {
		return b, err
	}
	b.FleetLine = lines[0]
	if b.Alarms, err = s.db.Alarms(ctx, id); err != nil {
		return b, err
	}
	if b.Open, err = s.db.Permits(ctx, id, true, mostOpen); err != nil {
		return b, err
	}
	if b.Passing, err = s.db.PassingOf(ctx, id); err != nil {
		return b, err
	}
	if b.Keys, err = s.db.Keys(ctx, id); err != nil {
		return b, err
	}
	b.Logs, err = s.db.Logs(ctx, b.Name)
	return b, err
}

// Permits returns permits of a ship, those that are over too, the newest first.
func (s *Shore) Permits(ctx context.Context, ship int64, most int) ([]PermitLine, error) {
	return s.db.Permits(ctx, ship, false, most)
}

// PassingGroups returns how often points were found passing, by kind and place, most often first.
func (s *Shore) PassingGroups(ctx context.Context, a Asked) ([]PassingGroup, error) {
	return s.db.PassingGroups(ctx, a.over())
}

// PassingNow returns the points that pass, the oldest first.
func (s *Shore) PassingNow(ctx context.Context, a Asked, most int) ([]PassingLine, error) {
	return s.db.PassingNow(ctx, a.over(), most)
}

// LateAudits returns the ships whose audits of the tags came late, most first.
func (s *Shore) LateAudits(ctx context.Context, a Asked) ([]Late, error) {
	return s.db.LateAudits(ctx, a.over())
}

// Sisters is how many ships have a plant file of one title.
type Sisters struct {
	Words string
	Ships int
}

// Plants returns the titles of the plant files in force.
func (s *Shore) Plants(ctx context.Context) ([]Sisters, error) {
	found, err := s.db.Plants(ctx)
	out := make([]Sisters, len(found))
	for i, r := range found {
		out[i] = Sisters{r.Words, int(r.N)}
	}
	return out, err
}

// Figures returns how long permits took and what gates refused, of many ships as lookback counts it of one.
func (s *Shore) Figures(ctx context.Context, a Asked) (f lookback.Figures, err error) {
	f.From, f.To = a.From, a.To
	refused, err := s.db.RefusalsByGate(ctx, a.over())
	if err != nil {
		return f, err
	}
	for _, r := range refused {
		f.Refusals = append(f.Refusals, lookback.Count{Words: r.Words, N: int(r.N)})
		f.Refused += int(r.N)
	}
	lives, err := s.db.Lives(ctx, a.over())
	if err != nil {
		return f, fmt.Errorf("count: %w", err)
	}
	for _, l := range lives {
		micro := func(us int64) time.Duration { return time.Duration(us) * time.Microsecond }
		spread := lookback.Spread{N: int(l.Live), Half: micro(l.Half), Nine: micro(l.Nine), Most: micro(l.Most)}
		if l.Month == 0 {
			f.Requested, f.ToLive = int(l.Requested), spread
			continue
		}
		begins := time.Date(int(l.Month/12), time.Month(l.Month%12+1), 1, 0, 0, 0, 0, time.UTC)
		f.Months = append(f.Months, lookback.Month{Begins: begins, Requested: int(l.Requested), ToLive: spread})
	}
	return f, nil
}
