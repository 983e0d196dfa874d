package chart

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"stillwatch/isolation/drawing/svg"
)

// Sizes of the picture in pixels at its natural width, which is that of a small phone's screen.
const (
	width    = 340.0
	leftPx   = 44.0 // plot's edges
	rightPx  = 330.0
	topPx    = 24.0
	bottomPx = 184.0
	typePx   = 13.0
	linePx   = 18.0 // from line to line of words
)

// SVG writes the chart as one svg element: no scripts, no style attributes, nothing from outside. It carries title and
// description for screen readers. Its colours are the page's text colour unless Stylesheet is in force. Errors are
// those of w.
func (c Chart) SVG(w io.Writer) error {
	p := &pen{c: c}
	p.frame()
	p.band()
	p.curves()
	p.limits()
	p.marks()
	p.key()
	b := bufio.NewWriter(w)
	id := "ch-" + slug(c.ID)
	fmt.Fprintf(b,
		`<svg xmlns="http://www.w3.org/2000/svg" class="ch" viewBox="0 0 %s %s" width="%s" height="%s" role="img" aria-labelledby="%s-title %s-desc" font-family="Arial,'Liberation Sans',Helvetica,Roboto,sans-serif" font-size="%s">`,
		svg.Number(width), svg.Number(p.bottom), svg.Number(width), svg.Number(p.bottom), id, id, svg.Number(typePx))
	fmt.Fprintf(b, "\n<title id=\"%s-title\">%s</title>\n<desc id=\"%s-desc\">%s</desc>\n", id, svg.Text(c.Title), id,
		svg.Text(c.Desc))
	b.WriteString(p.out.String())
	b.WriteString("</svg>\n")
	return b.Flush()
}

// pen writes strokes.
type pen struct {
	c      Chart
	out    strings.Builder
	bottom float64 // how far down the picture reaches
}

func (p *pen) put(format string, args ...any) {
	fmt.Fprintf(&p.out, format, args...)
	p.out.WriteByte('\n')
}

// x and y give the place of a time and a value, held inside the plot.
func (p *pen) x(s float64) float64 {
	return leftPx + (rightPx-leftPx)*min(1, max(0, s/p.c.endS))
}

func (p *pen) y(v float64) float64 {
	return bottomPx - (bottomPx-topPx)*min(1, max(0, v/p.c.topV))
}

// words puts one line of words; anchor is "start", "middle" or "end".
func (p *pen) words(class, anchor string, x, y float64, s string) {
	p.put(`<text class="%s" x="%s" y="%s" text-anchor="%s" fill="currentColor">%s</text>`, class, svg.Number(x),
		svg.Number(y), anchor, svg.Text(s))
}

// frame draws the axes with ticks, figures and units.
func (p *pen) frame() {
	c := p.c
	unit := unitFor(c.endS)
	p.words("ch-words", "start", 2, 14, c.Quantity)
	for _, v := range ticks(c.topV, nil) {
		y := p.y(v)
		p.put(`<line class="ch-grid" x1="%s" y1="%s" x2="%s" y2="%s" stroke="currentColor" stroke-width="0.5" stroke-opacity="0.3"/>`, svg.Number(leftPx), svg.Number(y), svg.Number(rightPx), svg.Number(y))
		p.words("ch-words", "end", leftPx-5, y+4.5, figure(v))
	}
	for _, v := range ticks(c.endS/unit.seconds, unit.steps) {
		x := p.x(v * unit.seconds)
		p.put(`<line class="ch-axis" x1="%s" y1="%s" x2="%s" y2="%s" stroke="currentColor" stroke-width="1"/>`, svg.Number(x),
			svg.Number(bottomPx), svg.Number(x), svg.Number(bottomPx+4))
		p.words("ch-words", "middle", x, bottomPx+17, figure(v))
	}
	p.put(`<path class="ch-axis" d="M%s %sV%sH%s" fill="none" stroke="currentColor" stroke-width="1"/>`,
		svg.Number(leftPx), svg.Number(topPx), svg.Number(bottomPx), svg.Number(rightPx))
	p.words("ch-words", "end", rightPx, bottomPx+34, unit.name+" after "+c.Since)
	p.bottom = bottomPx + 40
}

// band shades where the course may really run, between dotted edges.
func (p *pen) band() {
	if len(p.c.Least) == 0 || len(p.c.Most) == 0 {
		return
	}
	edge := p.path(p.c.Most)
	back := make([]Point, 0, len(p.c.Least))
	for i := len(p.c.Least) - 1; i >= 0; i-- {
		back = append(back, p.c.Least[i])
	}
	p.put(`<polygon class="ch-band" points="%s %s" fill="currentColor" fill-opacity="0.14"/>`, edge, p.path(back))
	for _, e := range []string{edge, p.path(p.c.Least)} {
		p.put(`<polyline class="ch-curve" points="%s" fill="none" stroke="currentColor" stroke-width="0.8" stroke-dasharray="1 2.5"/>`, e)
	}
}

// path writes the places of a course.
func (p *pen) path(course []Point) string {
	parts := make([]string, len(course))
	for i, q := range course {
		parts[i] = svg.Number(p.x(q.S)) + "," + svg.Number(p.y(q.V))
	}
	return strings.Join(parts, " ")
}

func (p *pen) curves() {
	if len(p.c.Expected) > 0 {
		p.put(`<polyline class="ch-curve" points="%s" fill="none" stroke="currentColor" stroke-width="2" stroke-linejoin="round"/>`, p.path(p.c.Expected))
	}
	if len(p.c.Fitted) > 0 {
		p.put(`<polyline class="ch-fit" points="%s" fill="none" stroke="currentColor" stroke-width="1.6" stroke-dasharray="8 3 2 3"/>`, p.path(p.c.Fitted))
	}
}

// limits draws each limit as a dashed line with its words, at the end where they cover no reading.
func (p *pen) limits() {
	for _, l := range p.c.Limits {
		y := p.y(l.Value)
		p.put(`<line class="ch-limit" x1="%s" y1="%s" x2="%s" y2="%s" stroke="currentColor" stroke-width="1.6" stroke-dasharray="6 4"/>`, svg.Number(leftPx), svg.Number(y), svg.Number(rightPx), svg.Number(y))
		at := y + 14
		if l.above {
			at = y - 5
		}
		wide := letterPx * float64(utf8.RuneCountInString(l.Words))
		left, right := leftPx+6, rightPx-2
		if p.covers(left, at, wide) == p.covers(right-wide, at, wide) && !l.right || !p.covers(left, at, wide) &&
			p.covers(right-wide, at, wide) {
			p.words("ch-limit-words", "start", left, at, l.Words)
		} else {
			p.words("ch-limit-words", "end", right, at, l.Words)
		}
	}
}

// letterPx is about how wide a letter is.
const letterPx = 6.6

// covers reports whether words from x on, so wide, with their base line at y, would cover a reading's mark.
func (p *pen) covers(x, y, wide float64) bool {
	const half = 6
	return slices.ContainsFunc(p.c.Readings, func(r Reading) bool {
		mx, my := p.x(max(0, r.S-r.HoldS)), p.y(r.Value)
		return mx > x-half && mx < x+wide+half && my > y-11-half && my < y+3+half
	})
}

// marks puts the readings in: a disc for one that opens the gate, a cross for one that does not, each with its number
// in the table where there is room; an arrow says that it really lies further out.
func (p *pen) marks() {
	var numbers []Point
	for i, r := range p.c.Readings {
		if math.IsNaN(r.S) || r.S < 0 {
			continue
		}
		at := r.S - r.HoldS
		x, y := p.x(at), p.y(r.Value)
		if r.HoldS > 0 {
			p.put(`<polyline class="ch-axis" points="%s,%s %s,%s" fill="none" stroke="currentColor" stroke-width="1.2"/>`,
				svg.Number(x), svg.Number(y), svg.Number(p.x(r.S)), svg.Number(p.y(r.Value+r.HoldL)))
		}
		if r.OK {
			p.put(`<circle class="ch-good" cx="%s" cy="%s" r="4.5" fill="currentColor" stroke="currentColor"/>`, svg.Number(x),
				svg.Number(y))
		} else {
			p.put(`<path class="ch-bad" d="M%s %sl9 9m0 -9l-9 9" fill="none" stroke="currentColor" stroke-width="2.4"/>`,
				svg.Number(x-4.5), svg.Number(y-4.5))
		}
		p.arrows(r, at, x, y)
		side := x + 7
		if side > rightPx-8 {
			side = x - 15
		}
		here := Point{side, max(topPx+11, y-6)}
		if clear(here, numbers) {
			numbers = append(numbers, here)
			p.words("ch-words", "start", here.S, here.V, fmt.Sprint(i+1))
		}
	}
}

// clear reports whether a number at this place touches none of those that stand.
func clear(here Point, taken []Point) bool {
	for _, t := range taken {
		if math.Abs(here.S-t.S) < 10 && math.Abs(here.V-t.V) < 12 {
			return false
		}
	}
	return true
}

// arrows points out of the plot where a reading lies beyond it.
func (p *pen) arrows(r Reading, at, x, y float64) {
	if at > p.c.endS {
		p.put(`<path class="ch-axis" d="M%s %sl-5 -4v8z" fill="currentColor"/>`, svg.Number(x+10), svg.Number(y))
	}
	if r.Value > p.c.topV {
		p.put(`<path class="ch-axis" d="M%s %sl-4 5h8z" fill="currentColor"/>`, svg.Number(x), svg.Number(y-12))
	}
	if r.Value < 0 {
		p.put(`<path class="ch-axis" d="M%s %sl-4 -5h8z" fill="currentColor"/>`, svg.Number(x), svg.Number(y+12))
	}
}

// key explains, under the plot, what is in it; then come the notes.
func (p *pen) key() {
	c := p.c
	good, bad := false, false
	for _, r := range c.Readings {
		good, bad = good || r.OK, bad || !r.OK
	}
	expected := "expected: a waiting time, never a proof"
	switch {
	case c.Stays:
		expected = "expected; waiting does not lower it"
	case len(c.Most) > 0:
		expected = "expected; shaded: how far it may be off"
	}
	p.bottom += 12
	p.keyLine(len(c.Expected) > 0, sampleCurve, expected)
	p.keyLine(len(c.Fitted) > 0, sampleFit, "by the last three readings")
	p.keyLine(good, sampleGood, "reading within what the gate asks")
	p.keyLine(bad, sampleBad, "reading that does not open the gate")
	for _, n := range c.Notes {
		for _, part := range wrap(n, 48) {
			p.words("ch-words", "start", 4, p.bottom, part)
			p.bottom += linePx
		}
	}
	p.bottom += 8 - linePx
}

// Samples of strokes for the key, about the middle of a line of words that stands at 0, 0.
const (
	sampleCurve = `<line class="ch-curve" x1="4" y1="-4.5" x2="30" y2="-4.5" stroke="currentColor" stroke-width="2"/>`
	sampleFit   = `<line class="ch-fit" x1="4" y1="-4.5" x2="30" y2="-4.5" stroke="currentColor" stroke-width="1.6" stroke-dasharray="8 3 2 3"/>`
	sampleGood  = `<circle class="ch-good" cx="17" cy="-4.5" r="4.5" fill="currentColor" stroke="currentColor"/>`
	sampleBad   = `<path class="ch-bad" d="M12.5 -9l9 9m0 -9l-9 9" fill="none" stroke="currentColor" stroke-width="2.4"/>`
)

// keyLine puts one line of the key, if there is such a thing in the picture.
func (p *pen) keyLine(there bool, sample, s string) {
	if !there {
		return
	}
	p.put(`<g transform="translate(0 %s)">%s</g>`, svg.Number(p.bottom), sample)
	p.words("ch-words", "start", 38, p.bottom, s)
	p.bottom += linePx
}

// wrap breaks words into lines of about so many characters.
func wrap(s string, most int) []string {
	var lines []string
	for _, w := range strings.Fields(s) {
		last := len(lines) - 1
		if last >= 0 && utf8.RuneCountInString(lines[last])+1+utf8.RuneCountInString(w) <= most {
			lines[last] += " " + w
		} else {
			lines = append(lines, w)
		}
	}
	return lines
}

// slug makes an id out of any text, another for another text: what is no plain letter, digit or hyphen becomes its
// number.
func slug(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-':
			b.WriteRune(r)
		default:
			fmt.Fprintf(&b, "_%x", r)
		}
	}
	return b.String()
}
