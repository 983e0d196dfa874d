package permits

import (
	"cmp"
	"iter"
	"slices"

	"stillwatch/isolation"
)

// Holding is one point that an open permit means to hold, or holds, in a position.
type Holding struct {
	Permit   PermitID
	Step     int
	Point    isolation.NodeID
	Position isolation.Position
	Padlock  Padlock // "" while no lock hangs
	On       bool
	Lifted   bool // it came off for a test run that is under way

	Wrong      string // what was found wrong; it is to be fitted anew
	WrongBy    Mark   // who found it
	Hung       Mark   // who fitted it
	Owner      PersonID
	Sighted    Mark // an auditor saw it as it was left
	Unreadable Mark // an auditor could not read the tag
}

// Padlock is the number stamped on a padlock or hasp.
type Padlock string

// Held is what all open permits hold, by permit and step. The zero value holds nothing. A Held is never changed: With
// gives another one, which shares what is the same.
type Held struct {
	parts [][]Holding // of one permit each, none empty, by the permit's number
}

// All returns every holding.
func (h Held) All() iter.Seq[Holding] {
	return func(yield func(Holding) bool) {
		for _, part := range h.parts {
			for i := range part {
				if !yield(part[i]) {
					return
				}
			}
		}
	}
}

// At returns the holdings at a point, but those of the permit own, which may be 0.
func (h Held) At(point isolation.NodeID, own PermitID) []Holding {
	var out []Holding
	for _, part := range h.parts {
		if part[0].Permit == own {
			continue
		}
		for i := range part {
			if part[i].Point == point {
				out = append(out, part[i])
			}
		}
	}
	return out
}

// With returns what is held when one permit holds now, and nothing else. It keeps nothing of now.
func (h Held) With(id PermitID, now []Holding) Held {
	i, there := slices.BinarySearchFunc(h.parts, id, func(part []Holding,
		id PermitID) int {
		return cmp.Compare(part[0].Permit, id)
	})
	switch {
	case there && slices.Equal(h.parts[i], now), !there && len(now) == 0:
		return h
	case len(now) == 0:
		return Held{slices.Concat(h.parts[:i], h.parts[i+1:])}
	case there:
		parts := slices.Clone(h.parts)
		parts[i] = slices.Clone(now)
		return Held{parts}
	}
	return Held{slices.Concat(h.parts[:i], [][]Holding{slices.Clone(now)}, h.parts[i:])}
}
