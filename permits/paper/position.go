package paper

import "strings"

// Mark is the symbol drawn beside the word for a position, so that a tag can be read
// by its shape when the word is dirty or the language strange. The zero value is no
// position at all and is refused in print where a position is needed.
type Mark uint8

// The symbols: valves are shut or open, switches and breakers off or on, fuses withdrawn or in place, blanks in or out,
// spools out or in, plugs in or out, earths on or off.
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
	EarthOn        // contact down on three bars
	EarthOff       // contact lifted from them
	OtherWord      // no symbol but a plain square; Position.Word says it
	markCount      // not a mark
)

// Position is the position of a point: a symbol, and the word that the plant's table of kinds has for it.
type Position struct {
	Mark Mark
	Word string
}

// Words is the position as printed, upper case: "SHUT". Empty if the position is not set.
func (p Position) Words() string { return strings.ToUpper(strings.TrimSpace(p.Word)) }

// IsSet tells whether there is a position that can be printed.
func (p Position) IsSet() bool { return p.Mark != MarkUnset && p.Mark < markCount && p.Words() != "" }
