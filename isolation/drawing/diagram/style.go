package diagram

import (
	"fmt"
	"strings"
)

// Style names how a stroke looks. The looks are in one table, so that a screen, a page and a test see the same.
type Style uint8

// The styles. Live is what can bring energy, Safe is what the plan has cut off from it, Alarm a path that cannot be
// cut.
const (
	Ink      Style = iota // thin outline of a symbol
	Solid                 // filled symbol
	Badge                 // filled disc under a Number
	Hollow                // outlined symbol filled with the paper's colour
	Live                  // line that can bring energy: heavy
	LiveFill              // flag of a source
	Safe                  // line of the isolated part
	Spine                 // heavy line to what is opened
	Work                  // box of what is opened
	Zone                  // shading of the isolated part
	Hatch                 // strokes at the edge of the isolated part
	Flood                 // broad shading along the isolated part
	Shore                 // the edge of that shading
	Faint                 // line that is only there for the eye
	Alarm                 // path that cannot be cut: heavy and dashed
	Words                 // ordinary words
	Strong                // ids and positions
	Mute                  // explanations
	Number                // figures on a Badge
	styleCount
)

// Look is how a style is drawn by day, on white paper. Colours are "#rrggbb" or "" for none, widths and dashes
// millimetres. Gray says that black-and-white print should use grey rather than black.
type Look struct {
	Class  string // of the SVG element
	Fill   string
	Stroke string
	Width  float64
	Dash   float64 // 0: solid
	Bold   bool
	Gray   bool
}

// Look returns the look of a style; an unknown style looks like Ink.
func (s Style) Look() Look {
	if s >= styleCount {
		s = Ink
	}
	return looks[s]
}

var looks = [styleCount]Look{
	Ink:      {Class: "dg-ink", Stroke: "#14202b", Width: 0.3},
	Solid:    {Class: "dg-solid", Fill: "#14202b", Stroke: "#14202b", Width: 0.3},
	Badge:    {Class: "dg-badge", Fill: "#14202b", Stroke: "#14202b", Width: 0.3},
	Hollow:   {Class: "dg-hollow", Fill: "#ffffff", Stroke: "#14202b", Width: 0.35},
	Live:     {Class: "dg-live", Stroke: "#b45309", Width: 0.9},
	LiveFill: {Class: "dg-livefill", Fill: "#b45309", Stroke: "#b45309", Width: 0.3},
	Safe:     {Class: "dg-safe", Stroke: "#1d5a91", Width: 0.45},
	Spine:    {Class: "dg-spine", Stroke: "#1d5a91", Width: 0.8},
	Work:     {Class: "dg-work", Fill: "#ffffff", Stroke: "#1d5a91", Width: 0.8},
	Zone:     {Class: "dg-zone", Fill: "#e4eef7", Gray: true},
	Hatch:    {Class: "dg-hatch", Stroke: "#7fa6c9", Width: 0.25, Gray: true},
	Flood:    {Class: "dg-flood", Stroke: "#e4eef7", Width: mimicBand, Gray: true},
	Shore:    {Class: "dg-shore", Stroke: "#7fa6c9", Width: mimicBand + 1, Gray: true},
	Faint:    {Class: "dg-faint", Stroke: "#6b7885", Width: 0.25, Gray: true},
	Alarm:    {Class: "dg-alarm", Stroke: "#b3181f", Width: 1.0, Dash: 2.4},
	Words:    {Class: "dg-words", Fill: "#14202b"},
	Strong:   {Class: "dg-strong", Fill: "#14202b", Bold: true},
	Mute:     {Class: "dg-mute", Fill: "#47535f"},
	Number:   {Class: "dg-number", Fill: "#ffffff", Bold: true},
}

// night is the fill and stroke of each style on a dark page; an empty string means none, as by day.
var night = [styleCount][2]string{
	Ink:      {"", "#dfe6ec"},
	Solid:    {"#dfe6ec", "#dfe6ec"},
	Badge:    {"#dfe6ec", "#dfe6ec"},
	Hollow:   {"#10161c", "#dfe6ec"},
	Live:     {"", "#f2a33c"},
	LiveFill: {"#f2a33c", "#f2a33c"},
	Safe:     {"", "#7db8ec"},
	Spine:    {"", "#7db8ec"},
	Work:     {"#10161c", "#7db8ec"},
	Zone:     {"#16273a", ""},
	Hatch:    {"", "#41658a"},
	Flood:    {"", "#16273a"},
	Shore:    {"", "#41658a"},
	Faint:    {"", "#8593a0"},
	Alarm:    {"", "#ff7b7b"},
	Words:    {"#dfe6ec", ""},
	Strong:   {"#ffffff", ""},
	Mute:     {"#aab6c1", ""},
	Number:   {"#10161c", ""},
}

// Stylesheet returns the rules for a page that shows drawings inline: each colour is a custom property (--dg-live,
// --dg-zone-fill …) with the day's value as its default. Night gives the properties for a dark page; put them in a
// rule of the page's own choice. Without either sheet a drawing looks as by day.
func Stylesheet() string {
	var b strings.Builder
	for s := range looks {
		l := looks[s]
		fmt.Fprintf(&b, ".%s{", l.Class)
		if l.Fill != "" {
			fmt.Fprintf(&b, "fill:var(--%s-fill,%s)", l.Class, l.Fill)
		}
		if l.Stroke != "" {
			if l.Fill != "" {
				b.WriteByte(';')
			}
			fmt.Fprintf(&b, "stroke:var(--%s,%s)", l.Class, l.Stroke)
		}
		b.WriteString("}\n")
	}
	return b.String()
}

// Night returns the custom properties of Stylesheet for a dark page, as declarations without a selector.
func Night() string {
	var b strings.Builder
	for s := range night {
		if c := night[s][0]; c != "" {
			fmt.Fprintf(&b, "--%s-fill:%s;", looks[s].Class, c)
		}
		if c := night[s][1]; c != "" {
			fmt.Fprintf(&b, "--%s:%s;", looks[s].Class, c)
		}
	}
	return b.String()
}
