package paper

import "strings"

// Mark is the symbol drawn beside the word for a position, so that a tag can be read
// by its shape when the word is dirty or the language strange. The zero value is no
// position at all and is refused in print where a position is needed.
type Mark uint8

// The positions of points, in the words of the trade: valves are shut or open,
// switches and breakers off or on (a breaker that is "open" is off), fuses and
// draw-out breakers withdrawn, blanks in, spools out, plugs in or out.
const (
	MarkUnset Mark = iota
	ValveShut      // two filled triangles, tip to tip
	ValveOpen      // two outlined triangles, tip to tip
	SwitchOff      // contact drawn open
	SwitchOn       // contact drawn closed
	Withdrawn      // fuse or breaker drawn out
	InPlace        // fuse or breaker in its place
	BlankIn        // filled disc across the pipe
	BlankOut       // ring: the pipe is free
	SpoolOut       // gap in the pipe
	SpoolIn        // pipe joined
	PlugOut        // drain plug removed
	PlugIn         // drain plug screwed in
	OtherWord      // no symbol but a plain square; Position.Word says it
	markCount      // not a mark
)

// markWords are the words printed beside the symbols.
var markWords = [markCount]string{
	ValveShut: "SHUT", ValveOpen: "OPEN", SwitchOff: "OFF", SwitchOn: "ON", Withdrawn: "WITHDRAWN", InPlace: "IN PLACE",
	BlankIn: "BLANK IN", BlankOut: "BLANK OUT", SpoolOut: "SPOOL OUT", SpoolIn: "SPOOL IN", PlugOut: "PLUG OUT",
	PlugIn: "PLUG IN",
}

// Position is the position of a point: a symbol and its word.
type Position struct {
	Mark Mark
	Word string // replaces the mark's own word where the plant uses another; needed for OtherWord
}

// Words is the position as printed, upper case: "SHUT". Empty if the position is not set.
func (p Position) Words() string {
	if w := strings.TrimSpace(p.Word); w != "" {
		return strings.ToUpper(w)
	}
	if p.Mark >= markCount {
		return ""
	}
	return markWords[p.Mark]
}

// IsSet tells whether there is a position that can be printed.
func (p Position) IsSet() bool { return p.Mark != MarkUnset && p.Words() != "" }
