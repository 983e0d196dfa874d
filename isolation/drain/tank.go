package drain

import "math"

// Hole is a sharp-edged opening with a coefficient of discharge.
type Hole struct {
	BoreM float64
	Cd    float64 // 0 < Cd ≤ 1; about 0.6 for a sharp edge
}

func (h Hole) check() error {
	return firstOf(boreBand.within("hole", h.BoreM), band{0.01, 1, ""}.within("cd", h.Cd))
}

// factor is Cd·a·√(2g): the flow is factor·√h.
func (h Hole) factor() float64 {
	return h.Cd * math.Pi / 4 * h.BoreM * h.BoreM * math.Sqrt(2*Gravity)
}

// fall refuses levels that do not fall.
func fall(fromM, toM float64) error {
	err := firstOf(band{0, 200, "m"}.within("from", fromM), band{0, 200, "m"}.within("to", toM))
	if err == nil && toM > fromM {
		err = refuse("to", "%.6g m is above the level it starts from, %.6g m; a drain only lowers it", toM, fromM)
	}
	return err
}

// VerticalTankTime returns the seconds in which an upright vessel of constant
// area falls from fromM to toM above the hole: t = 2A(√H1−√H2)/(Cd·a·√2g).
func VerticalTankTime(diameterM float64, h Hole, fromM, toM float64) (float64, error) {
	err := firstOf(band{0.01, 200, "m"}.within("diameter", diameterM), h.check(), fall(fromM, toM))
	if err == nil && h.BoreM > diameterM {
		err = refuse("hole", "%.6g m is wider than the vessel, %.6g m", h.BoreM, diameterM)
	}
	if err != nil {
		return 0, err
	}
	area := math.Pi / 4 * diameterM * diameterM
	return 2 * area * (math.Sqrt(fromM) - math.Sqrt(toM)) / h.factor(), nil
}

// HorizontalTankTime returns the seconds in which a lying cylinder falls from
// fromM to toM over a hole at its bottom:
// t = 4L[(D−H2)^1.5 − (D−H1)^1.5]/(3·Cd·a·√2g).
func HorizontalTankTime(diameterM, lengthM float64, h Hole, fromM, toM float64) (float64, error) {
	err := firstOf(band{0.01, 200, "m"}.within("diameter", diameterM), band{0.01, 1000, "m"}.within("length", lengthM),
		h.check(), fall(fromM, toM))
	if err == nil && fromM > diameterM {
		err = refuse("from", "%.6g m is above the top of the vessel, %.6g m", fromM, diameterM)
	}
	if err == nil && h.BoreM > diameterM {
		err = refuse("hole", "%.6g m is wider than the vessel, %.6g m", h.BoreM, diameterM)
	}
	if err != nil {
		return 0, err
	}
	d := math.Pow(diameterM-toM, 1.5) - math.Pow(diameterM-fromM, 1.5)
	return 4 * lengthM * d / (3 * h.factor()), nil
}

// PipeDrain is a vessel of constant area emptied through a pipe.
type PipeDrain struct {
	AreaM2 float64 // free surface, m²
	Pipe   Pipe
	Nu     float64 // kinematic viscosity, m²/s
}

// Time returns the seconds in which the surface falls from fromM to toM above
// the end of the pipe, in any regime. To reach the very end of the pipe (toM 0)
// takes for ever in laminar flow: then the error says so.
func (d PipeDrain) Time(fromM, toM float64) (float64, error) {
	err := firstOf(band{1e-6, 1e5, "m²"}.within("area", d.AreaM2), fall(fromM, toM))
	if err != nil {
		return 0, err
	}
	if _, err := PipeVelocity(d.Pipe, fromM, d.Nu); err != nil {
		return 0, err
	}
	bore := math.Pi / 4 * d.Pipe.BoreM * d.Pipe.BoreM
	if bore > d.AreaM2 {
		return 0, refuse("pipe diameter", "%.6g m is wider than the surface it drains", d.Pipe.BoreM)
	}
	// friction over a length is laminar as the head goes to zero
	if toM == 0 && d.Pipe.FixedF == 0 && d.Pipe.LengthM > 0 {
		return 0, refuse("to", "flow in this pipe is laminar at the end and never quite reaches the level of its mouth; "+
			"ask for a level above it")
	}
	// dt = −A dh/(a·V(h)); in s = √h the integrand 2s/V is smooth down to zero
	f := func(s float64) float64 { return 2 * s / pipeVelocity(d.Pipe, s*s, d.Nu) }
	return d.AreaM2 / bore * integrate(f, math.Sqrt(toM), math.Sqrt(fromM), 0), nil
}
