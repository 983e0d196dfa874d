package isolation

// NodeID names a node of the plant, as painted on its label. IDs are unique in a plant.
type NodeID string

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
	Earthed    bool    // sources: what they fed is earthed before work at it, whatever the voltage; see NeedsEarth
	ElevationM float64 // sources: liquid level; vessels: bottom; openings: the mouth

	// TempC, ElevationM, GaugeBar were given; where not, their 0 means nothing
	HasTemp, HasElevation, HasGauge bool

	// Points (and automatic valves, openings).
	Lockable bool     // a lock can be put on; false: tag only, and then Measure must say what more is done
	Normal   Position // as the plant needs it in service: what the point goes back to
	Measure  string   // the further physical measure of a tag-only point, in words
	Awkward  int      // 0 easy to reach … 9 worst; breaks ties between plans with equally many locks

	// Automatic valves: what they do when their motive air or power is taken away, and the point that takes it away.
	Fails  string // "closed", "open" or "stays"
	Supply NodeID

	// Vessels.
	VolumeL  float64
	TopM     float64
	HeatedBy NodeID  // what brings its heat: the other side of a heater, or an electrical consumer; "" for none
	LiftsBar float64 // a pump: by how much it raises the pressure at most while it runs
	Drive    NodeID  // a pump: the consumer that makes it run

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

// BreaksJoint reports whether a joint has to be broken to bring the node into the position in which it isolates: for
// every blank and spool that does not stand so already.
func (n *Node) BreaksJoint() bool { return n.Kind.IsBlanking() && n.Normal != n.Kind.Isolating() }

// earthedAbove is the voltage above which a dead conductor is earthed before anybody works at it: STCW's bound of high
// voltage, from memory.
const earthedAbove = 1000

// NeedsEarth reports whether conductors that a source fed are earthed before anybody works at them.
func (n *Node) NeedsEarth() bool {
	return n.Kind == Source && n.Energy.Nature() == Current && (n.Earthed || n.Volt > earthedAbove)
}

// HoldsUp reports whether nothing can be relied on to drain through the node, and nobody opens it by hand for that: an
// automatic valve that is normally closed, or closes when its supply is taken away; a blank or spool that stands so; an
// electrical point that stands open. What presses may pass them all the same.
func (n *Node) HoldsUp() bool {
	if n.Kind == AutomaticValve {
		return n.Normal == Closed || n.Fails == "closed"
	}
	return (n.Kind.IsElectrical() || n.Kind.IsBlanking()) && n.Normal == n.Kind.Isolating()
}
