package shore

import (
	"bytes"
	"context"
	"errors"
	"fmt"

	"stillwatch/permits/register"
	rows "stillwatch/permits/register/store"
	"stillwatch/permits/shore/store"
	"stillwatch/permits/shore/wire"
)

// contradicts is a refusal of which a person must be told.
type contradicts struct {
	Refusal
	alarm store.AlarmRow
}

// Take takes a segment from the ship whose key asks. The answer says how many entries are ashore, and is the same
// when the same segment comes again. A *Refusal says why it was not taken; the answer that comes with it says what is
// ashore.
func (s *Shore) Take(ctx context.Context, key string, p wire.Parcel) (wire.Answer, error) {
	head, err := p.Check(key)
	if err != nil {
		return s.refused(ctx, key, refuse(wire.RefusedForged, "The segment was not taken: %v.", err))
	}
	var after store.Ship
	var f *register.Follower
	err = s.db.InShip(ctx, key, func(l store.Locked) (err error) {
		after, f = l.Ship, nil
		switch size := l.Ship.Size; {
		case p.To <= size:
			return s.again(l, p, head)
		case p.From > size:
			return refuse(wire.RefusedGap, "The segment begins at entry %d, and the shore has only %d: those between come "+
				"first.",
				p.From, size)
		case p.From < size:
			return refuse(wire.RefusedOverlap, "The segment begins at entry %d, of which the shore has %d: the ship goes on "+
				"from "+
				"there.", p.From, size)
		case size > 0 && p.Since != l.Ship.Hash:
			return forked(l.Ship, p.From, p.Since, head)
		}
		after, f, err = s.store(l, p, head)
		return err
	})
	var no *Refusal
	var alarm *contradicts
	switch {
	case err == nil:
		if f != nil {
			s.followers.keep(after.ID, f)
		}
		return s.answer(ctx, after)
	case errors.Is(err, store.ErrNoShip):
		return wire.Answer{}, unknownKey()
	case errors.As(err, &alarm):
		s.log.Error("alarm", "ship", after.Name, "kind", alarm.Kind, "words", alarm.Words)
		if err := s.raise(ctx, after, alarm); err != nil {
			return wire.Answer{}, err
		}
		return s.refused(ctx, key, &alarm.Refusal)
	case errors.As(err, &no):
		return s.refused(ctx, key, no)
	}
	return wire.Answer{}, err
}

// refused returns a refusal with what is ashore.
func (s *Shore) refused(ctx context.Context, key string, no *Refusal) (wire.Answer, error) {
	a, err := s.Position(ctx, key)
	if err != nil {
		return a, err
	}
	a.Refused, a.Words = no.Kind, no.Words
	return a, no
}

// again looks at a segment whose end the shore has. The same entries under a head of the same log have the same answer;
// a head of another log, or of a ship that knows that it had more, is told.
func (s *Shore) again(l store.Locked, p wire.Parcel, head register.Head) error {
	hash, err := register.HashAt(l.Tables, head.Size)
	if err != nil {
		return err
	}
	if hash != head.Hash {
		return forked(l.Ship, head.Size, head.Hash, head)
	}
	told, err := register.OpenHead(p.Told, l.Ship.Key)
	if p.Told != nil && err == nil && told.Size > head.Size && told.Size <= l.Ship.Size {
		return rolledBack(l.Ship, head)
	}
	at := 0
	err = l.EachFrom(p.From, func(e rows.EntryRow) error {
		if at < len(p.Entries) && !bytes.Equal(p.Entries[at], e.Body) {
			return refuse(wire.RefusedForged, "Entry %d of the segment is not the one that the shore has under the same "+
				"head.", e.N)
		}
		if at++; at >= len(p.Entries) {
			return errEnough
		}
		return nil
	})
	if err != nil && !errors.Is(err, errEnough) {
		return err
	}
	now := s.now().UnixMicro()
	if head.Size == l.Ship.Size && string(head.Signed) != l.Ship.Head {
		return l.SetHead(string(head.Signed), now) // the same head, signed by a new key
	}
	return l.Hear(now)
}

var errEnough = errors.New("enough")

// store replays the entries of a segment that goes on from the shore's head, and writes them.
func (s *Shore) store(l store.Locked, p wire.Parcel, head register.Head) (after store.Ship, f *register.Follower,
	err error) {
	after = l.Ship
	if f, err = s.followers.follow(l); err != nil {
		return after, nil, fmt.Errorf("follow %s: %w", l.Ship.Name, err)
	}
	r := newReading(f)
	commit, err := f.Take(p.Entries, head, r.see)
	switch {
	case errors.Is(err, register.ErrEntries):
		return after, nil, refuse(wire.RefusedForged, "The segment was not taken: %v.", err)
	case errors.Is(err, register.ErrGate):
		return after, nil, wrongEntry(l.Ship, head, err)
	case errors.Is(err, register.ErrNewer):
		return after, nil, refuse(wire.RefusedNewer, "The ship's program is newer than the shore's, which must be "+
			"brought on first: "+
			"%v.", err)
	case err != nil:
		return after, nil, err
	}
	now := s.now()
	r.batch.Commit = commit
	r.batch.After = r.ship(after, head, now)
	after = r.batch.After
	return after, f, l.Put(r.batch)
}
