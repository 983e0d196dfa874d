package isolation

import (
	"slices"
	"strings"
)

// Kind is what a node is. What is known of each kind stands in one table, kinds.
type Kind string

// The kinds of node. The first group cannot be closed. The second group are the points: things that a person can
// close (or take out) and that then stop flow or current. Check valves and automatic valves stand by themselves:
// a check valve never isolates, an automatic valve only with its motive supply isolated too, and an earth isolates
// nothing: it holds dead what is isolated.
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
	Earth        Kind = "earth" // an earthing switch, or the place where a portable earth is put on
	Valve        Kind = "valve"
	Blank        Kind = "blank"
	Spool        Kind = "spool"
	Plug         Kind = "plug"

	CheckValve     Kind = "check-valve"
	AutomaticValve Kind = "automatic-valve"
)

// Position is how a point stands, in plant-file words.
type Position string

// The positions. For valves, plugs and openings Open lets flow pass and Closed stops it. For electrical points it is
// the other way about: an Open breaker interrupts, a Closed one conducts; an earth that is on is Closed. A blank or
// spool is Fitted or Removed: a
// Fitted blank stops flow, a Fitted spool carries it.
const (
	Open    Position = "open"
	Closed  Position = "closed"
	Fitted  Position = "fitted"
	Removed Position = "removed"
)

// kindFacts is what is known of a kind: the only place where kinds are told apart by what a person does to them.
type kindFacts struct {
	kind       Kind
	point      bool     // a person can close it, and it then counts as an isolation point by itself
	moved      bool     // a person brings it into a position, and it isolates nothing by itself
	electrical bool     // it interrupts current rather than flow
	switching  int      // its place in the order of switching off, see Switching
	blanking   bool     // it is put in or taken out by breaking a joint of the line
	isolating  Position // in which it stops flow or current
	passing    Position // in which it lets it through
	shut, open string   // the trade's words for isolating and passing, as on tags
}

// kinds is the table of kinds. What cannot be moved has the positions of a valve, so that a question about them has an
// answer.
var kinds = []kindFacts{
	{kind: Source, isolating: Closed, passing: Open, shut: "SHUT", open: "OPEN"},
	{kind: Vessel, isolating: Closed, passing: Open, shut: "SHUT", open: "OPEN"},
	{kind: Junction, isolating: Closed, passing: Open, shut: "SHUT", open: "OPEN"},
	{kind: Consumer, isolating: Closed, passing: Open, shut: "SHUT", open: "OPEN"},
	{kind: Opening, moved: true, isolating: Closed, passing: Open, shut: "SHUT", open: "OPEN"},

	{kind: Breaker, point: true, electrical: true, switching: 1, isolating: Open, passing: Closed, shut: "OFF",
		open: "ON"},
	{kind: Disconnector, point: true, electrical: true, switching: 3, isolating: Open, passing: Closed, shut: "OFF",
		open: "ON"},
	{kind: Fuse, point: true, electrical: true, switching: 4, isolating: Open, passing: Closed, shut: "WITHDRAWN",
		open: "IN PLACE"},
	{kind: Switch, point: true, electrical: true, switching: 2, isolating: Open, passing: Closed, shut: "OFF", open: "ON"},
	{kind: Earth, moved: true, isolating: Closed, passing: Open, shut: "EARTH ON", open: "EARTH OFF"},
	{kind: Valve, point: true, isolating: Closed, passing: Open, shut: "SHUT", open: "OPEN"},
	{kind: Blank, point: true, blanking: true, isolating: Fitted, passing: Removed, shut: "BLANK IN", open: "BLANK OUT"},
	{kind: Spool, point: true, blanking: true, isolating: Removed, passing: Fitted, shut: "SPOOL OUT", open: "SPOOL IN"},
	{kind: Plug, point: true, isolating: Closed, passing: Open, shut: "PLUG IN", open: "PLUG OUT"},

	{kind: CheckValve, isolating: Closed, passing: Open, shut: "SHUT", open: "OPEN"},
	{kind: AutomaticValve, moved: true, isolating: Closed, passing: Open, shut: "SHUT", open: "OPEN"},
}

// facts returns the row of a kind; that of a valve that is no point for a word that is no kind.
func (k Kind) facts() *kindFacts {
	for i := range kinds {
		if kinds[i].kind == k {
			return &kinds[i]
		}
	}
	return &kindFacts{kind: k, isolating: Closed, passing: Open, shut: "SHUT", open: "OPEN"}
}

// Kinds returns every kind in the order of the table.
func Kinds() []Kind {
	out := make([]Kind, len(kinds))
	for i := range kinds {
		out[i] = kinds[i].kind
	}
	return out
}

// Positions returns every position that some kind can stand in, in the order of the table.
func Positions() []Position {
	var out []Position
	for i := range kinds {
		for _, p := range []Position{kinds[i].passing, kinds[i].isolating} {
			if !slices.Contains(out, p) {
				out = append(out, p)
			}
		}
	}
	return out
}

// ParseKind returns the kind that a word of a file means: capitals don't matter, spaces and underscores count as
// hyphens. A word that is no kind gives "".
func ParseKind(s string) Kind {
	if k := Kind(Hyphened(s)); slices.Contains(Kinds(), k) {
		return k
	}
	return ""
}

// IsPoint reports whether a node of this kind can be closed by hand and counts as an isolation point by itself.
func (k Kind) IsPoint() bool { return k.facts().point }

// IsMoved reports whether a person brings a node of this kind into a position, so that it carries a label: a point, an
// automatic valve, an opening, an earth.
func (k Kind) IsMoved() bool { return k.facts().point || k.facts().moved }

// IsElectrical reports whether a point of this kind interrupts current rather than flow.
func (k Kind) IsElectrical() bool { return k.facts().electrical }

// Switching returns the place of an electrical kind in the order of switching off: 1 for a breaker, which is made to
// break any load, 2 for a switch, which may break its own, 3 for a disconnector, which may be opened only where no
// current flows, 4 for fuses, which are drawn only when they are dead; 0 for what is not electrical. Back on it is the
// other way about. (IEC 60947-3 tells disconnectors from switches: from memory; that fuses are drawn last: common
// practice, no source.)
func (k Kind) Switching() int { return k.facts().switching }

// IsBlanking reports whether a point of this kind is put in or taken out by breaking a joint of the line.
func (k Kind) IsBlanking() bool { return k.facts().blanking }

// Isolating returns the position in which a point of kind k stops flow or current.
func (k Kind) Isolating() Position { return k.facts().isolating }

// Passing returns the position in which a point of kind k lets flow or current through: the other one than Isolating.
func (k Kind) Passing() Position { return k.facts().passing }

// Word returns a position of a point of kind k in the trade's word, as it stands on tags and in sentences: a breaker
// that is "open" in the plant file is OFF to the person who locks it, a closed valve or drain is SHUT. A position that
// the kind cannot have comes back in capitals, none as none.
func (k Kind) Word(p Position) string {
	switch f := k.facts(); p {
	case f.isolating:
		return f.shut
	case f.passing:
		return f.open
	}
	return strings.ToUpper(string(p))
}
