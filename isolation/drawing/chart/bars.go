package chart

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strings"

	"stillwatch/isolation/drawing/svg"
)

// Bar is one amount with its name.
type Bar struct {
	Name  string
	Value float64 // not negative; what is no number is drawn as nothing
	Words string  // the amount as people say it, behind the bar
	Over  bool    // beyond what it may be: drawn hollow, so that it is seen without colour; Words say so too
}

// Bars is a picture of amounts, one below the other, each on a line of its own below its name. The table beside it says
// the same: Name and Words.
type Bars struct {
	ID    string // of its own on a page that shows several
	Title string
	Desc  string // the same in a sentence, for readers who cannot see it
	Bars  []Bar
}

// Measures of the bars, in pixels at the picture's natural width.
const (
	barPx     = 14.0 // height of a bar
	barRowPx  = 38.0 // from one bar to the next, the name above it included
	barWordPx = 96.0 // kept free behind the longest bar, for its words
	nameMost  = 48   // characters of a name
	wordsMost = 14   // of the words
)

// SVG writes the picture as one svg element, as Chart.SVG does. Errors are those of w.
func (c Bars) SVG(w io.Writer) error {
	most := 0.0
	for _, bar := range c.Bars {
		if isNumber(bar.Value) {
			most = math.Max(most, bar.Value)
		}
	}
	b := bufio.NewWriter(w)
	id := "ch-" + slug(c.ID)
	height := svg.Number(barRowPx*float64(len(c.Bars)) + 4)
	fmt.Fprintf(b,
		`<svg xmlns="http://www.w3.org/2000/svg" class="ch" viewBox="0 0 %s %s" width="%s" height="%s" role="img" aria-labelledby="%s-title %s-desc" font-family="Arial,'Liberation Sans',Helvetica,Roboto,sans-serif" font-size="%s">`,
		svg.Number(width), height, svg.Number(width), height, id, id, svg.Number(typePx))
	fmt.Fprintf(b, "\n<title id=\"%s-title\">%s</title>\n<desc id=\"%s-desc\">%s</desc>\n", id, svg.Text(c.Title), id,
		svg.Text(c.Desc))
	for i, bar := range c.Bars {
		b.WriteString(bar.draw(barRowPx*float64(i), most))
	}
	b.WriteString("</svg>\n")
	return b.Flush()
}

// draw is one bar with its name above and its words behind it; most is the greatest amount of all.
func (bar Bar) draw(top, most float64) string {
	long := 0.0
	if isNumber(bar.Value) && bar.Value > 0 && most > 0 {
		long = math.Max(1, (width-barWordPx-2)*bar.Value/most)
	}
	class := "ch-bar"
	if bar.Over {
		class = "ch-bar-over"
	}
	var out strings.Builder
	fmt.Fprintf(&out, "<text class=\"ch-words\" x=\"1\" y=\"%s\" fill=\"currentColor\">%s</text>\n", svg.Number(top+14),
		svg.Text(shorten(bar.Name, nameMost)))
	fmt.Fprintf(&out, "<rect class=\"%s\" x=\"1\" y=\"%s\" width=\"%s\" height=\"%s\" fill=\"%s\" "+
		"stroke=\"currentColor\" stroke-width=\"1.5\"/>\n", class, svg.Number(top+20), svg.Number(long), svg.Number(barPx),
		fillOf(bar.Over))
	fmt.Fprintf(&out, "<text class=\"ch-words\" x=\"%s\" y=\"%s\" fill=\"currentColor\">%s</text>\n", svg.Number(long+8),
		svg.Number(top+31.5), svg.Text(shorten(bar.Words, wordsMost)))
	return out.String()
}

func fillOf(over bool) string {
	if over {
		return "none"
	}
	return "currentColor"
}

// shorten cuts words that would run out of the picture; the table has them whole.
func shorten(s string, most int) string {
	r := []rune(s)
	if len(r) <= most {
		return s
	}
	return string(r[:most-1]) + "…"
}
