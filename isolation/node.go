package isolation

import "strings"

// NodeID names a node of the plant, as painted on its label. IDs are unique in a plant.
type NodeID string

// Kind is what a node is.
type Kind string

// The kinds of node. The first group cannot be closed. The second group are the points: things that a person can
// close (or take out) and that then stop flow or current. Check valves and automatic valves stand by themselves:
// a check valve never isolates, an automatic valve only with its motive supply isolated too.
const (
	Source   Kind = "source"
	Vessel   Kind = "vessel"
	Junction Kind = "junction"
	Consumer Kind = "consumer"
	Opening  Kind = "opening" // a drain or a vent to atmosphere, with its own plug or cock

	Breaker      Kind = "breaker"
	Disconnector Kind = "disconnector"
	Fuse         Kind = "fuse"
	Switch       Kind = "switch"
	Valve        Kind = "valve"
	Blank        Kind = "blank"
	Spool        Kind = "spool"
	Plug         Kind = "plug"

	CheckValve     Kind = "check-valve"
	AutomaticValve Kind = "automatic-valve"
)

// IsPoint reports whether a node of this kind can be closed by hand and counts as an isolation point by itself.
func (k Kind) IsPoint() bool {
	switch k {
	case Breaker, Disconnector, Fuse, Switch, Valve, Blank, Spool, Plug:
		return true
	}
	return false
}

// IsElectrical reports whether a point of this kind interrupts current rather than flow.
func (k Kind) IsElectrical() bool {
	switch k {
	case Breaker, Disconnector, Fuse, Switch:
		return true
	}
	return false
}

// IsBlanking reports whether a point of this kind is put in or taken out by breaking a joint of the line.
func (k Kind) IsBlanking() bool { return k == Blank || k == Spool }

// BreaksJoint reports whether a joint has to be broken to bring the node into the position in which it isolates: for
// every blank and spool that does not stand so already.
func (n *Node) BreaksJoint() bool { return n.Kind.IsBlanking() && n.Normal != n.Kind.Isolating() }

// Energy names what a source would bring to the work, for instance "electrical", "fuel" or "steam".
// The words that a plant file may use are in Energies.
type Energy string

// Position is how a point stands, in plant-file words.
type Position string

// The positions. For valves, plugs and openings Open lets flow pass and Closed stops it. For electrical points it is
// the other way about: an Open breaker interrupts, a Closed one conducts. A blank or spool is Fitted or Removed: a
// Fitted blank stops flow, a Fitted spool carries it.
const (
	Open    Position = "open"
	Closed  Position = "closed"
	Fitted  Position = "fitted"
	Removed Position = "removed"
)

// Isolating returns the position in which a point of kind k stops flow or current.
func (k Kind) Isolating() Position {
	switch {
	case k.IsElectrical():
		return Open
	case k == Blank:
		return Fitted
	case k == Spool:
		return Removed
	}
	return Closed
}

// Passing returns the position in which a point of kind k lets flow or current through: the other one than Isolating.
func (k Kind) Passing() Position {
	switch {
	case k.IsElectrical():
		return Closed
	case k == Blank:
		return Removed
	case k == Spool:
		return Fitted
	}
	return Open
}

// Node is one thing in the plant. Which fields matter depends on Kind; the loader refuses a field on a kind that it
// says nothing about. Lengths and levels are metres above the ship's base line, pressures bar gauge, temperatures °C.
type Node struct {
	ID    NodeID
	Kind  Kind
	Name  string
	Place Place

	// Sources.
	Energy     Energy
	Fluid      string // key of Plant.Fluids; also on vessels, where it is what they hold
	GaugeBar   float64
	TempC      float64
	Volt       float64
	ElevationM float64 // sources: liquid level; vessels: bottom; openings: the mouth

	HasTemp, HasElevation bool // TempC, ElevationM were given; where not, their 0 means nothing

	// Points (and automatic valves, openings).
	Lockable bool     // a lock can be put on; false: tag only, and then Measure must say what more is done
	Normal   Position // as the plant needs it in service: what the point goes back to
	Measure  string   // the further physical measure of a tag-only point, in words
	Awkward  int      // 0 easy to reach … 9 worst; breaks ties between plans with equally many locks

	// Automatic valves: what they do when their motive air or power is taken away, and the point that takes it away.
	Fails  string // "closed", "open" or "stays"
	Supply NodeID

	// Vessels.
	VolumeL float64
	TopM    float64

	// Openings.
	Role   string // "drain" or "vent"
	BoreMM float64

	Line, Column int // where the plant file declares it, 1-based
}

// Label returns what a person calls the node: its name and id, or the id alone.
func (n *Node) Label() string {
	if n.Name == "" {
		return string(n.ID)
	}
	return n.Name + " (" + string(n.ID) + ")"
}

// Word returns a position of a point of kind k in the trade's word, as it stands on tags and in sentences: a breaker that
// is "open" in the plant file is OFF to the person who locks it, a closed valve or drain is SHUT. A position that the
// kind cannot have comes back in capitals, none as none.
func (k Kind) Word(p Position) string {
	if p != k.Isolating() && p != k.Passing() {
		return strings.ToUpper(string(p))
	}
	pick := func(cut, pass string) string {
		if p == k.Isolating() {
			return cut
		}
		return pass
	}
	switch {
	case k == Fuse:
		return pick("WITHDRAWN", "IN PLACE")
	case k.IsElectrical():
		return pick("OFF", "ON")
	case k == Blank:
		return pick("BLANK IN", "BLANK OUT")
	case k == Spool:
		return pick("SPOOL OUT", "SPOOL IN")
	case k == Plug:
		return pick("PLUG IN", "PLUG OUT")
	}
	return pick("SHUT", "OPEN")
}
