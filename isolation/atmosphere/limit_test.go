package atmosphere_test

import (
	"fmt"
	"math"
	"testing"

	"stillwatch/isolation/atmosphere"
)

// TestReadingsAreJudgedAsTheResolutionsSay holds readings against the texts. A.1050(27) 7.2, read: oxygen 21 %, not
// more than 1 % of the lower flammable limit, not more than 50 % of the exposure limit of a toxic gas. MSC.581(110),
// second hand: oxygen at least 20.9 %, below 1 %, below 50 %, carbon dioxide below 0.5 %. Exposure limits of 5 ppm H2S
// and 20 ppm CO: Directives 2009/161/EU and (EU) 2017/164, from memory.
func TestReadingsAreJudgedAsTheResolutionsSay(t *testing.T) {
	for _, c := range []struct {
		gas      string
		value    float64
		old, new bool
	}{
		{"O2", 20.9, true, true}, {"O2", 20.8, false, false}, {"O2", 21, true, true}, {"O2", 19.5, false, false},
		{"O2", 22, false, false}, {"O2", 0, false, false},
		{"LEL", 0, true, true}, {"LEL", 0.9, true, true}, {"LEL", 1, true, false}, {"LEL", 1.1, false, false},
		{"H2S", 2.4, true, true}, {"H2S", 2.5, true, false}, {"H2S", 2.6, false, false},
		{"CO", 9, true, true}, {"CO", 10, true, false}, {"CO", 11, false, false},
	} {
		for id, want := range map[string]bool{"A.1050(27)": c.old, "MSC.581(110)": c.new} {
			got, err := limitOf(t, id, c.gas).Within(c.value)
			if err != nil || got != want {
				t.Errorf("%s: %s %g within = %t, %v; want %t", id, c.gas, c.value, got, err, want)
			}
		}
	}
	if ok, _ := limitOf(t, "MSC.581(110)", "CO2").Within(0.5); ok {
		t.Error("0.5 % of carbon dioxide is not below 0.5 %")
	}
	if ok, _ := limitOf(t, "MSC.581(110)", "CO2").Within(0.4); !ok {
		t.Error("0.4 % of carbon dioxide is below 0.5 %")
	}
}

func limitOf(t *testing.T, id, gas string) atmosphere.Limit {
	t.Helper()
	set, ok := atmosphere.SetOf(id)
	for _, l := range set.Limits {
		if l.Gas == gas {
			return l
		}
	}
	t.Fatalf("%s (known: %t) has no limit for %s", id, ok, gas)
	return atmosphere.Limit{}
}

func TestFiguresThatNoMeterShowsAreErrors(t *testing.T) {
	for _, v := range []float64{-0.1, 100.1, math.NaN(), math.Inf(1)} {
		if _, err := limitOf(t, "A.1050(27)", "O2").Within(v); err == nil {
			t.Errorf("%g %% of oxygen was judged", v)
		}
	}
}

func TestNewerSetCoversTheOlder(t *testing.T) {
	for _, l := range atmosphere.Sets()[1].Limits {
		newer := limitOf(t, "MSC.581(110)", l.Gas)
		if !newer.Covers(l) {
			t.Errorf("%s: %s does not cover %s", l.Gas, newer.Words(), l.Words())
		}
		if l.Gas != "O2" && l.Covers(newer) {
			t.Errorf("%s: %s covers %s, and lets its own figure pass", l.Gas, l.Words(), newer.Words())
		}
	}
}

func ExampleSet_Toxic() {
	set, _ := atmosphere.SetOf("MSC.581(110)")
	benzene := set.Toxic("benzene", 0.5, "the company's list")
	ok, _ := benzene.Within(0.3)
	fmt.Println(benzene.Words(), ok)
	// Output: below 0.25 ppm false
}
