package energy

import (
	"fmt"
	"math"
)

// AtmospherePa is the pressure of the air as ASME PCC-2 takes it, Pa.
const AtmospherePa = 101000

// Gas is a receiver or a line full of gas under pressure.
type Gas struct {
	PressurePa float64 // absolute
	VolumeM3   float64
	K          float64 // ratio of specific heats; 0: 1.4, air
	BleedM     float64 // bore of the open bleed, m; 0: none, then it does not fall by itself
}

func (g Gas) check() error {
	err := firstOf(limits{1, 1e9, "Pa"}.hold("pressure", g.PressurePa), limits{1e-9, 1e6, "m³"}.hold("volume", g.VolumeM3),
		limits{0, 1, "m"}.hold("bleed bore", g.BleedM))
	if err == nil && g.K != 0 {
		err = limits{1.01, 1.7, ""}.hold("k", g.K)
	}
	return err
}

func (g Gas) k() float64 {
	if g.K == 0 {
		return 1.4
	}
	return g.K
}

// EnergyJ returns the energy set free if the gas expands without heat to
// atmospheric pressure: Pt·V/(k−1)·[1 − (Pa/Pt)^((k−1)/k)], for air
// 2.5·Pt·V·[1 − (Pa/Pt)^0.286]. Zero at or below atmospheric.
// Source: ASME PCC-2, mandatory appendix II of article 5.1 (2008).
func (g Gas) EnergyJ() (float64, error) {
	if err := g.check(); err != nil {
		return 0, err
	}
	return g.energy(), nil
}

func (g Gas) energy() float64 {
	if g.PressurePa <= AtmospherePa {
		return 0
	}
	exponent := (g.k() - 1) / g.k()
	if g.k() == 1.4 {
		exponent = 0.286 // as the code prints it
	}
	return g.PressurePa * g.VolumeM3 / (g.k() - 1) * (1 - math.Pow(AtmospherePa/g.PressurePa, exponent))
}

// SafeDistance returns the metres to keep from a vessel of this energy under test
// pressure: 30 m up to 135.5 MJ, 60 m up to 271 MJ, above that
// 20·(2·TNT)^(1/3) with TNT in kg at 4 266 920 J/kg.
// Source: ASME PCC-2, article 5.1 (from memory).
func SafeDistance(energyJ float64) (float64, error) {
	if err := (limits{0, 1e15, "J"}).hold("energy", energyJ); err != nil {
		return 0, err
	}
	switch {
	case energyJ == 0:
		return 0, nil
	case energyJ <= 135.5e6:
		return 30, nil
	case energyJ <= 271e6:
		return 60, nil
	}
	return math.Max(60, 20*math.Cbrt(2*energyJ/4266920)), nil
}

// atRestPa is the gauge pressure that reads as none on a line gauge: common
// practice, no source.
const atRestPa = 5000

const gasSource = "no pressure before opening: 29 CFR 1910.147(d)(5); energy and distance: ASME PCC-2 art. 5.1 " +
	"(distance from memory)"

// Predict returns the energy, the safe distance in words and, with an open bleed, the
// time to vent.
func (g Gas) Predict() (Wait, error) {
	if err := g.check(); err != nil {
		return Wait{}, err
	}
	over := math.Max(0, g.PressurePa-AtmospherePa)
	w := Wait{Kind: "gas", Figure: over, Limit: atRestPa, Unit: "Pa gauge", EnergyJ: g.energy(), Source: gasSource}
	switch {
	case over <= atRestPa:
		w.Words = "It holds no pressure."
		return w, nil
	case g.BleedM == 0:
		w.Never = true
		w.Words = "Waiting does not lower it: vent it."
	default:
		w.WaitS = g.ventS()
		w.Words = fmt.Sprintf("Through its bleed it should be vented after %s.", span(w.WaitS))
	}
	w.Words += fmt.Sprintf(" It holds %s.", joules(w.EnergyJ))
	return w, nil
}

// ventS integrates the outflow of air at 20 °C kept at that temperature (metal
// gives it back its heat) through a hole of Cd 0.6, choked, then not, down to the
// pressure that reads as none. ln p is the variable.
func (g Gas) ventS() float64 { return g.ventTo(AtmospherePa + atRestPa) }

// ventTo is the same down to another pressure, Pa absolute.
func (g Gas) ventTo(endPa float64) float64 {
	k, rt := g.k(), 287.0*293
	choke := math.Pow(2/(k+1), k/(k-1))
	flux := func(p float64) float64 { // mass flux over density upstream, m/s
		x := math.Max(AtmospherePa/p, choke)
		return math.Sqrt(2 * k / (k - 1) * rt * (math.Pow(x, 2/k) - math.Pow(x, (k+1)/k)))
	}
	a, b := math.Log(endPa), math.Log(g.PressurePa)
	const steps = 400
	sum := 0.0
	for i := range steps {
		sum += 1 / flux(math.Exp(a+(b-a)*(float64(i)+0.5)/steps))
	}
	hole := 0.6 * math.Pi / 4 * g.BleedM * g.BleedM
	return sum * (b - a) / steps * g.VolumeM3 / hole
}

// Judge lets a gauge pressure in pascal pass that reads as none, either way.
func (g Gas) Judge(r Reading, nowS float64) (Judgement, error) {
	return judgePressure(r, nowS)
}

func judgePressure(r Reading, nowS float64) (Judgement, error) {
	if err := r.check(limits{-1.05e5, 1e9, "Pa"}, nowS); err != nil {
		return Judgement{}, err
	}
	if r.Value < -atRestPa {
		return Judgement{false, fmt.Sprintf("It stands at %.4g Pa gauge, below the air's pressure: let air in before "+
			"opening.", r.Value)}, nil
	}
	return below("The pressure", r.Value, atRestPa, "Pa gauge"), nil
}

// Accumulator is a gas-loaded hydraulic accumulator: p·Vⁿ is constant.
type Accumulator struct {
	PrechargePa float64 // absolute, with no liquid in it
	PressurePa  float64 // absolute, of the liquid now
	VolumeM3    float64 // gas volume at precharge
	N           float64 // 1 slow, 1.4 quick; 0: 1
}

func (a Accumulator) check() error {
	err := firstOf(limits{1, 1e9, "Pa"}.hold("precharge", a.PrechargePa),
		limits{1, 1e9, "Pa"}.hold("pressure", a.PressurePa),
		limits{1e-9, 1e4, "m³"}.hold("volume", a.VolumeM3))
	if err == nil && a.N != 0 {
		err = limits{1, 2, ""}.hold("n", a.N)
	}
	return err
}

func (a Accumulator) n() float64 {
	if a.N == 0 {
		return 1
	}
	return a.N
}

// LiquidM3 returns the liquid in it at a pressure in Pa absolute:
// V·[1 − (p0/p)^(1/n)], none below the precharge.
func (a Accumulator) LiquidM3(atPa float64) (float64, error) {
	if err := firstOf(a.check(), limits{1, 1e9, "Pa"}.hold("pressure", atPa)); err != nil {
		return 0, err
	}
	return a.VolumeM3 * a.share(atPa), nil
}

// share is the part of the volume that liquid takes up.
func (a Accumulator) share(atPa float64) float64 {
	return math.Max(0, 1-math.Pow(a.PrechargePa/atPa, 1/a.n()))
}

// Delivered returns the liquid given off between two pressures in Pa absolute.
// low must lie at or above the precharge and below high.
func (a Accumulator) Delivered(highPa, lowPa float64) (float64, error) {
	high, err := a.LiquidM3(highPa)
	if err != nil {
		return 0, err
	}
	low, err := a.LiquidM3(lowPa)
	if err != nil {
		return 0, err
	}
	if lowPa >= highPa {
		return 0, refuse("low", "%.6g Pa is not below the high pressure, %.6g Pa", lowPa, highPa)
	}
	if lowPa < a.PrechargePa {
		return 0, refuse("low", "%.6g Pa is below the precharge, %.6g Pa, where no liquid is left", lowPa, a.PrechargePa)
	}
	return high - low, nil
}

// Predict returns the pressure of the liquid side and the gas energy; the gas stays
// charged behind its bladder even when the liquid is let off, and the words say so.
func (a Accumulator) Predict() (Wait, error) {
	if err := a.check(); err != nil {
		return Wait{}, err
	}
	p := math.Max(a.PressurePa, a.PrechargePa)
	gas := Gas{PressurePa: p, VolumeM3: a.VolumeM3 * (1 - a.share(p))}
	over := math.Max(0, a.PressurePa-AtmospherePa)
	w := Wait{Kind: "accumulator", Figure: over, Limit: atRestPa, Unit: "Pa gauge", EnergyJ: gas.energy(),
		Source: gasSource, Never: over > atRestPa}
	w.Words = fmt.Sprintf("Let the liquid off; waiting does not lower it. The gas stays at %.3g bar even then and holds "+
		"%s: vent it before the shell is opened.", (a.PrechargePa-AtmospherePa)/1e5, joules(w.EnergyJ))
	return w, nil
}

// Judge lets the gauge pressure of the liquid side pass that reads as none.
func (a Accumulator) Judge(r Reading, nowS float64) (Judgement, error) { return judgePressure(r, nowS) }
