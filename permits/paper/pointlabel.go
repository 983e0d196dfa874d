package paper

import (
	"fmt"
	"io"
)

// PointLabel is the label fixed for good to one point of the plant.
type PointLabel struct {
	Point, Name string // id and name; the id must not be empty
	Kind        string // "valve", "breaker", …; may be empty
	Place       Place
	URL         string // content of the QR code; must not be empty
	Code        string // the code as it stands in URL, its check character last
}

// PointLabelSheet is a set of point labels, many to a page.
type PointLabelSheet struct {
	Stamp
	Labels []PointLabel
}

// WritePointLabels writes the labels as PDF, fourteen to an A4 page with cut marks.
// Refuses (ErrIncomplete) a sheet without labels, and a label without point or
// whose code checkCode refuses. Nothing is written on error.
func WritePointLabels(w io.Writer, s PointLabelSheet) error {
	if len(s.Labels) == 0 {
		return fmt.Errorf("%w: no labels", ErrIncomplete)
	}
	for _, l := range s.Labels {
		if l.Point == "" {
			return fmt.Errorf("%w: label %q has no point", ErrIncomplete, l.Name)
		}
		if err := checkCode("label for "+l.Point, l.Code, l.URL); err != nil {
			return err
		}
	}
	return produce(w, s.Stamp, func(p *sheet) error {
		p.pdf.SetTitle(p.clean("Point labels "+s.Ship), true)
		p.pdf.SetFooterFunc(p.cellFoot)
		return labelGrid.each(p, len(s.Labels), func(i int, x, y float64) error {
			return p.pointLabel(x, y, s.Labels[i])
		})
	})
}

// pointLabel draws one label: the code at the left, the words at the right, and the
// sentence that keeps it apart from a lock tag.
func (p *sheet) pointLabel(x, y float64, l PointLabel) error {
	const qr, pad = 35.0, 2.5
	p.ink()
	if err := p.drawQR(x+0.3, y, qr, l.URL); err != nil {
		return fmt.Errorf("label for %s: %w", l.Point, err)
	}
	p.block(box{x: x + pad, y: y + qr - 0.9, w: qr - 4.4, h: 4.2, face: mono, maxPt: 9, minPt: 4, align: AlignCentre},
		groupCode(l.Code))
	tx := x + qr + 1.5
	w := labelGrid.w - qr - 1.5 - pad
	p.block(box{x: tx, y: y + 3, w: w, h: 7.5, face: mono, maxPt: 17, minPt: 5}, l.Point)
	p.block(box{x: tx, y: y + 10.8, w: w, h: 12, face: bold, maxPt: 11, minPt: 5}, l.Name)
	p.block(box{x: tx, y: y + 23, w: w, h: 3.6, face: sans, maxPt: 8, minPt: 5}, l.Kind)
	p.block(box{x: tx, y: y + 26.6, w: w, h: 7, face: sans, maxPt: 8.5, minPt: 5}, l.Place.String())
	p.block(box{x: tx, y: y + 34, w: w, h: 3.2, face: sans, maxPt: 6, minPt: 5},
		"Names this point. Forbids and permits nothing.")
	return nil
}
