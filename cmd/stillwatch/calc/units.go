package calc

import (
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// kind is a physical quantity with the units that are understood for it.
type kind struct {
	what    string
	example string
	units   map[string]unit // nil: a bare number
	words   []string        // instead: one of these words
	repeats bool            // instead: pairs a=b, may be given again
	a, b    *kind           // of the pairs
	or      *kind           // another quantity that does as well, stored under the name and " dynamic"
}

// unit turns a figure into SI: (x + before)·factor + after.
type unit struct{ before, factor, after float64 }

func times(factor float64) unit { return unit{factor: factor} }

const airPa = 101325 // added to a gauge pressure

var (
	ratioKind  = kind{what: "a plain number", example: "0.6"}
	lengthKind = kind{what: "a length", example: "50mm", units: map[string]unit{
		"m": times(1), "cm": times(1e-2), "mm": times(1e-3), "um": times(1e-6), "µm": times(1e-6), "in": times(0.0254),
		"ft": times(0.3048)}}
	areaKind = kind{what: "an area", example: "2.5m2", units: map[string]unit{
		"m2": times(1), "m²": times(1), "cm2": times(1e-4), "cm²": times(1e-4), "mm2": times(1e-6), "mm²": times(1e-6)}}
	volumeKind = kind{what: "a volume", example: "50L", units: map[string]unit{
		"m3": times(1), "m³": times(1), "L": times(1e-3), "l": times(1e-3), "mL": times(1e-6), "ml": times(1e-6),
		"cm3": times(1e-6), "in3": times(1.6387064e-5), "gal": times(3.785411784e-3)}}
	timeKind = kind{what: "a time", example: "60s", units: map[string]unit{
		"ms": times(1e-3), "s": times(1), "min": times(60), "h": times(3600), "d": times(86400)}}
	tempKind = kind{what: "a temperature", example: "98C", units: map[string]unit{
		"C": times(1), "°C": times(1), "degC": times(1), "K": {factor: 1, after: -273.15},
		"F": {before: -32, factor: 5.0 / 9}, "°F": {before: -32, factor: 5.0 / 9}}}
	riseKind = kind{what: "a difference of temperature", example: "10K", units: map[string]unit{
		"K": times(1), "C": times(1), "°C": times(1)}}
	nuKind = kind{what: "a kinematic viscosity", example: "380cSt", units: map[string]unit{
		"m2/s": times(1), "m²/s": times(1), "cSt": times(1e-6), "mm2/s": times(1e-6), "mm²/s": times(1e-6),
		"St": times(1e-4)}}
	muKind = kind{what: "a dynamic viscosity", example: "80cP", units: map[string]unit{
		"Pas": times(1), "Pa.s": times(1), "Pa·s": times(1), "Pa*s": times(1), "mPas": times(1e-3), "mPa.s": times(1e-3),
		"mPa·s": times(1e-3), "cP": times(1e-3), "P": times(0.1)}}
	densityKind = kind{what: "a density", example: "991kg/m3", units: map[string]unit{
		"kg/m3": times(1), "kg/m³": times(1), "g/cm3": times(1000), "g/cm³": times(1000), "kg/L": times(1000),
		"kg/l": times(1000), "t/m3": times(1000)}}
	pressureKind = kind{what: "a pressure", example: "11bar", units: map[string]unit{
		"Pa": times(1), "kPa": times(1e3), "MPa": times(1e6), "mbar": times(100), "bar": times(1e5), "bara": times(1e5),
		"psi": times(6894.757293168), "psia": times(6894.757293168), "atm": times(101325),
		"barg": {factor: 1e5, after: airPa}, "psig": {factor: 6894.757293168, after: airPa},
		"kPag": {factor: 1e3, after: airPa}, "MPag": {factor: 1e6, after: airPa}}}
	modulusKind = kind{what: "a modulus", example: "200GPa", units: map[string]unit{
		"Pa": times(1), "MPa": times(1e6), "GPa": times(1e9), "N/mm2": times(1e6), "N/mm²": times(1e6)}}
	speedKind = kind{what: "a speed of rotation", example: "900rpm", units: map[string]unit{
		"rad/s": times(1), "rpm": times(0.10471975511965978), "1/min": times(0.10471975511965978),
		"rps": times(6.283185307179586)}}
	ohmKind = kind{what: "a resistance", example: "4kohm", units: map[string]unit{
		"ohm": times(1), "Ω": times(1), "kohm": times(1e3), "kΩ": times(1e3), "Mohm": times(1e6), "MΩ": times(1e6)}}
	faradKind = kind{what: "a capacitance", example: "0.1uF", units: map[string]unit{
		"F": times(1), "mF": times(1e-3), "uF": times(1e-6), "µF": times(1e-6), "nF": times(1e-9), "pF": times(1e-12)}}
	voltKind = kind{what: "a voltage", example: "200V", units: map[string]unit{
		"V": times(1), "mV": times(1e-3), "kV": times(1e3)}}
	massKind = kind{what: "a mass", example: "120kg", units: map[string]unit{
		"kg": times(1), "g": times(1e-3), "t": times(1e3)}}
	heatKind = kind{what: "a specific heat", example: "480J/kgK", units: map[string]unit{
		"J/kgK": times(1), "J/kg/K": times(1), "J/(kgK)": times(1), "J/(kg·K)": times(1), "J/(kg.K)": times(1),
		"J/(kg*K)": times(1), "kJ/kgK": times(1e3), "kJ/(kgK)": times(1e3), "kJ/(kg·K)": times(1e3)}}
	coefficientKind = kind{what: "a heat transfer coefficient", example: "10W/m2K", units: map[string]unit{
		"W/m2K": times(1), "W/m²K": times(1), "W/m2/K": times(1), "W/(m2K)": times(1), "W/(m²K)": times(1),
		"W/(m²·K)": times(1), "W/(m2.K)": times(1), "W/(m2*K)": times(1)}}
	expansionKind = kind{what: "an expansion for each kelvin", example: "210e-6/K", units: map[string]unit{
		"/K": times(1), "1/K": times(1), "K-1": times(1), "/C": times(1), "/°C": times(1)}}
	compressKind = kind{what: "a compressibility", example: "4e-4/MPa", units: map[string]unit{
		"/Pa": times(1), "1/Pa": times(1), "/MPa": times(1e-6), "1/MPa": times(1e-6), "/GPa": times(1e-9),
		"1/GPa": times(1e-9), "/bar": times(1e-5), "1/bar": times(1e-5)}}

	flowViscosityKind = kind{what: "a viscosity, kinematic or dynamic", example: "35cSt", units: nuKind.units, or: &muKind}
	pointKind         = kind{what: "temperature=viscosity", example: "50C=380cSt", repeats: true, a: &tempKind, b: &nuKind}
	readingKind       = kind{what: "time=speed", example: "0s=900rpm", repeats: true, a: &timeKind, b: &speedKind}
	tableKind         = kind{what: "a table", example: "54B", words: []string{"54B", "54D"}}
	rateKind          = kind{what: "a rate", example: "D", words: []string{"A", "AA", "B", "C", "CC", "D", "E", "EE", "F",
		"G"}}
	dragKind = kind{what: "a law of drag", example: "linear",
		words: []string{"constant", "linear", "quadratic", "longest"}}
)

// figure is a number at the start of a value; the rest is its unit.
var figure = regexp.MustCompile(`^[+-]?([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?`)

// number reads a figure with its unit into SI. A bare number is refused where the kind has units, except 0 where zero
// is the same in all of them.
func (k kind) number(text string) (float64, error) {
	text = strings.TrimSpace(text)
	digits := figure.FindString(text)
	if digits == "" {
		return 0, fmt.Errorf("%q is not %s, such as %s", text, k.what, k.example)
	}
	x, err := strconv.ParseFloat(digits, 64)
	if err != nil {
		return 0, fmt.Errorf("%s is too large a number", digits)
	}
	name := strings.NewReplacer("μ", "µ", "Ω", "Ω").Replace(strings.TrimSpace(text[len(digits):]))
	switch {
	case k.units == nil && name == "":
		return x, nil
	case k.units == nil:
		return 0, fmt.Errorf("%q has a unit, but this is %s, such as %s", text, k.what, k.example)
	case name == "" && x == 0 && k.zeroIsZero():
		return 0, nil
	case name == "":
		return 0, fmt.Errorf("%s has no unit; %s is wanted, such as %s (%s)", text, k.what, k.example, k.understood())
	}
	u, ok := k.units[name]
	if !ok {
		return 0, fmt.Errorf("%q is no unit of %s; understood are %s", name, k.what, k.understood())
	}
	return (x+u.before)*u.factor + u.after, nil
}

// zeroIsZero says whether nought is the same in every unit of the kind.
func (k kind) zeroIsZero() bool {
	for _, u := range k.units {
		if u.before != 0 || u.after != 0 {
			return false
		}
	}
	return true
}

// word reads one of the kind's words, either case.
func (k kind) word(text string) (string, error) {
	for _, w := range k.words {
		if strings.EqualFold(w, strings.TrimSpace(text)) {
			return w, nil
		}
	}
	return "", fmt.Errorf("%q is not one of %s", text, strings.Join(k.words, ", "))
}

// pair reads a=b.
func (k kind) pair(text string) ([2]float64, error) {
	left, right, ok := strings.Cut(text, "=")
	if !ok {
		return [2]float64{}, fmt.Errorf("%q is not %s, such as %s", text, k.what, k.example)
	}
	a, err := k.a.number(left)
	if err != nil {
		return [2]float64{}, err
	}
	b, err := k.b.number(right)
	return [2]float64{a, b}, err
}

// understood lists the units or words of a kind, for people.
func (k kind) understood() string {
	switch {
	case k.words != nil:
		return strings.Join(k.words, ", ")
	case k.repeats:
		return k.what
	case k.units == nil:
		return "no unit"
	}
	var names []string
	for n := range k.units {
		names = append(names, n)
	}
	slices.Sort(names)
	return strings.Join(names, ", ")
}
