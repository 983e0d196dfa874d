package shore

import (
	"context"
	"errors"
	"fmt"
	"io"

	"stillwatch/permits/register"
	rows "stillwatch/permits/register/store"
	"stillwatch/permits/shore/store"
)

// ErrNoShip says that there is no such ship.
var ErrNoShip = errors.New("there is no such ship ashore")

// Export writes the whole log of a ship as the ship itself exports it: who trusts neither side checks it with the
// ship's public key alone.
func (s *Shore) Export(ctx context.Context, ship int64, w io.Writer) error {
	err := s.db.InLog(ctx, ship, func(l store.Locked) error {
		return register.ExportRows(l.Ship.Head, w, func(take func(rows.EntryRow, rows.TreeRow) error) error {
			return l.EachRecord(l.Ship.Size, take)
		})
	})
	switch {
	case errors.Is(err, store.ErrNoShip):
		return ErrNoShip
	case err != nil:
		return fmt.Errorf("export the log of a ship: %w", err)
	}
	return nil
}
