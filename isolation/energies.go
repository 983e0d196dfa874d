package isolation

import (
	"sort"
	"strings"
)

// Energy names what a source would bring to the work, for instance "electrical", "fuel" or "steam".
// The words that a plant file may use are in Energies.
type Energy string

// Nature is how an energy gets from its source to the work.
type Nature uint8

// The natures. Liquids can be drained, and are; gases are vented; neither is true of the others.
const (
	Current Nature = 1 + iota // through cables
	Motion                    // through shafts and gears
	Liquid
	Gas // vapours too: steam is let out before it has become water
)

// energies are the words a plant file may use, with their nature and, where there is one, the general word that a
// rule may use for all of its kind.
var energies = map[Energy]struct {
	nature Nature
	under  Energy
}{
	"electrical": {nature: Current},
	"mechanical": {nature: Motion},

	"fuel": {Liquid, "oil"}, "lube": {Liquid, "oil"}, "hydraulic": {Liquid, "oil"}, "thermal-oil": {Liquid, "oil"},
	"sludge": {nature: Liquid}, "bilge": {nature: Liquid}, "sewage": {nature: Liquid}, "chemical": {nature: Liquid},
	"cargo": {nature: Liquid}, "foam": {nature: Liquid}, "urea": {nature: Liquid},

	"water": {nature: Liquid}, "sea-water": {Liquid, "water"}, "fresh-water": {Liquid, "water"},
	"cooling-water": {Liquid, "water"}, "hot-water": {Liquid, "water"}, "feed-water": {Liquid, "water"},
	"operating-water": {Liquid, "water"}, "displacement-water": {Liquid, "water"}, "ballast-water": {Liquid, "water"},
	"fire-water": {Liquid, "water"}, "condensate": {Liquid, "water"},

	"steam": {nature: Gas},
	"air":   {nature: Gas}, "control-air": {Gas, "air"}, "start-air": {Gas, "air"}, "working-air": {Gas, "air"},
	"charge-air": {Gas, "air"},
	"gas":        {nature: Gas}, "exhaust-gas": {Gas, "gas"}, "inert-gas": {Gas, "gas"}, "fuel-gas": {Gas, "gas"},
	"nitrogen": {Gas, "gas"}, "carbon-dioxide": {Gas, "gas"}, "oxygen": {Gas, "gas"}, "acetylene": {Gas, "gas"},
	"refrigerant": {nature: Gas},
}

// energyAliases are other plain words for the same things. "oil" is taken for fuel, which the rules never treat more
// mildly; Notes says so.
var energyAliases = map[string]Energy{
	"electric": "electrical", "electricity": "electrical", "power": "electrical", "electric-power": "electrical",
	"oil": "fuel", "fuel-oil": "fuel", "heavy-fuel-oil": "fuel", "residual-fuel": "fuel", "diesel": "fuel",
	"diesel-oil": "fuel", "gas-oil": "fuel",
	"lube-oil": "lube", "lubricating-oil": "lube", "lubrication": "lube",
	"hydraulics": "hydraulic", "hydraulic-oil": "hydraulic", "heat-transfer-oil": "thermal-oil",
	"seawater": "sea-water", "freshwater": "fresh-water", "hot-fresh-water": "hot-water", "boiler-water": "feed-water",
	"feedwater": "feed-water",
	"ballast":   "ballast-water", "bilge-water": "bilge", "sludge-oil": "sludge",
	"compressed-air": "air", "starting-air": "start-air", "instrument-air": "control-air", "service-air": "working-air",
	"scavenge-air": "charge-air",
	"exhaust":      "exhaust-gas", "co2": "carbon-dioxide", "n2": "nitrogen", "lpg": "fuel-gas", "lng": "fuel-gas",
	"mechanic": "mechanical", "motion": "mechanical", "rotation": "mechanical", "vapour": "steam",
}

// Energies returns the words that a plant file may use for what a source brings, in alphabetical order.
func Energies() []Energy {
	out := make([]Energy, 0, len(energies))
	for e := range energies {
		out = append(out, e)
	}
	sort.Slice(out, func(i, j int) bool { return out[i] < out[j] })
	return out
}

// ParseEnergy returns the energy that a word of a file means: capitals don't matter, spaces and underscores count as
// hyphens, and plain other names ("electricity", "fuel oil") are known. ok is false for any other word.
func ParseEnergy(s string) (e Energy, ok bool) {
	w := Hyphened(s)
	if a, is := energyAliases[w]; is {
		return a, true
	}
	_, ok = energies[Energy(w)]
	return Energy(w), ok
}

// Nature says how the energy moves; 0 for a word that is not in Energies.
func (e Energy) Nature() Nature { return energies[e].nature }

// Flows reports whether the energy comes through pipes.
func (e Energy) Flows() bool { return e.Nature() == Liquid || e.Nature() == Gas }

// IsUnder reports whether a rule about the energy general covers e: the same word, or the word for all of its kind
// ("water" covers sea water, "air" covers control air, "oil" covers fuel, lube, hydraulic and thermal oil).
func (e Energy) IsUnder(general Energy) bool { return e == general || energies[e].under == general }

// EnergyWords returns every word that ParseEnergy knows, sorted, for offers in errors.
func EnergyWords() []string {
	var out []string
	for e := range energies {
		out = append(out, string(e))
	}
	for a := range energyAliases {
		out = append(out, a)
	}
	sort.Strings(out)
	return out
}

// Hyphened returns a word of a file in the form that the lists of words have: lower case, with hyphens.
func Hyphened(s string) string {
	return strings.Join(strings.FieldsFunc(strings.ToLower(s),
		func(c rune) bool { return c == ' ' || c == '_' || c == '-' }), "-")
}
