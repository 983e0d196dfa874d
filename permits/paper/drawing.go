package paper

import (
	"fmt"
	"math"
)

// Drawing is a diagram made by the caller from simple strokes, in any unit, x to the
// right and y down; it is scaled to fit the page and keeps its proportions.
type Drawing struct {
	Title         string
	Width, Height float64 // extent in the caller's unit; both must be above zero
	Ops           []DrawOp
}

// DrawOp is one stroke of a Drawing: Line, Rect, Polygon or Text.
type DrawOp interface{ drawOp() }

// Stroke is how a line looks. The zero value is a thin solid line.
type Stroke struct {
	Heavy  bool // twice as wide
	Dashed bool
	Gray   bool // mid grey instead of black
}

// Line is a straight line.
type Line struct {
	X1, Y1, X2, Y2 float64
	Stroke         Stroke
}

// Rect is a rectangle by its upper left corner; Fill blackens it.
type Rect struct {
	X, Y, W, H float64
	Fill       bool
	Stroke     Stroke
}

// Corner is a corner of a Polygon.
type Corner struct{ X, Y float64 }

// Polygon is a closed shape through its corners; Fill blackens it.
type Polygon struct {
	Corners []Corner
	Fill    bool
	Stroke  Stroke
}

// Text is a line of words whose anchor is its middle height; Size is the height of a
// line in the caller's unit. It is narrowed to MaxWidth if that is above zero.
type Text struct {
	X, Y, Size float64
	Words      string
	Align      Align
	Bold       bool
	MaxWidth   float64
}

// Align says which end of a text is at its anchor.
type Align uint8

// Alignments; the zero value is left.
const (
	AlignLeft Align = iota
	AlignCentre
	AlignRight
)

func (Line) drawOp()    {}
func (Rect) drawOp()    {}
func (Polygon) drawOp() {}
func (Text) drawOp()    {}

// check refuses a drawing without extent.
func (d *Drawing) check() error {
	if !(d.Width > 0 && d.Height > 0) || math.IsInf(d.Width, 0) || math.IsInf(d.Height, 0) {
		return fmt.Errorf("%w: drawing %q has no extent", ErrIncomplete, d.Title)
	}
	return nil
}

// drawing draws d into a box of w × h mm at x, y, as large as fits. Ops outside the
// drawing's extent are clipped; corners that are no numbers are left out.
func (p *sheet) drawing(d *Drawing, x, y, w, h float64) {
	scale := min(w/d.Width, h/d.Height)
	f := frame{sheet: p, x: x + (w-d.Width*scale)/2, y: y, scale: scale}
	p.pdf.ClipRect(f.x, f.y, d.Width*scale, d.Height*scale, false)
	for _, op := range d.Ops {
		switch o := op.(type) {
		case Line:
			f.stroke(o.Stroke)
			f.path(false, "D", Corner{o.X1, o.Y1}, Corner{o.X2, o.Y2})
		case Rect:
			f.stroke(o.Stroke)
			f.path(true, paint(o.Fill), Corner{o.X, o.Y}, Corner{o.X + o.W, o.Y}, Corner{o.X + o.W, o.Y + o.H},
				Corner{o.X, o.Y + o.H})
		case Polygon:
			f.stroke(o.Stroke)
			f.path(true, paint(o.Fill), o.Corners...)
		case Text:
			f.text(o)
		}
	}
	p.pdf.ClipEnd()
	p.ink()
	p.y = y + d.Height*scale
}

// paint is the PDF library's word for filled or outline.
func paint(fill bool) string {
	if fill {
		return "FD"
	}
	return "D"
}

// frame is where a drawing stands on the page.
type frame struct {
	*sheet
	x, y, scale float64
}

// stroke sets line and fill for the next op.
func (f frame) stroke(s Stroke) {
	f.ink()
	width := 0.25
	if s.Heavy {
		width = 0.5
	}
	f.pdf.SetLineWidth(width)
	if s.Dashed {
		f.pdf.SetDashPattern([]float64{1.6, 1}, 0)
	}
	if s.Gray {
		f.pdf.SetDrawColor(140, 140, 140)
		f.pdf.SetFillColor(200, 200, 200)
	}
}

// path draws through the corners.
func (f frame) path(closed bool, style string, corners ...Corner) {
	if len(corners) < 2 {
		return
	}
	for _, c := range corners {
		if !f.drawable(c.X) || !f.drawable(c.Y) {
			return
		}
	}
	for i, c := range corners {
		x, y := f.x+c.X*f.scale, f.y+c.Y*f.scale
		if i == 0 {
			f.pdf.MoveTo(x, y)
		} else {
			f.pdf.LineTo(x, y)
		}
	}
	if closed {
		f.pdf.ClosePath()
	}
	f.pdf.DrawPath(style)
}

// drawable tells whether a coordinate is a number within ten pages of the paper.
func (f frame) drawable(v float64) bool { return math.Abs(v*f.scale) < 10*pageH }

// text draws words, on one line and not below 4 points: a diagram's words may be
// crowded, its table beside it has them in full.
func (f frame) text(o Text) {
	if !f.drawable(o.X) || !f.drawable(o.Y) || !f.drawable(o.Size) || o.Size <= 0 {
		return
	}
	f.ink()
	cut := sans
	if o.Bold {
		cut = bold
	}
	words := f.clean(o.Words)
	pt := max(4, o.Size*f.scale/leading/mmPerPt)
	for f.setFace(cut, pt); o.MaxWidth > 0 && pt > 4 && f.pdf.GetStringWidth(words) > o.MaxWidth*f.scale; f.setFace(cut,
		pt) {
		pt = max(4, pt-0.25)
	}
	x := f.x + o.X*f.scale
	switch o.Align {
	case AlignCentre:
		x -= f.pdf.GetStringWidth(words) / 2
	case AlignRight:
		x -= f.pdf.GetStringWidth(words)
	}
	f.write(x, f.y+o.Y*f.scale-f.lineMM()/2, 0, AlignLeft, words)
}
