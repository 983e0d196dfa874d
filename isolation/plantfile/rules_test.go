package plantfile

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"stillwatch/isolation"
)

// ruleFaults are rules files that ReadRules refuses; a text without "rules:" is one rule.
var ruleFaults = []struct{ name, text string }{
	{"empty", ""},
	{"no rules", "period_h: 12\n"},
	{"unknown set for the air", "rules: [{demand: single, because: x}]\natmosphere: A.1051(27)\n"},
	{"air tested less often than shipped", "rules: [{demand: single, because: x}]\nair_every_min: 90\n"},
	{"no break at all", "rules: [{demand: single, because: x}]\nair_break_min: 0\n"},
	{"an empty list", "rules: []\n"},
	{"rule without a demand", "{because: common practice}"},
	{"rule that does not say why", "{demand: single}"},
	{"unknown demand", "{demand: tripel, because: x}"},
	{"unknown energy", "{energy: [fule], demand: single, because: x}"},
	{"unknown exposure", "{exposure: [inside], demand: single, because: x}"},
	{"no energy at all", "{energy: [], demand: single, because: x}"},
	{"no exposure at all", "{exposure: [], demand: single, because: x}"},
	{"misspelt threshold", "{above_bars: 10, demand: double, because: x}"},
	{"threshold in words", "{above_bar: ten, demand: double, because: x}"},
	{"threshold below a cable", "{energy: electrical, above_bar: 10, demand: double, because: x}"},
	{"volts of steam", "{energy: steam, above_volt: 1000, demand: double, because: x}"},
	{"volts and bars at once", "{above_volt: 1000, above_bar: 10, demand: double, because: x}"},
	{"a threshold below nothing", "{above_bore_mm: -1, demand: double, because: x}"},
	{"never reached", "rules:\n  - {demand: single, because: x}\n  - {energy: steam, demand: double, because: x}\n"},
	{"order names the unknown", "rules: [{demand: single, because: x}]\norder: [[sludge], [oyl]]\n"},
	{"order names one twice", "rules: [{demand: single, because: x}]\norder: [[sludge], [fuel, sludge]]\n"},
	{"period of a month", "rules: [{demand: single, because: x}]\nperiod_h: 720\n"},
	{"countersign for the unknown", "rules: [{demand: single, because: x}]\ncountersign: [entry]\n"},
	{"unknown top-level key", "rules: [{demand: single, because: x}]\nperiod: 24\n"},
}

func TestRulesRefusalsNameLineColumnAndWords(t *testing.T) {
	var all strings.Builder
	for _, tc := range ruleFaults {
		text := tc.text
		if text != "" && text[0] == '{' {
			text = "rules:\n  - " + text + "\n"
		}
		r, err := ReadRules("rules.yaml", []byte(text))
		if err == nil || r != nil {
			t.Errorf("%s: ReadRules = rules %v, error %v; want nil and an error", tc.name, r != nil, err)
			continue
		}
		checkPositions(t, tc.name, text, err)
		fmt.Fprintf(&all, "== %s\n%v\n\n", tc.name, err)
	}
	golden(t, "testdata/rules-refusals.golden", all.String())
}

func TestEveryKeyOfARulesFileReachesTheRules(t *testing.T) {
	r, err := ReadRules("rules.yaml", []byte(`rules:
  - {energy: [fuel, Lube Oil], exposure: [enter, hot-work], above_bar: 10, above_c: 60, above_bore_mm: 25, demand: Double, because: a}
  - {energy: electricity, above_volt: 1000, demand: double, because: b}
  - {demand: single, because: c}
order: [sludge, [operating-water, displacement-water], oil]
period_h: 12
countersign: enter
`))
	if err != nil {
		t.Fatal(err)
	}
	f := func(x float64) *float64 { return &x }
	want := []isolation.DemandRule{
		{
			Energy:      []isolation.Energy{"fuel", "lube"},
			Exposure:    []isolation.Exposure{isolation.Enter, isolation.HotWork},
			AboveBar:    f(10),
			AboveC:      f(60),
			AboveBoreMM: f(25),
			Demand:      "double",
			Because:     "a",
			Line:        2,
			Column:      6,
		},
		{Energy: []isolation.Energy{"electrical"}, AboveVolt: f(1000), Demand: "double", Because: "b", Line: 3, Column: 6},
		{Demand: "single", Because: "c", Line: 4, Column: 6},
	}
	if d := cmp.Diff(want, r.Demands); d != "" {
		t.Errorf("Demands (-want +got):\n%s", d)
	}
	if d := cmp.Diff([][]isolation.Energy{{"sludge"}, {"operating-water", "displacement-water"}, {"oil"}},
		r.Order); d != "" {
		t.Errorf("Order (-want +got):\n%s", d)
	}
	if r.MaxPeriodH != 12 || len(r.Countersign) != 1 || r.Countersign[0] != isolation.Enter || len(r.SHA256) != 64 {
		t.Errorf("period %v, countersign %v, hash %q, want 12, [enter], 64 digits", r.MaxPeriodH, r.Countersign, r.SHA256)
	}
	for e, want := range map[isolation.Energy]int{"sludge": 0, "displacement-water": 1, "fuel": 2, "hydraulic": 2,
		"steam": 3} {
		if got := r.Group(e); got != want {
			t.Errorf("Group(%s) = %d, want %d", e, got, want)
		}
	}
}

func TestAPeriodNotStatedIsADay(t *testing.T) {
	r, err := ReadRules("rules.yaml", []byte("rules: [{demand: single, because: x}]\n"))
	if err != nil || r.MaxPeriodH != 24 {
		t.Errorf("ReadRules = %v, period %v, want 24 h", err, r.MaxPeriodH)
	}
}

func TestAnExactWordComesBeforeTheGeneralOne(t *testing.T) {
	r, err := ReadRules("rules.yaml", []byte("rules: [{demand: single, because: x}]\norder: [water, sea-water]\n"))
	if err != nil {
		t.Fatal(err)
	}
	if got, general := r.Group("sea-water"), r.Group("fresh-water"); got != 1 || general != 0 {
		t.Errorf("Group(sea-water), Group(fresh-water) = %d, %d, want 1, 0", got, general)
	}
}

func TestShippedRulesAreReadable(t *testing.T) {
	r, err := ReadRules("rules/shipped.yaml", shippedText)
	if err != nil {
		t.Fatal(err)
	}
	if ShippedRules().SHA256 != r.SHA256 {
		t.Errorf("ShippedRules().SHA256 = %s, want %s", ShippedRules().SHA256, r.SHA256)
	}
}

func TestEveryShippedRuleCitesWhereItComesFrom(t *testing.T) {
	for _, d := range ShippedRules().Demands {
		cited := false
		for _, mark := range []string{"read", "second hand", "from memory", "no source", "(physics)"} {
			cited = cited || strings.Contains(d.Because, mark)
		}
		if !cited || len(d.Because) < 40 {
			t.Errorf("the rule in line %d says %q, want how well its source is known", d.Line, d.Because)
		}
	}
}

func TestRulesErrorUnwrapsToItsPlace(t *testing.T) {
	_, err := ReadRules("rules.yaml", []byte("rules:\n  - {demand: half, because: x}\n"))
	var e *FileError
	if !errors.As(err, &e) || e.Line != 2 || e.Column != 14 || e.File != "rules.yaml" {
		t.Errorf("errors.As(%v) = %+v, want a fault at rules.yaml:2:14", err, e)
	}
}
