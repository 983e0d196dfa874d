package permits

import (
	"maps"
	"slices"
	"time"

	"stillwatch/isolation"
)

// Setting is what an act meets: when, who, and how the ship stands. The register fills it from the log, inside the
// transaction that will keep the entry.
type Setting struct {
	At     time.Time // the later of the server's clock and the log's latest time: the time by which gates judge
	Clock  time.Time // the server's clock; zero: it is not looked at
	ActID  ActID
	By     Person    // who is signed in
	Signed Signature // of a signed act; zero otherwise
	Ship   Ship
	Next   PermitID // the number that a new permit would get
	Held   Held     // what open permits hold, this one's own holdings too
	Uses   Uses     // who used the plan of which job
	Plant  *isolation.Plant
	Rules  *isolation.Rules
	Judge  Judge // the edition that judges; the zero value is the first

	Open map[PermitID]*Permit // every permit that is not over; to be read only

	Distrust string // why what the ship is known by is not to be trusted; "": it is
}

// Actor returns whoever answers for the act: the signer if it is signed, else whoever is signed in.
func (s Setting) Actor() Person {
	if !s.Signed.IsZero() {
		return s.Signed.By()
	}
	return s.By
}

// OpenIDs returns the numbers of all open permits, in order.
func (s Setting) OpenIDs() []PermitID { return slices.Sorted(maps.Keys(s.Open)) }

// name returns what people call somebody: the name on the books, or the short name if the books lack it.
func (s Setting) name(id PersonID) string {
	if p, ok := s.Ship.Person(id); ok {
		return p.String()
	}
	return string(id)
}

// clockBehind is how far the server's clock may stand behind the log before nothing leads on to work.
const clockBehind = 2 * time.Minute

// mayLeadOn refuses what leads on to work while the register is not as it was written, and while the clock stands
// behind the log: no wait could be trusted.
func mayLeadOn(s Setting, gate string) error {
	if s.Distrust != "" {
		return refuse(gate, "See the notice on the board. Work may be stopped and locks may come off meanwhile.", "%s",
			s.Distrust)
	}
	if s.Clock.IsZero() || s.At.Sub(s.Clock) <= clockBehind {
		return nil
	}
	return refuse(gate, "Set the server's clock right. Work may be stopped and locks may come off meanwhile.",
		"The server's clock stands %s behind the last entry of the log.", inMinutes(s.At.Sub(s.Clock)))
}

// Circumstances returns what bears on a plan for a permit, beside plant and rules: points that pass, and points on
// which locks of other permits hang. For a permit that does not exist yet the number is 0.
func (s Setting) Circumstances(own PermitID) isolation.Circumstances {
	return CircumstancesOf(s.Ship, s.Held, own)
}

// CircumstancesOf is Setting.Circumstances for whoever computes a plan before there is an act.
func CircumstancesOf(ship Ship, held Held, own PermitID) isolation.Circumstances {
	c := isolation.Circumstances{Passing: ship.PassingPoints()}
	for h := range held.All() {
		if h.On && h.Permit != own {
			c.Held = append(c.Held, isolation.Held{Point: h.Point, Position: h.Position, Permit: itoa(int(h.Permit))})
		}
	}
	return c
}
