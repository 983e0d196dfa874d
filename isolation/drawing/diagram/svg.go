package diagram

import (
	"bufio"
	"fmt"
	"io"
	"strings"

	"stillwatch/isolation/drawing/svg"
)

// Options say how a drawing is written as SVG. The zero value is for a page that has Stylesheet in its own sheet.
type Options struct {
	ID         string // prefix of the element ids, needed when a page shows several drawings; default "dg"
	Standalone bool   // a file of its own: carries its style sheet (with a night palette) and a background
}

// SVG writes the drawing as one svg element without scripts or outside references. It carries its title and
// description for screen readers, scales to the width it is given, and looks right (by day) even where no style sheet
// is allowed, because every colour is also a presentation attribute. Errors are those of w.
func (d Drawing) SVG(w io.Writer, o Options) error {
	if o.ID == "" {
		o.ID = "dg"
	}
	b := bufio.NewWriter(w)
	id := svg.Text(o.ID)
	fmt.Fprintf(b,
		`<svg xmlns="http://www.w3.org/2000/svg" class="dg" viewBox="0 0 %s %s" role="img" aria-labelledby="%s-title %s-desc" font-family="%s"`,
		svg.Number(d.W), svg.Number(d.H), id, id, fontStack)
	if o.Standalone {
		fmt.Fprintf(b, ` width="%smm" height="%smm"`, svg.Number(d.W), svg.Number(d.H))
	}
	fmt.Fprintf(b, ">\n<title id=\"%s-title\">%s</title>\n<desc id=\"%s-desc\">%s</desc>\n", id, svg.Text(d.Title), id,
		svg.Text(d.Desc))
	if o.Standalone {
		fmt.Fprintf(b, "<style>.dg-paper{fill:var(--dg-hollow-fill,#ffffff)}\n%s@media "+
			"(prefers-color-scheme:dark){svg{%s}}</style>\n", Stylesheet(), Night())
		fmt.Fprintf(b, "<rect class=\"dg-paper\" width=\"%s\" height=\"%s\" fill=\"#ffffff\"/>\n", svg.Number(d.W),
			svg.Number(d.H))
	}
	for _, op := range d.Ops {
		writeOp(b, op)
	}
	b.WriteString("</svg>\n")
	return b.Flush()
}

const fontStack = "Arial,'Liberation Sans',Helvetica,Roboto,sans-serif"

func writeOp(b *bufio.Writer, op Op) {
	switch o := op.(type) {
	case Line:
		fmt.Fprintf(b, `<line x1="%s" y1="%s" x2="%s" y2="%s"%s/>`, svg.Number(o.X1), svg.Number(o.Y1), svg.Number(o.X2),
			svg.Number(o.Y2), paint(o.Style, false))
	case Polyline:
		fmt.Fprintf(b, `<polyline points="%s"%s/>`, coords(o.Points), paint(o.Style, false))
	case Polygon:
		fmt.Fprintf(b, `<polygon points="%s"%s/>`, coords(o.Points), paint(o.Style, true))
	case Circle:
		fmt.Fprintf(b, `<circle cx="%s" cy="%s" r="%s"%s/>`, svg.Number(o.X), svg.Number(o.Y), svg.Number(o.R),
			paint(o.Style, true))
	case Text:
		anchor := [...]string{Left: "", Middle: ` text-anchor="middle"`, Right: ` text-anchor="end"`}[o.Anchor%3]
		l := o.Style.Look()
		weight := ""
		if l.Bold {
			weight = ` font-weight="700"`
		}
		fmt.Fprintf(b, `<text x="%s" y="%s" font-size="%s"%s%s class="%s" fill="%s">%s</text>`,
			svg.Number(o.X), svg.Number(o.Y), svg.Number(o.Size), anchor, weight, l.Class, l.Fill, svg.Text(o.Words))
	}
	b.WriteByte('\n')
}

// paint returns class and presentation attributes; lines have no inside to fill.
func paint(s Style, inside bool) string {
	l := s.Look()
	fill := l.Fill
	if !inside || fill == "" {
		fill = "none"
	}
	out := fmt.Sprintf(` class="%s" fill="%s"`, l.Class, fill)
	if l.Stroke == "" {
		return out
	}
	out += fmt.Sprintf(` stroke="%s" stroke-width="%s" stroke-linejoin="round"`, l.Stroke, svg.Number(l.Width))
	if l.Dash > 0 {
		out += fmt.Sprintf(` stroke-dasharray="%s %s"`, svg.Number(l.Dash), svg.Number(l.Dash*0.6))
	}
	return out
}

func coords(pts []Point) string {
	parts := make([]string, len(pts))
	for i, p := range pts {
		parts[i] = svg.Number(p.X) + "," + svg.Number(p.Y)
	}
	return strings.Join(parts, " ")
}
