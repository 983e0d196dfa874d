package energy

import (
	"fmt"
	"math"
)

// Stored is one store of energy of a machine.
type Stored interface {
	// Predict tells what is stored, its limit and the wait until then. It returns
	// a [FieldError] for inputs that make no sense.
	Predict() (Wait, error)
	// Judge says whether a reading is within the limit. nowS is the present, in
	// seconds since the stop; a reading from the future is refused.
	Judge(r Reading, nowS float64) (Judgement, error)
}

// Wait is a prediction.
type Wait struct {
	Kind    string  // rotation, heat, charge, gas, accumulator, trapped liquid, spring, load
	Figure  float64 // what is predicted or known to be there at the stop, in Unit
	Limit   float64 // not above this, in Unit
	Unit    string
	WaitS   float64 // until the limit; 0 if waiting does not help or is not needed
	Never   bool    // waiting alone does not bring it to the limit
	AtLeast bool    // WaitS is only a lower bound
	EnergyJ float64 // stored; 0 if the inputs don't tell
	Source  string  // of the limit and the method
	Words   string  // the same as a plain sentence
}

// Reading is one measurement. Value is in the unit of the kind's [Wait]; for
// springs and loads, 1 says restrained and 0 not.
type Reading struct {
	Value float64
	AtS   float64 // when, in seconds since the stop
	Still bool    // rotation only: seen by eye to stand still
}

// Judgement is what a reading says.
type Judgement struct {
	Within bool
	Words  string // a plain sentence with the figures compared
}

// FieldError says which input was refused and why.
type FieldError struct{ Field, Why string }

// Error joins the field and the reason.
func (e *FieldError) Error() string { return e.Field + ": " + e.Why }

func refuse(field, format string, args ...any) error {
	return &FieldError{field, fmt.Sprintf(format, args...)}
}

// limits is a permitted range with its unit.
type limits struct {
	low, high float64
	unit      string
}

func (l limits) hold(field string, x float64) error {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return refuse(field, "is not a number")
	}
	if x < l.low || x > l.high {
		return refuse(field, "%s is outside %.6g to %s", withUnit(x, l.unit), l.low, withUnit(l.high, l.unit))
	}
	return nil
}

func firstOf(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// check refuses a reading from before the stop or from the future, or off range.
func (r Reading) check(l limits, nowS float64) error {
	if err := firstOf(l.hold("reading", r.Value), limits{0, 1e9, "s"}.hold("reading time", r.AtS),
		limits{0, 1e9, "s"}.hold("present", nowS)); err != nil {
		return err
	}
	if r.AtS > nowS {
		return refuse("reading time", "%s after the stop has not come yet; it is now %s after it", span(r.AtS), span(nowS))
	}
	return nil
}

// below judges a value against a limit that it must not exceed.
func below(what string, value, limit float64, unit string) Judgement {
	if value <= limit {
		return Judgement{true, fmt.Sprintf("%s is %.4g %s, within the limit of %.4g %s.", what, value, unit, limit, unit)}
	}
	return Judgement{false, fmt.Sprintf("%s is %.4g %s, above the limit of %.4g %s.", what, value, unit, limit, unit)}
}

// span writes a time in the unit people would use, rounded up: nobody is to come too early.
func span(s float64) string {
	switch {
	case s < 10:
		return fmt.Sprintf("%.2g s", s)
	case s < 120:
		return fmt.Sprintf("%.0f s", s)
	case s < 7200:
		return fmt.Sprintf("%.0f min", math.Ceil(s/60-1e-9))
	}
	return fmt.Sprintf("%.1f h", math.Ceil(s/360-1e-9)/10)
}

// joules writes a large energy in the unit that keeps it short.
func joules(j float64) string {
	switch {
	case j < 1e4:
		return fmt.Sprintf("%.2g kJ", j/1e3)
	case j < 1e6:
		return fmt.Sprintf("%.0f kJ", j/1e3)
	}
	return fmt.Sprintf("%.1f MJ", j/1e6)
}

// withUnit writes a figure with its unit, if it has one.
func withUnit(x float64, unit string) string {
	if unit == "" {
		return fmt.Sprintf("%.6g", x)
	}
	return fmt.Sprintf("%.6g %s", x, unit)
}
