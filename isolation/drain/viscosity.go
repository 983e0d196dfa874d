package drain

import "math"

// ViscosityPoint is one measured kinematic viscosity.
type ViscosityPoint struct {
	AtC float64 // temperature, °C
	CSt float64 // kinematic viscosity, cSt (mm²/s)
}

const (
	kelvin      = 273.15
	cStPerM2S   = 1e6
	thinnestCSt = 0.31 // the chart's double logarithm ends at 0.3 cSt
)

// viscosityLine is a straight line on the ASTM D341 chart:
// log10 log10(ν + 0.7) = a − b·log10 T, ν in cSt, T in kelvin.
type viscosityLine struct{ a, b float64 }

// chart is the ordinate of the D341 chart for ν in cSt.
func chart(cst float64) float64 { return math.Log10(math.Log10(cst + 0.7)) }

// newViscosityLine lays the D341 line through two points, or the least-squares
// line on the chart through more. Refuses points nearer than 1 K, viscosities
// off the chart, and an oil that would thicken when heated.
func newViscosityLine(points []ViscosityPoint) (viscosityLine, error) {
	if len(points) < 2 {
		return viscosityLine{}, refuse("viscosity", "needs two points at different temperatures, got %d", len(points))
	}
	var sx, sy, sxx, sxy float64
	low, high := math.Inf(1), math.Inf(-1)
	for _, p := range points {
		err := firstOf(tempBand.within("viscosity temperature", p.AtC),
			band{thinnestCSt, 1e7, "cSt"}.within("viscosity", p.CSt))
		if err != nil {
			return viscosityLine{}, err
		}
		x, y := math.Log10(p.AtC+kelvin), chart(p.CSt)
		sx, sy, sxx, sxy = sx+x, sy+y, sxx+x*x, sxy+x*y
		low, high = math.Min(low, p.AtC), math.Max(high, p.AtC)
	}
	if high-low < 1 {
		return viscosityLine{}, refuse("viscosity", "both points are at %.6g °C; they must lie at least 1 K apart", low)
	}
	n := float64(len(points))
	slope := (n*sxy - sx*sy) / (n*sxx - sx*sx)
	if slope >= 0 {
		return viscosityLine{}, refuse("viscosity", "rises with temperature between %.6g and %.6g °C; no oil does that", low,
			high)
	}
	return viscosityLine{a: (sy - slope*sx) / n, b: -slope}, nil
}

// at returns cSt at a temperature in °C.
func (l viscosityLine) at(tempC float64) float64 {
	return math.Pow(10, math.Pow(10, l.a-l.b*math.Log10(tempC+kelvin))) - 0.7
}

// Viscosity returns the kinematic viscosity in m²/s at tempC, on the ASTM D341
// line through the given points (cSt). It refuses fewer than two points, points
// at one temperature and temperatures outside −60 to 400 °C.
// Source: ASTM D341, simple form, good above 2 cSt.
func Viscosity(points []ViscosityPoint, tempC float64) (float64, error) {
	line, err := newViscosityLine(points)
	if err != nil {
		return 0, err
	}
	if err := tempBand.within("temperature", tempC); err != nil {
		return 0, err
	}
	cst := line.at(tempC)
	if math.IsNaN(cst) || cst > 1e9 {
		return 0, refuse("temperature", "at %.6g °C the oil of these points does not flow", tempC)
	}
	return cst / cStPerM2S, nil
}

// waterViscosity returns m²/s for water from 0 to 150 °C, within about 3 %:
// μ = 2.414e-5·10^(247.8/(T−140)) Pa·s (from memory; checked at 20 and 100 °C).
func waterViscosity(tempC float64) float64 {
	mu := 2.414e-5 * math.Pow(10, 247.8/(tempC+kelvin-140))
	return mu / waterDensity(tempC)
}
