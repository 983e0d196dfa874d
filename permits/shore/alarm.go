package shore

import (
	"context"
	"fmt"

	"stillwatch/permits/register"
	"stillwatch/permits/shore/store"
	"stillwatch/permits/shore/wire"
)

// forked says that a ship's key has signed a log that is not the one of which the shore has the beginning: at so many
// entries the ship's hash is another.
func forked(ship store.Ship, at int64, hash string, got register.Head) error {
	return contradiction(ship, got, wire.RefusedFork, fmt.Sprintf("%s has sent a log that has gone another way: its "+
		"first %d "+
		"entries, hash %.12s, are not those that the shore has. Both heads are signed by the ship's own key. The "+
		"database aboard "+
		"was replaced or changed.", ship.Name, at, hash))
}

// rolledBack says that a ship's log is shorter than it was.
func rolledBack(ship store.Ship, got register.Head) error {
	return contradiction(ship, got, wire.RefusedBack, fmt.Sprintf("The register of %s is older than it was: it has %d "+
		"entries, and "+
		"the shore has %d of it. An older copy was put back aboard.", ship.Name, got.Size, ship.Size))
}

// wrongEntry says that a ship's key has signed an entry that its own gates would not have let through.
func wrongEntry(ship store.Ship, got register.Head, why error) error {
	return contradiction(ship, got, wire.RefusedGate, fmt.Sprintf("The log of %s has an entry that no gate made: %v. "+
		"The program "+
		"or the database aboard was changed.", ship.Name, why))
}

func contradiction(ship store.Ship, got register.Head, kind, words string) error {
	return &contradicts{Refusal{kind, words}, store.AlarmRow{Ship: ship.ID, Kind: kind, Words: words, Had: ship.Head,
		Got: string(got.Signed), Mark: fmt.Sprintf("at %d %s", ship.Size, ship.Hash)}}
}

// raise keeps the alarm of a contradiction. As long as the shore's head stays the same, it is one alarm, however
// often the ship asks.
func (s *Shore) raise(ctx context.Context, ship store.Ship, c *contradicts) error {
	c.alarm.At = s.now().UnixMicro()
	return s.db.Raise(ctx, c.alarm)
}

func noShip(name string) error { return fmt.Errorf("no ship is enrolled as %s", name) }

// Explain closes the alarms of a ship with what was found out; it returns how many there were.
func (s *Shore) Explain(ctx context.Context, name, why string) (int64, error) {
	ship, found, err := s.db.ByName(ctx, name)
	if err != nil {
		return 0, err
	}
	if !found {
		return 0, noShip(name)
	}
	return s.db.Explain(ctx, ship.ID, s.now().UnixMicro(), why)
}
