package diagram

// Drawing is a picture made of simple strokes. Lengths are millimetres, x to the right and y down from the upper left
// corner. The zero value is an empty picture. Later strokes lie over earlier ones.
type Drawing struct {
	Title string  // what it shows, for a caption and for readers who cannot see it
	Desc  string  // the same facts in sentences
	W, H  float64 // extent
	Ops   []Op
}

// Op is one stroke of a Drawing: Line, Polyline, Polygon, Circle or Text.
type Op interface{ op() }

// Point is a place on the drawing.
type Point struct{ X, Y float64 }

// Line is a straight line.
type Line struct {
	X1, Y1, X2, Y2 float64
	Style          Style
}

// Polyline is a line through its points; it is not closed and not filled.
type Polyline struct {
	Points []Point
	Style  Style
}

// Polygon is a closed shape through its corners.
type Polygon struct {
	Points []Point
	Style  Style
}

// Circle is a full circle.
type Circle struct {
	X, Y, R float64
	Style   Style
}

// Text is one line of words. X, Y is the anchor on the base line, Size the height of the type.
type Text struct {
	X, Y, Size float64
	Words      string
	Anchor     Anchor
	Style      Style // one of the text styles
}

// Anchor says which part of a text stands at its X.
type Anchor uint8

// The anchors; the zero value is the left end.
const (
	Left Anchor = iota
	Middle
	Right
)

func (Line) op()     {}
func (Polyline) op() {}
func (Polygon) op()  {}
func (Circle) op()   {}
func (Text) op()     {}

// pen collects strokes.
type pen struct{ ops []Op }

func (d *pen) add(o ...Op) { d.ops = append(d.ops, o...) }

func (d *pen) line(x1, y1, x2, y2 float64, s Style) { d.add(Line{x1, y1, x2, y2, s}) }

func (d *pen) rect(x, y, w, h float64, s Style) {
	d.add(Polygon{[]Point{{x, y}, {x + w, y}, {x + w, y + h}, {x, y + h}}, s})
}

func (d *pen) poly(s Style, xy ...float64) { d.add(Polygon{points(xy), s}) }

func (d *pen) path(s Style, xy ...float64) { d.add(Polyline{points(xy), s}) }

func points(xy []float64) []Point {
	pts := make([]Point, 0, len(xy)/2)
	for i := 0; i+1 < len(xy); i += 2 {
		pts = append(pts, Point{xy[i], xy[i+1]})
	}
	return pts
}

// shift moves strokes by dx, dy.
func shift(ops []Op, dx, dy float64) []Op {
	move := func(pts []Point) []Point {
		out := make([]Point, len(pts))
		for i, p := range pts {
			out[i] = Point{p.X + dx, p.Y + dy}
		}
		return out
	}
	out := make([]Op, len(ops))
	for i, o := range ops {
		switch o := o.(type) {
		case Line:
			out[i] = Line{o.X1 + dx, o.Y1 + dy, o.X2 + dx, o.Y2 + dy, o.Style}
		case Polyline:
			out[i] = Polyline{move(o.Points), o.Style}
		case Polygon:
			out[i] = Polygon{move(o.Points), o.Style}
		case Circle:
			out[i] = Circle{o.X + dx, o.Y + dy, o.R, o.Style}
		case Text:
			o.X, o.Y = o.X+dx, o.Y+dy
			out[i] = o
		}
	}
	return out
}
