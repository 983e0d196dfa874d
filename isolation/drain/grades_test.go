package drain

import (
	"sort"
	"strings"
)

// named holds the grades that can be asked for by name. RM grades: 50 °C limit of
// ISO 8217:2012 with the CIMAC equivalent at 100 °C as printed by the Danish EPA.
// The distillates' second point and the lubricating oils are from memory.
var named = map[string]FluidSpec{
	"rme 180": {Family: ResidualFuel, Density15: 991, Viscosity: []ViscosityPoint{{50, 180}, {100, 25}}},
	"rmg 380": {Family: ResidualFuel, Density15: 991, Viscosity: []ViscosityPoint{{50, 380}, {100, 35}}},
	"rmk 500": {Family: ResidualFuel, Density15: 1010, Viscosity: []ViscosityPoint{{50, 500}, {100, 45}}},
	"rmk 700": {Family: ResidualFuel, Density15: 1010, Viscosity: []ViscosityPoint{{50, 700}, {100, 55}}},
	"dma":     {Family: DistillateFuel, Density15: 890, Viscosity: []ViscosityPoint{{40, 6}, {100, 1.8}}},
	"dmb": {Family: DistillateFuel, Density15: 900, Viscosity: []ViscosityPoint{{40, 11}, {100, 2.7}},
		PourC: celsius(6)},
	"lube sae 30": {Family: LubricatingOil, Density15: 895, Viscosity: []ViscosityPoint{{40, 108}, {100, 11.8}}},
	"lube sae 40": {Family: LubricatingOil, Density15: 900, Viscosity: []ViscosityPoint{{40, 140}, {100, 14}}},
	"lube sae 50": {Family: LubricatingOil, Density15: 920, Viscosity: []ViscosityPoint{{40, 230}, {100, 19.5}},
		PourC: celsius(-6)},
	"vg 32": {Family: LubricatingOil, Density15: 870, Viscosity: []ViscosityPoint{{40, 32}, {100, 5.4}},
		PourC: celsius(-21)},
	"vg 46": {Family: LubricatingOil, Density15: 875, Viscosity: []ViscosityPoint{{40, 46}, {100, 6.8}},
		PourC: celsius(-21)},
	"water":      {Family: Water},
	"condensate": {Family: Condensate},
}

// Named lists the fluids that [ParseFluid] knows, in order.
func Named() []string {
	names := make([]string, 0, len(named))
	for n := range named {
		names = append(names, n)
	}
	sort.Strings(names)
	return names
}

// ParseFluid returns a grade by name ("RMG 380", "DMA", "water", "lube SAE 40"),
// case and double spaces ignored; a family's name gives its default. An unknown
// name is refused with the list of those known.
func ParseFluid(name string) (Fluid, error) {
	key := strings.ToLower(strings.Join(strings.Fields(name), " "))
	if spec, ok := named[key]; ok {
		spec.Name = name
		return NewFluid(spec)
	}
	if _, ok := familyDefaults[Family(key)]; ok {
		return NewFluid(FluidSpec{Name: name, Family: Family(key)})
	}
	return Fluid{}, refuse("fluid", "%q is not known; known are %s", name, strings.Join(Named(), ", "))
}
