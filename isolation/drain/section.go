package drain

// Section is one isolated stretch as plain values: what is still joined to the
// work once the points are shut. It may fall into several parts that do not
// touch. Levels are metres above any one datum; an invert is the lowest point
// inside the pipe. Names are for sentences and must be unique within their kind.
type Section struct {
	Name     string
	Nodes    []Node
	Links    []Link
	Vessels  []Vessel
	Openings []Opening
	Boundary []Boundary // the shut points around it, for a refill in the hold; may be empty

	Fluid  Fluid
	TempC  float64  // of the liquid in the line, °C
	FillM  *float64 // level up to which it was filled; nil: full
	RoughM float64  // wall roughness, m; 0: 46 µm, commercial steel

	Air AirRule `json:",omitempty"` // what is taken of air in narrow and in wide places

	Margin Margin // how well bores, lengths, vessels and the fill are known; zero: see [Margin]
	Tilt   Tilt   // envelope of list and trim; zero: upright
}

// AirRule is what is taken of air that must pass liquid. A plan keeps its rule with the section, so that its readings
// are judged as it was made.
type AirRule uint8

const (
	// AnyLevel lets air into every level pipe, and up into none; the zero AirRule, of plans made before 2026-11-28.
	AnyLevel AirRule = iota
	// WideLevel lets no air into a level dead end so narrow that the liquid hangs in it.
	WideLevel
	// WideRoom also lets it up where there is room for it beside the liquid that comes down: into a wide dead end that
	// rises by no more than its bore, and to the top of a wide vessel from an inlet further down.
	WideRoom
)

// Node is where links meet, or the bottom of a vessel.
type Node struct {
	Name   string
	LevelM float64 // bottom of the inside
	// Placed says that XM and YM are given. The tilt is computed only if every
	// node is placed: a position that is half known would look like a result.
	Placed bool
	XM     float64 // forward of any one point on the keel line, m
	YM     float64 // to starboard of it, m
}

// Link is a straight pipe between two nodes.
type Link struct {
	Name      string // empty: "A to B"
	A, B      string // node names
	BoreM     float64
	LengthM   float64 // less than the height between its ends is refused
	InvertAM  float64 // lowest inside point at A; may lie above A's level (a nozzle in a vessel's side)
	InvertBM  float64
	LossK     float64 // bends and open valves on it, sum of K
	OneWayToB bool    // a non-return valve: liquid leaves only from A to B
}

// Shape is the form of a vessel.
type Shape uint8

const (
	// Prism has the same area at every level; the zero Shape.
	Prism Shape = iota
	// LyingCylinder is a horizontal cylinder; its height is its diameter.
	LyingCylinder
	// Sphere has its diameter as height.
	Sphere
)

// Vessel stands on a node: its bottom is the node's level.
type Vessel struct {
	Name     string // empty: the node's name
	Node     string
	Shape    Shape
	VolumeM3 float64 // m³ inside
	HeightM  float64 // m inside; 0: that of a cube of the volume, and the Outlook says so
}

// Role says what an opening is for.
type Role uint8

const (
	// DrainOpening lets liquid out; the zero Role.
	DrainOpening Role = iota
	// VentOpening lets air in.
	VentOpening
)

// Opening is a drain or a vent.
type Opening struct {
	Name    string
	Node    string
	Role    Role
	Open    bool // only open ones count
	BoreM   float64
	LevelM  float64 // drain: where the liquid leaves; vent: where air comes in
	LengthM float64 // of its own pipe, m
	LossK   float64 // minor losses on the way out; 0: 1.78, a sharp-edged hole (Cd 0.6)
}

// Boundary is a shut point of the isolation that touches the section.
type Boundary struct {
	Name        string
	Node        string  // node of the section that it touches; may be empty
	DNmm        float64 // nominal size for the seat-tightness rate, mm; 0: unknown
	UpstreamBar float64 // gauge pressure behind it, bar; 0: none known
	TempC       float64 // of what stands behind it, °C; 0: unknown
}

// Margin states how far the inputs may be off, as fractions at about the 95 %
// level. A zero field takes the default, which is common practice without a
// source: a nominal bore is within 4 % of the real one (and all bores err the
// same way), lengths taken from drawings within 10 % (each its own way),
// vessels within 5 %, and up to 5 % of the section may have held gas.
type Margin struct {
	Bore, Length, Vessel, Fill float64
}

func (m Margin) filled() Margin {
	def := func(x *float64, d float64) {
		if *x == 0 {
			*x = d
		}
	}
	def(&m.Bore, 0.04)
	def(&m.Length, 0.10)
	def(&m.Vessel, 0.05)
	def(&m.Fill, 0.05)
	return m
}

// Tilt is the envelope of angles within which the ship may lie while draining:
// anything from −ListDeg to +ListDeg (starboard down is positive) with anything
// from −TrimDeg to +TrimDeg (bow down is positive). A position (x forward,
// y to starboard, z up) stands at z·cosθ·cosφ − x·sinθ·cosφ − y·sinφ
// above the datum, θ the trim and φ the list.
type Tilt struct{ ListDeg, TrimDeg float64 }

// label is the name of a link in sentences.
func (l Link) label() string {
	if l.Name != "" {
		return l.Name
	}
	return l.A + " to " + l.B
}

func (v Vessel) label() string {
	if v.Name != "" {
		return v.Name
	}
	return v.Node
}

// area is the cross-section of a bore.
func area(boreM float64) float64 { return 0.7853981633974483 * boreM * boreM }
