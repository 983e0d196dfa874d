package permits

import (
	"maps"
	"slices"
	"time"

	"stillwatch/isolation"
)

// Ship is what the log says of the whole ship: people, the files in force, labels, points that pass. Only ApplyShip
// changes one; its maps are to be read only. The zero value is a ship of which nothing is known.
type Ship struct {
	People      map[PersonID]Person
	PlantSHA256 string
	PlantEntry  int64
	RulesSHA256 string
	Proposed    map[FileKind]Proposal          // files that are not in force yet
	Labels      map[isolation.NodeID]TagDigest // of the point labels that were issued
	Passing     map[isolation.NodeID]string    // found passing and not repaired: what was found
	// FoundPassing is when each point was found passing last, repaired since or not.
	FoundPassing map[isolation.NodeID]time.Time
	Repaired     map[isolation.NodeID]time.Time // when each was repaired last
	PINs         map[PersonID]PINSet            // when each PIN was set last
	LostUpTo     int64                          // entries of the largest lost head that was accepted; 0: none
	Untold       map[PersonID][]Release         // locks released while their owner was away, and the owner does not know
	Adopted      Edition                        // of the gates, adopted last; 0: none was
	AuditEvery   int                            // days between two sights of a tag; 0: AuditMostDays
	Audited      Audited                        // the last audit of the tags that was signed
	Inspected    map[string]Inspection          // the last inspection of the plan of each job
	Emergency    Emergency                      // declared and not ended
	Screens      []BoardScreen                  // that may show the board, in the order in which they were allowed
}

// PINSet says when and by whom a person's PIN was set.
type PINSet struct {
	Entry   int64 // of the log
	ByOwner bool  // not by the chief engineer or the master for them
}

// Person returns somebody on the ship's books; ok is false for an unknown id.
func (s Ship) Person(id PersonID) (p Person, ok bool) {
	p, ok = s.People[id]
	return p, ok
}

// IsPassing reports whether a point is recorded as passing.
func (s Ship) IsPassing(point isolation.NodeID) bool {
	_, ok := s.Passing[point]
	return ok
}

// PassingPoints returns the points recorded as passing, in order.
func (s Ship) PassingPoints() []isolation.NodeID {
	return slices.Sorted(maps.Keys(s.Passing))
}

// pointOf returns the point whose label has this digest.
func (s Ship) pointOf(label TagDigest) (isolation.NodeID, bool) {
	for point, d := range s.Labels {
		if d == label {
			return point, true
		}
	}
	return "", false
}

// ShipAct is an act that concerns the whole ship.
type ShipAct interface {
	Act
	decideShip(s Setting) error
	applyShip(e Entry, ship *Ship)
}

// DecideShip says whether an act on the ship may happen and returns its entry, or a *Refusal.
func DecideShip(s Setting, a ShipAct) (Entry, error) {
	if first, ok := a.(AddPerson); ok && len(s.Ship.People) == 0 {
		return firstPerson(s, first)
	}
	if err := mayAct(s, a.Kind(), string(a.Kind())); err != nil {
		return Entry{}, err
	}
	if err := isSigned(s, a.Kind(), string(a.Kind())); err != nil {
		return Entry{}, err
	}
	if err := a.decideShip(s); err != nil {
		return Entry{}, err
	}
	return entryOf(s, a), nil
}

// ApplyShip returns the ship after an entry; it changes nothing in s.
func ApplyShip(s Ship, e Entry) Ship {
	a, ok := e.Act.(interface{ applyShip(Entry, *Ship) }) // a ShipAct, or a PermitAct that concerns the ship too
	if !ok {
		return s
	}
	a.applyShip(e, &s)
	return s
}

// with returns a copy of m with one key set, so that an earlier Ship keeps its own map.
func with[K comparable, V any](m map[K]V, key K, value V) map[K]V {
	out := maps.Clone(m)
	if out == nil {
		out = map[K]V{}
	}
	out[key] = value
	return out
}
