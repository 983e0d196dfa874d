package paper

import (
	"errors"
	"io"
)

// PointLabel is the label fixed for good to one point of the plant.
type PointLabel struct {
	Point, Name string // id and name; the id must not be empty
	Kind        string // "valve", "breaker", …; may be empty
	Place       Place
	URL         string // content of the QR code; must not be empty
	Code        string // the label's code, its check character last; must not be empty
}

// PointLabelSheet is a set of point labels, many to a page.
type PointLabelSheet struct {
	Stamp
	Labels []PointLabel
}

// WritePointLabels writes the labels as PDF, fourteen to an A4 page with cut marks.
// Refuses (ErrIncomplete) a sheet without labels, and a label without point, code or
// address. Nothing is written on error.
func WritePointLabels(w io.Writer, s PointLabelSheet) error { return errors.New("not yet") }
