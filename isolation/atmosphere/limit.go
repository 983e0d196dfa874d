package atmosphere

import (
	"fmt"
	"math"
	"slices"
	"strconv"
)

// The gases that every set of rules asks for, and the one that the newer set adds.
const (
	Oxygen    = "O2"
	Flammable = "LEL"
	Hydrogen  = "H2S" // hydrogen sulphide
	Monoxide  = "CO"
	Dioxide   = "CO2"
)

// Limit is what one gas may read.
type Limit struct {
	Gas    string  `json:"gas"`  // as the meter shows it
	Name   string  `json:"name"` // in words
	Unit   string  `json:"unit"`
	Least  float64 `json:"least,omitempty"`
	Most   float64 `json:"most"`
	Below  bool    `json:"below,omitempty"` // the reading must be less than Most, not equal to it
	Scale  float64 `json:"scale"`           // the highest figure that a meter can show
	Source string  `json:"source"`
}

// Set is a named set of rules for the air in a space.
type Set struct {
	ID     string
	Source string
	Limits []Limit
}

// Where the figures come from. 29 CFR 1915.12 calls air with 22 % of oxygen or more enriched.
const (
	oldSource  = "IMO A.1050(27), 7.2, read"
	newSource  = "IMO MSC.581(110), second hand"
	enriched   = "; under 22 %: 29 CFR 1915.12, from memory"
	h2sLimit   = 5.0  // ppm, Directive 2009/161/EU, 8 hours, from memory
	coLimit    = 20.0 // ppm, Directive (EU) 2017/164, 8 hours, from memory
	h2sSource  = "; exposure limit 5 ppm: Directive 2009/161/EU, from memory"
	coSource   = "; exposure limit 20 ppm: Directive (EU) 2017/164, from memory"
	halfToxic  = 0.5 // of the exposure limit, both sets
	leastO2    = 20.9
	freshWords = "; a meter shows fresh air, 20.95 %, as 20.9"
)

// Sets returns the sets of rules, the newer and stricter first. The older writes 21 % of oxygen; read as 21.0 it would
// refuse fresh air, of which a meter shows 20.9.
func Sets() []Set {
	return []Set{
		{ID: "MSC.581(110)", Source: newSource, Limits: append(limits(newSource, "", true),
			Limit{Gas: Dioxide, Name: "Carbon dioxide", Unit: "%", Most: 0.5, Below: true, Scale: 100, Source: newSource})},
		{ID: "A.1050(27)", Source: oldSource, Limits: limits(oldSource, freshWords, false)},
	}
}

// SetOf returns the set with an id.
func SetOf(id string) (Set, bool) {
	for _, s := range Sets() {
		if s.ID == id {
			return s, true
		}
	}
	return Set{}, false
}

func limits(source, oxygen string, below bool) []Limit {
	return []Limit{
		{Gas: Oxygen, Name: "Oxygen", Unit: "%", Least: leastO2, Most: 22, Below: true, Scale: 100,
			Source: source + oxygen + enriched},
		{Gas: Flammable, Name: "Flammable gas", Unit: "% LEL", Most: 1, Below: below, Scale: 100, Source: source},
		{Gas: Hydrogen, Name: "Hydrogen sulphide", Unit: "ppm", Most: halfToxic * h2sLimit, Below: below, Scale: 10000,
			Source: source + h2sSource},
		{Gas: Monoxide, Name: "Carbon monoxide", Unit: "ppm", Most: halfToxic * coLimit, Below: below, Scale: 10000,
			Source: source + coSource},
	}
}

// Toxic returns the limit of a further gas from its exposure limit (ppm): half of it, as the set asks.
func (s Set) Toxic(gas string, exposurePPM float64, because string) Limit {
	below := slices.ContainsFunc(s.Limits, func(l Limit) bool { return l.Gas == Monoxide && l.Below })
	return Limit{Gas: gas, Name: gas, Unit: "ppm", Most: halfToxic * exposurePPM, Below: below, Scale: 1e6,
		Source: s.Source + "; exposure limit " + strconv.FormatFloat(exposurePPM, 'f', -1, 64) + " ppm: " + because}
}

// Within reports whether a reading is within the limit. It returns an error for a figure that no meter shows.
func (l Limit) Within(value float64) (bool, error) {
	if math.IsNaN(value) || value < 0 || value > l.Scale {
		return false, fmt.Errorf("%s must be from 0 to %g %s", l.Name, l.Scale, l.Unit)
	}
	if value < l.Least || value > l.Most || l.Below && value == l.Most {
		return false, nil
	}
	return true, nil
}

// Words says what the gas must read: "20.9 % or more and below 22 %".
func (l Limit) Words() string {
	most := fmt.Sprintf("%g %s or less", l.Most, l.Unit)
	if l.Below {
		most = fmt.Sprintf("below %g %s", l.Most, l.Unit)
	}
	if l.Least > 0 {
		return fmt.Sprintf("%g %s or more and %s", l.Least, l.Unit, most)
	}
	return most
}

// Covers reports whether this limit asks for as much as another of the same gas: nothing that it lets pass would the
// other refuse.
func (l Limit) Covers(other Limit) bool {
	return l.Gas == other.Gas && l.Least >= other.Least &&
		(l.Most < other.Most || l.Most == other.Most && (l.Below || !other.Below))
}
