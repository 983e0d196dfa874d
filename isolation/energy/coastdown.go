package energy

import (
	"fmt"
	"math"
)

// Rotation is a mass that runs down after its drive was cut.
type Rotation struct {
	SpeedRPM   float64 // running speed
	CoastDownS float64 // run-down time from the maker's book; 0: none
	InertiaKgM float64 // moment of inertia, kg·m²; 0: unknown
	Readings   []Tacho // during this run-down, in order; may be empty
}

// Tacho is one tachometer reading.
type Tacho struct {
	AtS float64 // seconds since the drive was cut
	RPM float64
}

// Drag is the law by which a rotor slows.
type Drag string

const (
	ConstantDrag  Drag = "constant"  // dω/dt = −a (dry friction)
	LinearDrag    Drag = "linear"    // dω/dt = −(a + bω) (bearings in oil)
	QuadraticDrag Drag = "quadratic" // dω/dt = −(a + cω²) (windage)
)

// CoastDown is a law fitted to three readings, in rad/s and seconds.
type CoastDown struct {
	Drag  Drag
	A     float64 // constant part, rad/s²
	B     float64 // linear part, 1/s
	C     float64 // quadratic part, 1/rad
	StopS float64 // when it stands still; meaningless if Never
	Never bool    // by this law it never quite stops: the constant part is nil
	start Tacho
}

const radPerRPM = math.Pi / 30

var (
	rpmBand  = limits{0, 2e5, "rpm"}
	timeBand = limits{0, 1e7, "s"}
)

// checkTachos refuses readings out of order, a rotor that speeds up and figures
// that are none.
func checkTachos(list []Tacho) error {
	for i, t := range list {
		name := fmt.Sprintf("tachometer reading %d", i+1)
		if err := firstOf(timeBand.hold(name+" time", t.AtS), rpmBand.hold(name, t.RPM)); err != nil {
			return err
		}
		if i == 0 {
			continue
		}
		if p := list[i-1]; t.AtS <= p.AtS {
			return refuse(name+" time", "%.6g s is not after the one before it, %.6g s", t.AtS, p.AtS)
		} else if t.RPM >= p.RPM {
			return refuse(name, "%.6g rpm is not below the one before it, %.6g rpm: it is not running down", t.RPM, p.RPM)
		}
	}
	return nil
}

// StraightLine returns when a straight line through two readings meets zero. It is
// only a lower bound: any drag that eases with speed stops later.
func StraightLine(first, second Tacho) (stopS float64, err error) {
	if err := checkTachos([]Tacho{first, second}); err != nil {
		return 0, err
	}
	rate := (first.RPM - second.RPM) / (second.AtS - first.AtS)
	return second.AtS + second.RPM/rate, nil
}

// FitCoastDown fits a law exactly to three readings (a straight line: through the
// last two). Quadratic drag can't fit a rotor whose deceleration does not ease
// with speed, nor linear one that would speed up again: then an error says so.
func FitCoastDown(drag Drag, r [3]Tacho) (CoastDown, error) {
	if err := checkTachos(r[:]); err != nil {
		return CoastDown{}, err
	}
	switch drag {
	case ConstantDrag:
		stop, err := StraightLine(r[1], r[2])
		a := (r[1].RPM - r[2].RPM) * radPerRPM / (r[2].AtS - r[1].AtS)
		return CoastDown{Drag: drag, A: a, StopS: stop, start: r[2]}, err
	case LinearDrag:
		return fitLinear(r), nil
	case QuadraticDrag:
		return fitQuadratic(r)
	}
	return CoastDown{}, refuse("drag", "%q is not constant, linear or quadratic", string(drag))
}

// fitLinear finds b from (ω0−ω1)/(ω1−ω2) = (e^{bΔ1}−1)/(1−e^{−bΔ2}), which rises
// with b, then a from the first stretch.
func fitLinear(r [3]Tacho) CoastDown {
	w0, w1, w2 := r[0].RPM*radPerRPM, r[1].RPM*radPerRPM, r[2].RPM*radPerRPM
	d1, d2 := r[1].AtS-r[0].AtS, r[2].AtS-r[1].AtS
	want := math.Log((w0 - w1) / (w1 - w2))
	ratio := func(b float64) float64 {
		if math.Abs(b)*(d1+d2) < 1e-9 {
			return math.Log(d1 / d2)
		}
		return math.Log(math.Expm1(b*d1) / -math.Expm1(-b*d2))
	}
	reach := 300 / (d1 + d2)
	b := bisect(func(b float64) float64 { return ratio(b) - want }, -reach, reach)
	c := CoastDown{Drag: LinearDrag, B: b, start: r[0]}
	if math.Abs(b)*(d1+d2) < 1e-9 {
		c.B, c.A = 0, (w0-w1)/d1
		c.StopS = r[0].AtS + w0/c.A
		return c
	}
	// ω0 − ω1 = (ω0 + a/b)(1 − e^{−bΔ1})
	c.A = b * ((w0-w1)/-math.Expm1(-b*d1) - w0)
	if c.A <= 1e-9*w0*math.Abs(b) && b > 0 {
		c.Never = true
		return c
	}
	c.StopS = r[0].AtS + math.Log1p(b*w0/c.A)/b
	return c
}

// fitQuadratic finds s = √(c/a) from the times between the readings, each of which
// is [atan(sω)−atan(sω')]/(a·s).
func fitQuadratic(r [3]Tacho) (CoastDown, error) {
	w0, w1, w2 := r[0].RPM*radPerRPM, r[1].RPM*radPerRPM, r[2].RPM*radPerRPM
	d1, d2 := r[1].AtS-r[0].AtS, r[2].AtS-r[1].AtS
	c := CoastDown{Drag: QuadraticDrag, start: r[0]}
	constant := (w0 - w1) / (w1 - w2) // ratio of the times without windage
	switch want := d1 / d2; {
	case math.Abs(want-constant) < 1e-9*constant:
		c.A = (w0 - w1) / d1
		c.StopS = r[0].AtS + w0/c.A
		return c, nil
	case want > constant:
		return c, refuse("readings", "the rotor slows more at low speed than at high; quadratic drag does not do that")
	case w2 == 0 || want <= constant*w2/w0*(1+1e-9):
		c.Never = true
		c.C = (1/w1 - 1/w0) / d1
		return c, nil
	default:
		angle := func(s, a, b float64) float64 { return math.Atan(s * (a - b) / (1 + s*s*a*b)) }
		s := math.Exp(bisect(func(x float64) float64 {
			s := math.Exp(x)
			return math.Log(want) - math.Log(angle(s, w0, w1)/angle(s, w1, w2))
		}, math.Log(1e-6/w0), math.Log(1e6/w1)))
		c.A = angle(s, w0, w1) / (s * d1)
		c.C = c.A * s * s
		c.StopS = r[0].AtS + math.Atan(s*w0)/(c.A*s)
	}
	return c, nil
}

// bisect finds the zero of a rising function between two bounds.
func bisect(f func(float64) float64, low, high float64) float64 {
	for range 200 {
		mid := (low + high) / 2
		if f(mid) < 0 {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// Speed returns the speed in rad/s at a time in seconds since the drive was cut;
// 0 once it stands, and before the first reading the law run backwards.
func (c CoastDown) Speed(atS float64) float64 {
	w, t := c.start.RPM*radPerRPM, atS-c.start.AtS
	if !c.Never && atS >= c.StopS {
		return 0
	}
	switch {
	case c.C > 0 && c.A > 0:
		s := math.Sqrt(c.C / c.A)
		return math.Max(0, math.Tan(math.Atan(s*w)-c.A*s*t)/s)
	case c.C > 0:
		return w / (1 + c.C*w*t)
	case c.B != 0:
		return math.Max(0, (w+c.A/c.B)*math.Exp(-c.B*t)-c.A/c.B)
	}
	return math.Max(0, w-c.A*t)
}

// Longest fits every law and returns the one that stops last (one that never stops
// comes first of all). With two readings nothing can be fitted: see [StraightLine].
func Longest(r [3]Tacho) (CoastDown, error) {
	var worst CoastDown
	for _, d := range []Drag{ConstantDrag, LinearDrag, QuadraticDrag} {
		c, err := FitCoastDown(d, r)
		if err != nil {
			if d == QuadraticDrag {
				continue // it does not fit: the others stand
			}
			return CoastDown{}, err
		}
		if worst.Drag == "" || !worst.Never && (c.Never || c.StopS > worst.StopS) {
			worst = c
		}
	}
	return worst, nil
}

const stillSource = "standing still, seen by eye, before any cover is touched: common practice, no source; run-down: " +
	"equation of motion with constant, linear and quadratic drag"

// Predict returns the wait until the rotor stands. The maker's time and the fit of
// the last three readings are both taken and the longer given; two readings give a
// lower bound only, and one or none without the maker's time nothing.
func (r Rotation) Predict() (Wait, error) {
	w := Wait{Kind: "rotation", Figure: r.SpeedRPM, Unit: "rpm", Source: stillSource}
	err := firstOf(rpmBand.hold("speed", r.SpeedRPM), timeBand.hold("run-down time", r.CoastDownS),
		limits{0, 1e7, "kg·m²"}.hold("moment of inertia", r.InertiaKgM), checkTachos(r.Readings))
	if err != nil {
		return Wait{}, err
	}
	omega := r.SpeedRPM * radPerRPM
	w.EnergyJ = r.InertiaKgM * omega * omega / 2
	w.WaitS = r.CoastDownS
	n := len(r.Readings)
	switch {
	case n >= 3:
		c, err := Longest([3]Tacho(r.Readings[n-3:]))
		if err != nil {
			return Wait{}, err
		}
		w.Never = c.Never
		if !c.Never {
			w.WaitS = math.Max(w.WaitS, c.StopS)
		}
	case n == 2:
		stop, err := StraightLine(r.Readings[0], r.Readings[1])
		if err != nil {
			return Wait{}, err
		}
		w.AtLeast = stop > r.CoastDownS
		w.WaitS = math.Max(w.WaitS, stop)
	default:
		w.AtLeast = r.CoastDownS == 0 && r.SpeedRPM > 0
	}
	w.Words = rotationWords(w, n)
	return w, nil
}

func rotationWords(w Wait, readings int) string {
	switch {
	case w.Never:
		return "By its readings it only ever slows and never quite stops: take further readings as it slows."
	case w.AtLeast && readings == 2:
		return fmt.Sprintf("Two readings give only a lower bound: it stops no sooner than %s after the stop, and probably "+
			"later. Take a third.", span(w.WaitS))
	case w.AtLeast:
		return "No run-down time is known: take three tachometer readings, or wait until it is seen to stand still."
	}
	return fmt.Sprintf("It should stand still %s after the stop. Only seeing it stand still counts.", span(w.WaitS))
}

// Judge lets a rotor pass that reads exactly zero and was seen to stand still; a
// tachometer that reads zero may just have lost its mark.
func (r Rotation) Judge(m Reading, nowS float64) (Judgement, error) {
	if err := m.check(rpmBand, nowS); err != nil {
		return Judgement{}, err
	}
	switch {
	case m.Value > 0:
		return Judgement{false, fmt.Sprintf("It still turns at %.4g rpm.", m.Value)}, nil
	case !m.Still:
		return Judgement{false, "The tachometer reads 0 rpm, but nobody has said that it was seen to stand still."}, nil
	}
	return Judgement{true, "It reads 0 rpm and was seen to stand still."}, nil
}
