package energy

import (
	"fmt"
	"math"
)

// touchLimits: surface temperature of bare metal, °C, that skin bears for a
// contact time. ISO 13732-1, from memory: to be confirmed before relying on it;
// of its range for one second the lower end is taken.
var touchLimits = []struct{ contactS, limitC float64 }{
	{1, 65}, {10, 55}, {60, 51}, {600, 48}, {28800, 43},
}

// TouchLimit returns the highest temperature in °C of bare metal for a contact of
// the given seconds: the limit of the next longer time listed (1 s 65, 10 s 55,
// 1 min 51, 10 min 48, 8 h 43). Contacts of zero or above 8 h are refused.
func TouchLimit(contactS float64) (float64, error) {
	if err := (limits{1e-3, 28800, "s"}).hold("contact time", contactS); err != nil {
		return 0, err
	}
	for _, l := range touchLimits {
		if contactS <= l.contactS {
			return l.limitC, nil
		}
	}
	return touchLimits[len(touchLimits)-1].limitC, nil
}

// Heat is a hot body of metal with what it holds, taken as one lump.
type Heat struct {
	SurfaceC, AmbientC float64 // °C
	AmbientKnown       bool    // AmbientC is told of this place, not assumed
	MetalKg, MetalC    float64 // mass; specific heat J/(kg·K), 0: 480, steel
	OilKg, OilC        float64 // liquid in it; specific heat, 0: 2000, oil
	AreaM2             float64 // that gives off heat
	SizeM              float64 // diameter of a lying pipe, or height if Upright
	Upright            bool
	Emissivity         float64 // 0: 0.8
	CoefficientWM2K    float64 // fixed coefficient; 0: natural convection and radiation
	OwnLimitC          float64 // a limit other than bare skin's, such as a glove's; 0: none
	ContactS           float64 // how long skin touches it; 0: 10 min, work with the hands
}

// Lump is one body at one temperature that cools with a fixed coefficient:
// (T−T∞)/(T0−T∞) = e^(−t/τ).
type Lump struct {
	TauS     float64 // τ = m·c/(h·A)
	AmbientC float64
}

// Time returns the seconds from fromC to toC, cooling or warming; toC must lie
// between fromC and the surroundings and not reach them.
func (l Lump) Time(fromC, toC float64) (float64, error) {
	t := limits{-273.15, 3000, "°C"}
	err := firstOf(t.hold("from", fromC), t.hold("to", toC), t.hold("ambient", l.AmbientC),
		limits{1e-6, 1e9, "s"}.hold("tau", l.TauS))
	if err != nil {
		return 0, err
	}
	if fromC == toC {
		return 0, nil
	}
	x := (toC - l.AmbientC) / (fromC - l.AmbientC)
	if fromC == l.AmbientC || x <= 0 || x > 1 {
		return 0, refuse("to", "%.6g °C is not between %.6g °C and the surroundings at %.6g °C, which are never quite "+
			"reached", toC, fromC, l.AmbientC)
	}
	return -l.TauS * math.Log(x), nil
}

// After returns the temperature in °C afterS seconds after it was fromC.
func (l Lump) After(fromC, afterS float64) (float64, error) {
	t := limits{-273.15, 3000, "°C"}
	err := firstOf(t.hold("from", fromC), t.hold("ambient", l.AmbientC), limits{1e-6, 1e9, "s"}.hold("tau", l.TauS),
		limits{0, 1e9, "s"}.hold("after", afterS))
	if err != nil {
		return 0, err
	}
	return l.AmbientC + (fromC-l.AmbientC)*math.Exp(-afterS/l.TauS), nil
}

// Tau returns τ in seconds of a mass kg with specific heat J/(kg·K) and an area in
// m² giving off W/(m²·K).
func Tau(massKg, heatJKgK, areaM2, coefficient float64) (float64, error) {
	err := firstOf(limits{1e-9, 1e7, "kg"}.hold("mass", massKg),
		limits{1, 2e4, "J/(kg·K)"}.hold("specific heat", heatJKgK),
		limits{1e-9, 1e5, "m²"}.hold("area", areaM2), limits{1e-3, 1e6, "W/(m²·K)"}.hold("coefficient", coefficient))
	if err != nil {
		return 0, err
	}
	return massKg * heatJKgK / (coefficient * areaM2), nil
}

func (h Heat) check() error {
	t, m := limits{-60, 1200, "°C"}, limits{0, 1e7, "kg"}
	c := limits{0, 2e4, "J/(kg·K)"}
	err := firstOf(t.hold("surface temperature", h.SurfaceC), t.hold("air temperature", h.AmbientC),
		m.hold("mass of metal", h.MetalKg),
		m.hold("mass of oil", h.OilKg), c.hold("specific heat of metal", h.MetalC), c.hold("specific heat of oil", h.OilC),
		limits{0, 1e5, "m²"}.hold("area", h.AreaM2), limits{0, 100, "m"}.hold("size", h.SizeM),
		limits{0, 1, ""}.hold("emissivity", h.Emissivity), limits{0, 1e5, "W/(m²·K)"}.hold("coefficient", h.CoefficientWM2K))
	if err == nil && h.ContactS != 0 {
		_, err = TouchLimit(h.ContactS)
	}
	return err
}

// limit is the touch limit of this body.
func (h Heat) limit() float64 {
	if h.OwnLimitC != 0 {
		return h.OwnLimitC
	}
	contact := h.ContactS
	if contact == 0 {
		contact = 600
	}
	l, _ := TouchLimit(contact) // checked
	return l
}

// capacity is its heat capacity, J/K.
func (h Heat) capacity() float64 {
	cm, co := h.MetalC, h.OilC
	if cm == 0 {
		cm = 480
	}
	if co == 0 {
		co = 2000
	}
	return h.MetalKg*cm + h.OilKg*co
}

const heatSource = "skin contact with bare metal: ISO 13732-1 (from memory, confirm); cooling: one lump, natural " +
	"convection by Churchill & Chu (1975) and radiation"

// Predict returns the wait until the surface may be touched. Metal and oil count as
// one lump at the surface's temperature, which holds for metal in still air; thick
// oil inside cools later than its shell, so the reading counts.
func (h Heat) Predict() (Wait, error) {
	if err := h.check(); err != nil {
		return Wait{}, err
	}
	w := Wait{Kind: "heat", Figure: h.SurfaceC, Limit: h.limit(), Unit: "°C", Source: heatSource,
		EnergyJ: math.Max(0, h.capacity()*(h.SurfaceC-h.limit()))}
	switch {
	case h.SurfaceC <= w.Limit:
		w.Words = fmt.Sprintf("It is not hotter than %.3g °C.", w.Limit)
		return w, nil
	case h.AmbientC >= w.Limit:
		w.Never = true
		w.Words = fmt.Sprintf("The air at %.3g °C is itself not below %.3g °C: it has to be cooled, or gloves worn.",
			h.AmbientC, w.Limit)
		return w, nil
	case h.capacity() == 0 || h.AreaM2 == 0 || (h.SizeM == 0 && h.CoefficientWM2K == 0):
		w.AtLeast = true
		w.Words = "Its mass, area or size is not given, so the wait can't be told: measure."
		return w, nil
	}
	w.WaitS = h.coolS(h.SurfaceC, w.Limit)
	w.Words = fmt.Sprintf("Its surface should be down to %.3g °C after %s.", w.Limit, span(w.WaitS))
	return w, nil
}

// coolS integrates dt = C·dT/(h(T)·A·(T−T∞)), with x = ln(T−T∞) so that only the
// slow change of h with temperature is left to Simpson's rule.
func (h Heat) coolS(fromC, toC float64) float64 {
	f := func(x float64) float64 { return 1 / h.coefficient(h.AmbientC+math.Exp(x)) }
	a, b := math.Log(toC-h.AmbientC), math.Log(fromC-h.AmbientC)
	const n = 64
	sum := f(a) + f(b)
	for i := 1; i < n; i++ {
		sum += f(a+(b-a)*float64(i)/n) * float64(2+2*(i%2))
	}
	return h.capacity() / h.AreaM2 * sum * (b - a) / (3 * n)
}

// Judge lets a surface temperature in °C pass that is not above the touch limit.
func (h Heat) Judge(r Reading, nowS float64) (Judgement, error) {
	if err := firstOf(h.check(), r.check(limits{-60, 1200, "°C"}, nowS)); err != nil {
		return Judgement{}, err
	}
	return below("The surface", r.Value, h.limit(), "°C"), nil
}
