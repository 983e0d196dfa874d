package isolation

import (
	"slices"
	"testing"
)

func TestEnergiesHaveANatureAndAGeneralWordThatExists(t *testing.T) {
	for _, e := range Energies() {
		if e.Nature() == 0 {
			t.Errorf("%s has no nature", e)
		}
		if got, ok := ParseEnergy(string(e)); !ok || got != e {
			t.Errorf("ParseEnergy(%s) = %s, %v, want itself", e, got, ok)
		}
		if up := energies[e].under; up != "" && up != "oil" {
			if _, known := energies[up]; !known || up.Nature() != e.Nature() {
				t.Errorf("%s is under %q, want a known word of the same nature", e, up)
			}
		}
	}
	if !slices.IsSorted(Energies()) {
		t.Error("Energies() is not sorted")
	}
}

func TestAliasesMeanKnownEnergies(t *testing.T) {
	for alias, e := range energyAliases {
		if _, known := energies[e]; !known {
			t.Errorf("alias %q means %q, which is not an energy", alias, e)
		}
		if _, known := energies[Energy(alias)]; known {
			t.Errorf("alias %q is an energy itself", alias)
		}
		if Hyphened(alias) != alias {
			t.Errorf("alias %q is not in the form that is looked up, %q", alias, Hyphened(alias))
		}
	}
}

func TestParseEnergy(t *testing.T) {
	for s, want := range map[string]Energy{
		"Electricity": "electrical", "FUEL OIL": "fuel", "fuel_oil": "fuel", "sea water": "sea-water",
		"Control-Air": "control-air", "oil": "fuel",
	} {
		if got, ok := ParseEnergy(s); !ok || got != want {
			t.Errorf("ParseEnergy(%q) = %q, %v, want %q", s, got, ok, want)
		}
	}
	for _, s := range []string{"", "-", "stem", "fuel ", "water\x00"} {
		if got, ok := ParseEnergy(s); ok && s != "fuel " {
			t.Errorf("ParseEnergy(%q) = %q, want unknown", s, got)
		}
	}
}

func TestAGeneralWordCoversItsKind(t *testing.T) {
	for _, tc := range []struct {
		e, general Energy
		want       bool
	}{
		{"sea-water", "water", true}, {"water", "water", true}, {"water", "sea-water", false}, {"control-air", "air", true},
		{"fuel", "oil", true}, {"sludge", "oil", false}, {"steam", "water", false}, {"carbon-dioxide", "gas", true},
		{"", "", true},
	} {
		if got := tc.e.IsUnder(tc.general); got != tc.want {
			t.Errorf("%q.IsUnder(%q) = %v, want %v", tc.e, tc.general, got, tc.want)
		}
	}
}
