package energy

import (
	"fmt"
	"math"
)

// Trapped is liquid shut in between closed valves, whose temperature changes.
type Trapped struct {
	ExpansionPerK   float64 // of the liquid's volume, 1/K
	CompressPerPa   float64 // compressibility, 1/Pa
	DiameterM       float64 // of the pipe; 0 with WallM 0: a rigid vessel
	WallM           float64 // wall thickness
	WallExpansion   float64 // of the metal's volume, 1/K; 0: 36e-6, steel (not used if rigid)
	ModulusPa       float64 // of the metal; 0: 200 GPa, steel
	RiseK           float64 // expected change of temperature: up positive, down negative
	StartPa, BurstG float64 // gauge pressure at the start; gauge pressure the part is built for (0: unknown)
}

func (t Trapped) check() error {
	err := firstOf(limits{1e-6, 1e-2, "1/K"}.hold("expansion", t.ExpansionPerK),
		limits{1e-12, 1e-6, "1/Pa"}.hold("compressibility", t.CompressPerPa),
		limits{0, 10, "m"}.hold("diameter", t.DiameterM), limits{0, 1, "m"}.hold("wall", t.WallM),
		limits{0, 1e-3, "1/K"}.hold("wall expansion", t.WallExpansion), limits{0, 1e13, "Pa"}.hold("modulus", t.ModulusPa),
		limits{-500, 500, "K"}.hold("rise", t.RiseK), limits{-1.05e5, 1e9, "Pa"}.hold("pressure at the start", t.StartPa),
		limits{0, 1e9, "Pa"}.hold("pressure it is built for", t.BurstG))
	if err == nil && (t.DiameterM > 0) != (t.WallM > 0) {
		err = refuse("wall", "diameter and wall thickness go together: give both, or neither for a rigid vessel")
	}
	if err == nil && t.WallM > t.DiameterM/2 && t.WallM > 0 {
		err = refuse("wall", "%.6g m is thicker than the pipe's radius", t.WallM)
	}
	return err
}

// PerKelvin returns the change of pressure in Pa for each kelvin:
// (α − α_wall)/(χ + D/(t·E)) in an elastic pipe, α/χ in a rigid vessel (own
// derivation from the thin-walled pipe; the check value is water in steel).
func (t Trapped) PerKelvin() (float64, error) {
	if err := t.check(); err != nil {
		return 0, err
	}
	return t.perKelvin(), nil
}

func (t Trapped) perKelvin() float64 {
	if t.WallM == 0 {
		return t.ExpansionPerK / t.CompressPerPa
	}
	wall, e := t.WallExpansion, t.ModulusPa
	if wall == 0 {
		wall = 36e-6
	}
	if e == 0 {
		e = 2e11
	}
	return (t.ExpansionPerK - wall) / (t.CompressPerPa + t.DiameterM/(t.WallM*e))
}

// Predict returns the gauge pressure after the change. Cooling ends at a vacuum: the
// liquid boils or draws in air, and the figure stays at −1 atmosphere.
func (t Trapped) Predict() (Wait, error) {
	if err := t.check(); err != nil {
		return Wait{}, err
	}
	p := t.StartPa + t.perKelvin()*t.RiseK
	w := Wait{Kind: "trapped liquid", Figure: math.Max(p, -AtmospherePa), Limit: atRestPa, Unit: "Pa gauge",
		Source: "no pressure before opening: 29 CFR 1910.147(d)(5); rise: elastic pipe full of liquid, own derivation"}
	switch {
	case p < -atRestPa:
		w.Words = fmt.Sprintf("Cooling by %.3g K leaves a vacuum: let air in before opening, and expect more to run out "+
			"then.", -t.RiseK)
	case p <= atRestPa:
		w.Words = "It stays without pressure."
	default:
		w.Never = true
		w.Words = fmt.Sprintf("Warming by %.3g K brings it to %.3g bar, %.3g bar for each kelvin: open a drain or a vent "+
			"before it is shut in.", t.RiseK, p/1e5, t.perKelvin()/1e5)
		if t.BurstG > 0 && p > t.BurstG {
			w.Words += fmt.Sprintf(" It is built for %.3g bar.", t.BurstG/1e5)
		}
	}
	return w, nil
}

// Judge lets a gauge pressure in pascal pass that reads as none, either way.
func (t Trapped) Judge(r Reading, nowS float64) (Judgement, error) { return judgePressure(r, nowS) }
