package paper

import "github.com/jung-kurt/gofpdf"

// symbol draws the mark into a box of w × h mm at x, y: the pipe or the conductor
// runs from left to right through the middle. Shapes differ, not shades: shut is
// filled, open is outline, as on piping diagrams (common practice, no source).
func (p *sheet) symbol(m Mark, x, y, w, h float64) {
	s := signs{pdf: p.pdf, x: x, y: y, w: w, h: h}
	p.ink()
	p.pdf.SetLineWidth(max(0.25, h/22))
	p.pdf.SetLineCapStyle("round")
	defer func() {
		p.pdf.SetLineCapStyle("butt")
		p.ink()
	}()
	if draw, known := signFor[m]; known {
		draw(s)
		return
	}
	s.rect(0.3, 0.15, 0.4, 0.7, "D")
}

// signFor draws each mark; the axis is y = 0.5 in units of the box.
var signFor = map[Mark]func(s signs){
	ValveShut: func(s signs) { s.valve("FD") },
	ValveOpen: func(s signs) { s.valve("D") },
	SwitchOff: func(s signs) { s.contact(0.62, 0.12) },
	SwitchOn:  func(s signs) { s.contact(0.72, 0.5) },
	Withdrawn: func(s signs) {
		s.line(0, 0.72, 0.2, 0.72)
		s.line(0.8, 0.72, 1, 0.72)
		s.line(0.2, 0.58, 0.2, 0.86)
		s.line(0.8, 0.58, 0.8, 0.86)
		s.rect(0.26, 0.1, 0.48, 0.26, "D")
	},
	InPlace: func(s signs) {
		s.line(0, 0.5, 1, 0.5)
		s.rect(0.24, 0.32, 0.52, 0.36, "D")
	},
	BlankIn: func(s signs) {
		s.flanges(0.42, 0.58)
		s.rect(0.44, 0.04, 0.12, 0.92, "FD")
	},
	BlankOut: func(s signs) {
		s.flanges(0.42, 0.58)
		s.pdf.Circle(s.x+s.w/2, s.y+s.h*0.5, s.h*0.24, "D")
	},
	SpoolOut: func(s signs) { s.flanges(0.2, 0.8) },
	SpoolIn: func(s signs) {
		s.flanges(0.2, 0.8)
		s.line(0.2, 0.38, 0.8, 0.38)
		s.line(0.2, 0.62, 0.8, 0.62)
	},
	PlugOut: func(s signs) {
		s.drainStub()
		s.rect(0.38, 0.78, 0.24, 0.18, "FD")
	},
	EarthOn:  func(s signs) { s.earth(0.5) },
	EarthOff: func(s signs) { s.earth(0.12) },
	PlugIn: func(s signs) {
		s.drainStub()
		s.rect(0.38, 0.5, 0.24, 0.3, "FD")
	},
}

// signs draws in units of a box, 0..1 to the right and down.
type signs struct {
	pdf        *gofpdf.Fpdf
	x, y, w, h float64
}

// earth is a contact from the conductor to three bars that grow shorter, with the tip at height y.
func (s signs) earth(y float64) {
	s.line(0, 0.5, 0.25, 0.5)
	s.line(0.25, 0.5, 0.62, y)
	for i := range 3 {
		at, bar := 0.64+0.13*float64(i), 0.38-0.12*float64(i)
		s.line(at, 0.5-bar, at, 0.5+bar)
	}
}

func (s signs) line(x1, y1, x2, y2 float64) {
	s.pdf.Line(s.x+x1*s.w, s.y+y1*s.h, s.x+x2*s.w, s.y+y2*s.h)
}

func (s signs) rect(x, y, w, h float64, style string) {
	s.pdf.Rect(s.x+x*s.w, s.y+y*s.h, w*s.w, h*s.h, style)
}

func (s signs) shape(style string, xy ...float64) {
	corners := make([]gofpdf.PointType, 0, len(xy)/2)
	for i := 0; i+1 < len(xy); i += 2 {
		corners = append(corners, gofpdf.PointType{X: s.x + xy[i]*s.w, Y: s.y + xy[i+1]*s.h})
	}
	s.pdf.Polygon(corners, style)
}

// valve is two triangles tip to tip in the pipe.
func (s signs) valve(style string) {
	s.line(0, 0.5, 0.16, 0.5)
	s.line(0.84, 0.5, 1, 0.5)
	s.shape(style, 0.16, 0.16, 0.5, 0.5, 0.16, 0.84)
	s.shape(style, 0.84, 0.16, 0.5, 0.5, 0.84, 0.84)
}

// contact is a switch whose arm ends at x, y.
func (s signs) contact(x, y float64) {
	s.line(0, 0.5, 0.28, 0.5)
	s.line(0.72, 0.5, 1, 0.5)
	s.line(0.72, 0.38, 0.72, 0.62)
	s.line(0.28, 0.5, x, y)
	s.pdf.Circle(s.x+0.28*s.w, s.y+0.5*s.h, s.h*0.05, "FD")
}

// flanges is a pipe interrupted between x1 and x2.
func (s signs) flanges(x1, x2 float64) {
	for _, y := range []float64{0.38, 0.62} {
		s.line(0, y, x1, y)
		s.line(x2, y, 1, y)
	}
	s.line(x1, 0.14, x1, 0.86)
	s.line(x2, 0.14, x2, 0.86)
}

// drainStub is a pipe with a stub downwards for a plug.
func (s signs) drainStub() {
	s.line(0, 0.1, 1, 0.1)
	s.line(0, 0.36, 0.36, 0.36)
	s.line(0.64, 0.36, 1, 0.36)
	s.line(0.36, 0.36, 0.36, 0.62)
	s.line(0.64, 0.36, 0.64, 0.62)
}
