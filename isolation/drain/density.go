package drain

import "math"

// Table names a volume correction table of ASTM D1250-80.
type Table string

const (
	Table54B Table = "54B" // refined products: distillate and residual fuels
	Table54D Table = "54D" // lubricating oils
)

// expansionAt15 is α15 per kelvin for a density at 15 °C, with the constants of
// ASTM D1250-80 (54B: kerosene range and fuel oils; 54D: lubricating oils).
func expansionAt15(rho15 float64, table Table) (float64, error) {
	k0, k1 := 0.0, 0.6278
	var span band
	switch table {
	case Table54D:
		span = band{800, 1164, "kg/m³"}
	case Table54B:
		span = band{788, 1075, "kg/m³"}
		// the table steps in 0.5 kg/m³: 838.5 is the last of one range, 839 the first of the next
		if k0, k1 = 186.9696, 0.4862; rho15 < 838.75 {
			k0, k1 = 594.5418, 0
		}
	default:
		return 0, refuse("table", "%q is not 54B or 54D", string(table))
	}
	if err := span.within("density at 15 °C", rho15); err != nil {
		return 0, err
	}
	return (k0 + k1*rho15) / (rho15 * rho15), nil
}

// VolumeCorrection returns the factor by which a volume at tempC is multiplied
// to give its volume at 15 °C (below 1 when hotter), for rho15 in kg/m³.
// Valid from −20 to 150 °C and within the density range of the table; outside
// it is refused. Source: ASTM D1250-80, VCF = exp[−αΔt(1 + 0.8αΔt)].
func VolumeCorrection(rho15 float64, table Table, tempC float64) (float64, error) {
	alpha, err := expansionAt15(rho15, table)
	if err != nil {
		return 0, err
	}
	if err := (band{-20, 150, "°C"}).within("temperature", tempC); err != nil {
		return 0, err
	}
	dt := tempC - 15
	return math.Exp(-alpha * dt * (1 + 0.8*alpha*dt)), nil
}

// waterDensity is Kell's polynomial (1975; from memory, checked at five
// temperatures), kg/m³, 0 to 150 °C.
func waterDensity(tempC float64) float64 {
	t := tempC
	num := 999.83952 + t*(16.945176+t*(-7.9870401e-3+t*(-46.170461e-6+t*(105.56302e-9-t*280.54253e-12))))
	return num / (1 + 16.879850e-3*t)
}
