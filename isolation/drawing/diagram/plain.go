package diagram

import "math"

// Plain returns the same picture for a printer that knows only straight lines, closed shapes and words, in black, grey
// and no white: polylines become lines, circles polygons, and a number no longer stands white on a black disc but black
// in a ring. The polygons that are left to be filled have the style Solid (black) or Zone (light grey); all others
// are outlines. Drawing it over again changes nothing: d.Plain().Plain() is d.Plain().
func (d Drawing) Plain() Drawing {
	var p pen
	for _, op := range d.Ops {
		switch o := op.(type) {
		case Line:
			p.add(o)
		case Polyline:
			for i := 1; i < len(o.Points); i++ {
				a, b := o.Points[i-1], o.Points[i]
				p.line(a.X, a.Y, b.X, b.Y, o.Style)
			}
		case Polygon:
			p.add(Polygon{o.Points, unfilled(o.Style)})
		case Circle:
			p.add(Polygon{ring(o), unfilled(o.Style)})
		case Text:
			if o.Style == Number {
				o.Style = Strong
			}
			p.add(o)
		}
	}
	d.Ops = p.ops
	return d
}

// unfilled returns the outline that stands for a fill which a plain printer lacks.
func unfilled(s Style) Style {
	switch s {
	case Hollow, Badge:
		return Ink
	case Work:
		return Spine
	case LiveFill:
		return Solid
	}
	return s
}

// ring is a circle as a polygon of 16 corners: at most a fiftieth of its radius off.
func ring(c Circle) []Point {
	const corners = 16
	out := make([]Point, corners)
	for i := range out {
		sin, cos := math.Sincos(2 * math.Pi * float64(i) / corners)
		out[i] = Point{c.X + c.R*cos, c.Y + c.R*sin}
	}
	return out
}
