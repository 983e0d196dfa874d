package drain

import (
	"fmt"
	"math"
)

// FieldError says which input was refused and why, in a sentence fit to be shown
// to the person who typed it.
type FieldError struct {
	Field string // the input in the reader's words, such as "drain D4 bore"
	Why   string // what is wrong with it, with the figure
}

// Error joins the field and the reason: "drain D4 bore: -20 mm is not a size".
func (e *FieldError) Error() string { return e.Field + ": " + e.Why }

// refuse makes a FieldError.
func refuse(field, format string, args ...any) error {
	return &FieldError{Field: field, Why: fmt.Sprintf(format, args...)}
}

// band is a permitted range with its unit, for the plain sentence.
type band struct {
	low, high float64
	unit      string
}

// within refuses NaN, infinities and anything outside the band.
func (b band) within(field string, x float64) error {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return refuse(field, "is not a number")
	}
	if x < b.low || x > b.high {
		return refuse(field, "%s is outside %.6g to %s", withUnit(x, b.unit), b.low, withUnit(b.high, b.unit))
	}
	return nil
}

// firstOf returns the first error that is not nil.
func firstOf(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// The sizes met on board, generously: what lies outside is a slip of the pen.
var (
	boreBand    = band{0.001, 3, "m"}
	lengthBand  = band{0, 5000, "m"}
	levelBand   = band{-200, 200, "m"}
	volumeBand  = band{0, 1e5, "m³"}
	heightBand  = band{0, 100, "m"}
	lossBand    = band{0, 1e4, ""}
	tempBand    = band{-60, 400, "°C"}
	roughBand   = band{0, 0.01, "m"}
	angleBand   = band{0, 45, "degrees"}
	placeBand   = band{-500, 500, "m"}
	secondsBand = band{0, 1e8, "s"}
)

// withUnit writes a figure with its unit, if it has one.
func withUnit(x float64, unit string) string {
	if unit == "" {
		return fmt.Sprintf("%.6g", x)
	}
	return fmt.Sprintf("%.6g %s", x, unit)
}
