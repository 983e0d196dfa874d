package drain

// Family groups fluids that share a density table and defaults.
type Family string

// The families. Fuels go by table 54B, lubricating oil by 54D, water and condensate
// by Kell's polynomial.
const (
	ResidualFuel   Family = "residual fuel"
	DistillateFuel Family = "distillate fuel"
	LubricatingOil Family = "lubricating oil"
	Water          Family = "water"
	Condensate     Family = "steam condensate"
)

// FluidSpec is what a plant file or a bunker note says about a fluid. Zero
// values are filled from the family: see [NewFluid].
type FluidSpec struct {
	Name      string
	Family    Family
	Density15 float64          // kg/m³ at 15 °C; 0: the family's grade limit
	Viscosity []ViscosityPoint // two points or more; none: the family's default
	TensionNM float64          // surface tension, N/m; 0: the family's default
	PourC     *float64         // pour or freezing point, °C; nil: the family's default
}

// Fluid is a checked fluid; only [NewFluid] makes one. The zero
// value is no fluid and every question to it is refused.
type Fluid struct {
	name    string
	family  Family
	rho15   float64
	line    viscosityLine
	tension float64
	pourC   float64
}

// familyDefaults: densities are the limits of ISO 8217:2012 where it has one
// (RMG 380, DMA); pour points of fuels are its upper limits (from memory);
// lubricating oil and surface tensions are common practice, no source, except
// water's tension at 60 °C (from memory).
var familyDefaults = map[Family]FluidSpec{
	ResidualFuel: {Density15: 991, Viscosity: []ViscosityPoint{{50, 380}, {100, 35}}, TensionNM: 0.030,
		PourC: celsius(30)},
	DistillateFuel: {Density15: 890, Viscosity: []ViscosityPoint{{40, 6}, {100, 1.8}}, TensionNM: 0.028,
		PourC: celsius(0)},
	LubricatingOil: {Density15: 900, Viscosity: []ViscosityPoint{{40, 108}, {100, 11.8}}, TensionNM: 0.031,
		PourC: celsius(-9)},
	Water:      {Density15: 999.1, TensionNM: 0.066, PourC: celsius(0)},
	Condensate: {Density15: 999.1, TensionNM: 0.066, PourC: celsius(0)},
}

func celsius(t float64) *float64 { return &t }

// NewFluid checks a specification and fills what it leaves out from its family.
// It refuses an unknown family, a density outside the family's table, viscosity
// points off the ASTM D341 chart and a surface tension outside 0.005–0.1 N/m.
func NewFluid(spec FluidSpec) (Fluid, error) {
	def, ok := familyDefaults[spec.Family]
	if !ok {
		return Fluid{}, refuse("fluid "+spec.Name+" family",
			"%q is not one of residual fuel, distillate fuel, lubricating oil, water, steam condensate", string(spec.Family))
	}
	f := Fluid{name: spec.Name, family: spec.Family, rho15: spec.Density15, tension: spec.TensionNM, pourC: *def.PourC}
	if f.name == "" {
		f.name = string(spec.Family)
	}
	if f.rho15 == 0 {
		f.rho15 = def.Density15
	}
	if f.tension == 0 {
		f.tension = def.TensionNM
	}
	if spec.PourC != nil {
		f.pourC = *spec.PourC
	}
	points := spec.Viscosity
	if len(points) == 0 {
		points = def.Viscosity
	}
	return f, f.check(points)
}

// check lays the viscosity line and looks at every other figure.
func (f *Fluid) check(points []ViscosityPoint) error {
	var err error
	if f.isWater() {
		err = band{990, 1050, "kg/m³"}.within("fluid "+f.name+" density at 15 °C", f.rho15)
	} else {
		_, err = expansionAt15(f.rho15, f.table())
		if err == nil {
			f.line, err = newViscosityLine(points)
		}
	}
	return firstOf(err,
		band{0.005, 0.1, "N/m"}.within("fluid "+f.name+" surface tension", f.tension),
		band{-60, 90, "°C"}.within("fluid "+f.name+" pour point", f.pourC))
}

func (f Fluid) isWater() bool { return f.family == Water || f.family == Condensate }

func (f Fluid) table() Table {
	if f.family == LubricatingOil {
		return Table54D
	}
	return Table54B
}

// Name returns the name the fluid was made with, or its family's.
func (f Fluid) Name() string { return f.name }

// Family returns the fluid's family; empty for the zero Fluid.
func (f Fluid) Family() Family { return f.family }

// PourC returns the pour or freezing point in °C.
func (f Fluid) PourC() float64 { return f.pourC }

// TensionNM returns the surface tension in N/m.
func (f Fluid) TensionNM() float64 { return f.tension }

// flows refuses a temperature at which the fluid does not flow or is out of range.
func (f Fluid) flows(tempC float64) error {
	if f.family == "" {
		return refuse("fluid", "is not given")
	}
	if err := tempBand.within("temperature", tempC); err != nil {
		return err
	}
	if tempC < f.pourC {
		return refuse("temperature", "%s at %.6g °C is below its pour point of %.6g °C and does not flow; heat it first",
			f.name, tempC, f.pourC)
	}
	if tempC > 150 {
		return refuse("temperature", "%.6g °C is above 150 °C, where the density tables end", tempC)
	}
	return nil
}

// ViscosityAt returns the kinematic viscosity in m²/s at tempC: ASTM D341 for
// oils, within about 3 % for water. Refused below the pour point and above 150 °C.
func (f Fluid) ViscosityAt(tempC float64) (float64, error) {
	if err := f.flows(tempC); err != nil {
		return 0, err
	}
	if f.isWater() {
		return waterViscosity(tempC), nil
	}
	return f.line.at(tempC) / cStPerM2S, nil
}

// DensityAt returns the density in kg/m³ at tempC: tables 54B and 54D for oils,
// Kell's polynomial scaled to the density at 15 °C for water (so sea water
// works too). Refused below the pour point and outside the table's range.
func (f Fluid) DensityAt(tempC float64) (float64, error) {
	if err := f.flows(tempC); err != nil {
		return 0, err
	}
	if f.isWater() {
		return f.rho15 * waterDensity(tempC) / waterDensity(15), nil
	}
	vcf, err := VolumeCorrection(f.rho15, f.table(), tempC)
	return f.rho15 * vcf, err
}
