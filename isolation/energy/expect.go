package energy

import "math"

// Expectation is what the model of a stored energy says about a reading, before the reading is taken for true.
type Expectation struct {
	Least  float64 // below this no reading can be right, in the unit of the kind's [Wait]
	Most   float64 // above this a reading is not to be expected; +Inf where nothing is known
	TakesS float64 // the shortest time foretold until the reading is that low; 0: nothing is foretold
}

// overshoot is by how much a reading may lie above the figure at the stop, as a share of it, for the instrument and for
// heat that comes out from inside: common practice, no source.
const overshoot = 0.1

// Expect returns the expectation for a reading of value in the unit of the body's [Wait]. Bodies that waiting does not
// help (springs, loads, trapped liquid, accumulators) have bounds only. Returns a [FieldError] for inputs of the body
// that make no sense.
func Expect(body Stored, value float64) (Expectation, error) {
	if _, err := body.Predict(); err != nil {
		return Expectation{}, err
	}
	switch b := body.(type) {
	case Rotation:
		return b.expect(value), nil
	case Heat:
		return b.expect(value), nil
	case Charge:
		return b.expect(value), nil
	case Gas:
		return b.expect(value), nil
	case Accumulator, Trapped:
		return Expectation{Least: -AtmospherePa, Most: math.Inf(1)}, nil
	}
	return Expectation{Most: 1}, nil
}

// expect foretells the time only of standing still: before that the law of the drag decides, and no gate opens.
func (r Rotation) expect(value float64) Expectation {
	e := Expectation{Most: r.SpeedRPM * (1 + overshoot)}
	if value == 0 {
		e.TakesS = r.CoastDownS
	}
	return e
}

// expect reckons with the coldest air that there may be, in which it cools soonest.
func (h Heat) expect(value float64) Expectation {
	h.AmbientC = min(h.AmbientC, h.coldest())
	e := Expectation{Least: h.AmbientC, Most: h.SurfaceC + overshoot*math.Max(0, h.SurfaceC-h.AmbientC)}
	known := h.capacity() > 0 && h.AreaM2 > 0 && (h.SizeM > 0 || h.CoefficientWM2K > 0)
	if known && value > e.Least && value < h.SurfaceC {
		e.TakesS = h.coolS(h.SurfaceC, value)
	}
	return e
}

// coldest is the coldest air about the body: 10 K below its ambient where that is known for this place (season and
// thermometer: common practice, no source), and otherwise freezing point, below which no machinery space is kept.
func (h Heat) coldest() float64 {
	if h.AmbientKnown {
		return h.AmbientC - 10
	}
	return 0
}

// expect takes readings below 1 V for 1 V: a meter does not tell them apart, and e^(−t/RC) never reaches zero.
func (c Charge) expect(value float64) Expectation {
	e := Expectation{Least: math.Inf(-1), Most: c.VoltageV * (1 + overshoot)}
	if v := math.Max(1, math.Abs(value)); v < c.VoltageV {
		e.TakesS = c.ResistanceOh * c.CapacitanceF * math.Log(c.VoltageV/v)
	}
	return e
}

func (g Gas) expect(value float64) Expectation {
	e := Expectation{Least: -AtmospherePa, Most: (g.PressurePa - AtmospherePa) + overshoot*g.PressurePa}
	rest := math.Max(value, atRestPa) + AtmospherePa
	if g.BleedM > 0 && rest < g.PressurePa {
		e.TakesS = g.ventTo(rest)
	}
	return e
}

// WithVent returns the gas with the bleed through which it is at rest after waitS seconds: the time of venting falls
// with the square of the bore. Without a wait it is returned as it is.
func (g Gas) WithVent(waitS float64) Gas {
	if waitS > 0 && g.PressurePa > AtmospherePa+atRestPa {
		g.BleedM = 1
		g.BleedM = math.Sqrt(g.ventS() / waitS)
	}
	return g
}
