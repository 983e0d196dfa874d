package paper

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

// Point is a corner of a Polygon.
type Point struct{ X, Y float64 }

// Polygon is a closed shape through its corners; Fill blackens it.
type Polygon struct {
	Points []Point
	Fill   bool
	Stroke Stroke
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
