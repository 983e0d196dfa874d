package energy

import "math"

// NusseltCylinder returns the Nusselt number of natural convection about a long
// horizontal cylinder for a Prandtl number and a Grashof number on the diameter
// (both positive, else 0).
// Source: Churchill & Chu, Int. J. Heat Mass Transfer 18 (1975) 1049.
func NusseltCylinder(pr, gr float64) float64 {
	if !(pr > 0) || !(gr > 0) {
		return 0
	}
	x := 0.6 + 0.387*math.Pow(pr*gr, 1.0/6)/math.Pow(1+math.Pow(0.559/pr, 9.0/16), 8.0/27)
	return x * x
}

// NusseltPlate is the same for an upright plate, on its height.
// Source: Churchill & Chu, Int. J. Heat Mass Transfer 18 (1975) 1323.
func NusseltPlate(pr, gr float64) float64 {
	if !(pr > 0) || !(gr > 0) {
		return 0
	}
	x := 0.825 + 0.387*math.Pow(pr*gr, 1.0/6)/math.Pow(1+math.Pow(0.492/pr, 9.0/16), 8.0/27)
	return x * x
}

// air returns conductivity W/(m·K) and kinematic viscosity m²/s of air at a
// temperature in kelvin and one atmosphere: Sutherland's law and a power law for
// the conductivity (from memory; within 2 % from 250 to 700 K).
func air(t float64) (k, nu float64) {
	mu := 1.716e-5 * math.Pow(t/273.15, 1.5) * (273.15 + 110.4) / (t + 110.4)
	return 0.02624 * math.Pow(t/300, 0.8646), mu * 287.05 * t / 101325
}

const (
	airPr  = 0.70
	sigma  = 5.670374e-8 // Stefan-Boltzmann, W/(m²·K⁴)
	kelvin = 273.15
)

// coefficient is the heat given off, W/(m²·K), by a bare surface in still air:
// natural convection and radiation to surroundings at the air's temperature.
func (h Heat) coefficient(surfaceC float64) float64 {
	if h.CoefficientWM2K > 0 {
		return h.CoefficientWM2K
	}
	ts, ta := surfaceC+kelvin, h.AmbientC+kelvin
	film := (ts + ta) / 2
	k, nu := air(film)
	gr := 9.81 / film * math.Abs(ts-ta) * h.SizeM * h.SizeM * h.SizeM / (nu * nu)
	nusselt := NusseltCylinder
	if h.Upright {
		nusselt = NusseltPlate
	}
	e := h.Emissivity
	if e == 0 {
		e = 0.8 // painted or oxidised metal: common practice, no source
	}
	return nusselt(airPr, gr)*k/h.SizeM + e*sigma*(ts*ts+ta*ta)*(ts+ta)
}
