package drain

import "math"

// Gravity is the standard value used by the check figures, m/s².
const Gravity = 9.81

// Friction returns the Darcy friction factor at a Reynolds number and a relative
// roughness (ε/D), through laminar, transition and turbulent flow.
// re must be positive and rough between 0 and 0.1: see [CheckFriction].
// Source: Churchill, "Friction-factor equation spans all fluid-flow regimes",
// Chem. Eng. 84 (1977) 91.
func Friction(re, rough float64) float64 {
	if re < 1000 {
		return 64 / re // Churchill's other terms are below 1e-12 here
	}
	a := 2.457 * math.Log(1/(math.Pow(7/re, 0.9)+0.27*rough))
	b := 37530 / re
	sum := pow16(a) + pow16(b)
	l := 8 / re
	l *= l * l // ^3
	l *= l     // ^6
	return 8 * math.Pow(l*l+1/(sum*math.Sqrt(sum)), 1.0/12)
}

func pow16(x float64) float64 {
	x *= x
	x *= x
	x *= x
	return x * x
}

// CheckFriction refuses what [Friction] has no answer for, in a sentence.
func CheckFriction(re, rough float64) error {
	return firstOf(band{1e-9, 1e12, ""}.within("Reynolds number", re),
		band{0, 0.1, ""}.within("relative roughness", rough))
}

// Pipe is one straight run for [PipeVelocity].
type Pipe struct {
	BoreM, LengthM float64 // m
	RoughM         float64 // wall roughness ε, m
	LossK          float64 // sum of the minor losses K; the velocity head leaving is added, see kinetic
	FixedF         float64 // Darcy friction factor taken as constant; 0: by [Friction]
}

// PipeVelocity returns the velocity in m/s at which a liquid of viscosity nu
// (m²/s) leaves the pipe under headM metres of itself: h = V²/2g·(α + K + f·L/d),
// with α 1 where FixedF is given and by [kinetic] elsewhere.
// Zero head gives zero. Bad sizes, a negative head or nu ≤ 0 are refused.
func PipeVelocity(p Pipe, headM, nu float64) (float64, error) {
	err := firstOf(boreBand.within("pipe diameter", p.BoreM), lengthBand.within("pipe length", p.LengthM),
		roughBand.within("roughness", p.RoughM), lossBand.within("loss", p.LossK),
		band{0, 10, ""}.within("friction factor", p.FixedF),
		band{0, 1e4, "m"}.within("head", headM), band{1e-8, 100, "m²/s"}.within("viscosity", nu))
	if err != nil {
		return 0, err
	}
	if p.RoughM > 0.1*p.BoreM {
		return 0, refuse("roughness", "%.6g m is more than a tenth of the bore", p.RoughM)
	}
	if headM == 0 {
		return 0, nil
	}
	return pipeVelocity(p, headM, nu), nil
}

// Kinetic energy that a flow carries, over that of its mean velocity: 2 where the profile is the laminar parabola, 1.06
// where it is turbulent (White, Fluid Mechanics, 3.7: laminar 2.0, the one-seventh law 1.058; from memory). laminarEnd
// is up to where a flow may stay laminar.
const (
	kineticLaminar   = 2
	kineticTurbulent = 1.06
	laminarEnd       = 2300
)

// kinetic is that factor at a Reynolds number. Beyond laminarEnd the head that it stands for stays what it was there
// until the turbulent one is more: so the head never falls while the flow rises, and what is foretold is rather too
// slow.
// law says which of the three holds.
func kinetic(re float64) (factor float64, law uint64) {
	if re <= laminarEnd {
		return kineticLaminar, 0
	}
	x := laminarEnd / re
	if y := kineticLaminar * x * x; y > kineticTurbulent {
		return y, 1
	}
	return kineticTurbulent, 2
}

// pipeVelocity solves in logarithms, where the head is nearly a straight line of
// slope 1 (laminar) to 2 (turbulent), so a few secant steps are enough.
func pipeVelocity(p Pipe, headM, nu float64) float64 {
	if p.FixedF > 0 {
		return math.Sqrt(2 * Gravity * headM / (1 + p.LossK + p.FixedF*p.LengthM/p.BoreM))
	}
	need := func(x float64) float64 {
		v := math.Exp(x)
		re := v * p.BoreM / nu
		f := Friction(re, p.RoughM/p.BoreM)
		alpha, _ := kinetic(re)
		return math.Log(v * v / (2 * Gravity) * (alpha + p.LossK + f*p.LengthM/p.BoreM) / headM)
	}
	x, _ := logSecant(need, 0.5*math.Log(2*Gravity*headM), 2)
	return math.Exp(x)
}

// logSecant finds the zero of a rising function whose slope is about 1 to 2, from
// a first guess of place and slope; it returns both as found. A bracket keeps it
// safe where the transition bends the curve.
func logSecant(g func(float64) float64, x, slope float64) (float64, float64) {
	y := g(x)
	low, high := math.Inf(-1), math.Inf(1)
	enough := 3e-7
	for range 60 {
		if math.Abs(y) < enough {
			break // the last correction below leaves far less
		}
		if y > 0 {
			high = x
		} else {
			low = x
		}
		next := x - math.Max(-5, math.Min(5, y/slope)) // a factor of 150 at most
		if next <= low || next >= high {
			next = (low + high) / 2
		}
		yn := g(next)
		if d := next - x; math.Abs(d) > 1e-9 {
			slope = math.Min(3, math.Max(0.8, (yn-y)/d))
			enough = 5e-6 // now that the slope is fresh
		}
		x, y = next, yn
	}
	return x - y/slope, slope
}

// cautious is Friction made never to rise with the Reynolds number: in the jump
// from laminar to turbulent it takes the turbulent crest throughout. Real flow may
// stay laminar there and be quicker; a waiting time must not count on it, and a
// hotter (thinner) oil must not be predicted to drain slower.
type cautious struct{ rough, laminarRe, crestRe, crest float64 }

// newCautious finds the crest: on a coarse walk, then by thirds.
func newCautious(rough float64) *cautious {
	top, most := 2200.0, 0.0
	for re := top; re < 2e4; re *= 1.05 {
		if f := Friction(re, rough); f > most {
			top, most = re, f
		}
	}
	low, high := top/1.06, top*1.06
	for high > low*(1+1e-7) {
		a, b := low+(high-low)/3, high-(high-low)/3
		if Friction(a, rough) < Friction(b, rough) {
			low = a
		} else {
			high = b
		}
	}
	c := &cautious{rough: rough, crestRe: high, crest: Friction(high, rough)}
	c.laminarRe = 64 / c.crest
	return c
}

// factor is the friction factor, and by which of its three laws: 64/Re up to where
// it meets the crest (within 1e-6 of Churchill's there), the crest, Churchill's.
func (c *cautious) factor(re float64) (f float64, law uint64) {
	switch {
	case re < c.laminarRe:
		return 64 / re, 0
	case re < c.crestRe:
		return c.crest, 1
	}
	return Friction(re, c.rough), 2
}
