package paper

import "fmt"

// grid is a page of equal pieces that are cut apart: their number and size, mm. What
// is left over is the margin that printers can't reach.
type grid struct {
	cols, rows int
	w, h       float64
}

var (
	tagGrid   = grid{cols: 2, rows: 2, w: 97.5, h: 141}
	labelGrid = grid{cols: 2, rows: 7, w: 97.5, h: 40}
)

// origin is the upper left corner of the first piece.
func (g grid) origin() (x, y float64) {
	return (pageW - float64(g.cols)*g.w) / 2, (pageH - float64(g.rows)*g.h) / 2
}

// each draws n pieces in reading order, a new page with cut marks as often as needed.
func (g grid) each(p *sheet, n int, draw func(i int, x, y float64) error) error {
	x0, y0 := g.origin()
	for i := range n {
		at := i % (g.cols * g.rows)
		if at == 0 {
			p.pdf.AddPage()
			p.cutMarks(g)
		}
		if err := draw(i, x0+float64(at%g.cols)*g.w, y0+float64(at/g.cols)*g.h); err != nil {
			return err
		}
	}
	return nil
}

// cutMarks draws ticks in the margin at each cut, and small crosses where cuts meet.
func (p *sheet) cutMarks(g grid) {
	const gap, arm = 1.0, 2.0
	p.ink()
	p.pdf.SetLineWidth(0.15)
	x0, y0 := g.origin()
	right, bottom := x0+float64(g.cols)*g.w, y0+float64(g.rows)*g.h
	for c := range g.cols + 1 {
		x := x0 + float64(c)*g.w
		p.pdf.Line(x, max(1, y0-gap-4), x, y0-gap)
		p.pdf.Line(x, bottom+gap, x, min(pageH-1, bottom+gap+4))
	}
	for r := range g.rows + 1 {
		y := y0 + float64(r)*g.h
		p.pdf.Line(x0-gap-4, y, x0-gap, y)
		p.pdf.Line(right+gap, y, right+gap+4, y)
		for c := 1; c < g.cols && r > 0 && r < g.rows; c++ {
			x := x0 + float64(c)*g.w
			p.pdf.Line(x-arm, y, x+arm, y)
			p.pdf.Line(x, y-arm, x, y+arm)
		}
	}
}

// cellFoot numbers a page that will be cut apart; it stands in the waste.
func (p *sheet) cellFoot() {
	p.ink()
	p.setFace(sans, 6)
	p.write(pageW/2+8, pageH-6.2, 60, AlignLeft, fmt.Sprintf("page %d of %s · cut along the marks", p.pdf.PageNo(),
		allPages))
}
