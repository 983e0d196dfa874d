package plantfile

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stillwatch/isolation"
)

// TestShippedDemands holds the shipped rules against the cases that the trade's texts speak of, and against what a
// separator's job wants at its working pressures.
func TestShippedDemands(t *testing.T) {
	source := func(e isolation.Energy, bar, c, volt float64) *isolation.Node {
		return &isolation.Node{
			ID:       "s",
			Kind:     isolation.Source,
			Energy:   e,
			GaugeBar: bar,
			TempC:    c,
			HasTemp:  c != 0,
			Volt:     volt,
		}
	}
	for _, tc := range []struct {
		name string
		src  *isolation.Node
		job  isolation.Exposure
		want string
	}{
		{"motor of 440 V", source("electrical", 0, 0, 440), isolation.OpenUp, isolation.DemandSingle},
		{"motor of 440 V, somebody inside", source("electrical", 0, 0, 440), isolation.Enter, isolation.DemandSingle},
		{"exactly 1000 V is not above it", source("electrical", 0, 0, 1000), isolation.OpenUp, isolation.DemandSingle},
		{"thruster of 6600 V", source("electrical", 0, 0, 6600), isolation.OpenUp, isolation.DemandDouble},
		{"turning gear", source("mechanical", 0, 0, 0), isolation.Enter, isolation.DemandSingle},
		{"heated fuel to a separator", source("fuel", 2.5, 98, 0), isolation.OpenUp, isolation.DemandSingle},
		{"lubricating oil to a separator", source("lube", 2, 90, 0), isolation.OpenUp, isolation.DemandSingle},
		{"operating water", source("operating-water", 6, 20, 0), isolation.OpenUp, isolation.DemandSingle},
		{"control air", source("control-air", 7, 20, 0), isolation.OpenUp, isolation.DemandSingle},
		{"sludge", source("sludge", 0.5, 60, 0), isolation.OpenUp, isolation.DemandSingle},
		{"sea water to a cooler", source("sea-water", 3, 28, 0), isolation.OpenUp, isolation.DemandSingle},
		{"heating steam", source("steam", 7, 170, 0), isolation.OpenUp, isolation.DemandDouble},
		{"hot condensate", source("condensate", 3, 130, 0), isolation.OpenUp, isolation.DemandDouble},
		{"cool condensate", source("condensate", 0, 85, 0), isolation.OpenUp, isolation.DemandSingle},
		{"booster fuel at 140 °C", source("fuel", 8, 140, 0), isolation.OpenUp, isolation.DemandDouble},
		{"starting air", source("start-air", 30, 30, 0), isolation.OpenUp, isolation.DemandDouble},
		{"exactly 10 bar is not above it", source("hydraulic", 10, 40, 0), isolation.OpenUp, isolation.DemandSingle},
		{"hydraulic oil at 200 bar", source("hydraulic", 200, 40, 0), isolation.OpenUp, isolation.DemandDouble},
		{"refrigerant", source("refrigerant", 4, 20, 0), isolation.OpenUp, isolation.DemandDouble},
		{"sewage, which gives off poisonous gas", source("sewage", 0, 20, 0), isolation.OpenUp, isolation.DemandDouble},
		{"carbon dioxide", source("carbon-dioxide", 0, 20, 0), isolation.OpenUp, isolation.DemandDouble},
		{"entry with sea water beyond", source("sea-water", 3, 28, 0), isolation.Enter, isolation.DemandBlank},
		{"entry with starting air beyond", source("start-air", 30, 30, 0), isolation.Enter, isolation.DemandBlank},
		{"hot work with fuel beyond", source("fuel", 2, 60, 0), isolation.HotWork, isolation.DemandBlank},
		{"hot work with lubricating oil beyond", source("lube", 2, 60, 0), isolation.HotWork, isolation.DemandBlank},
		{"hot work with fuel gas beyond", source("fuel-gas", 2, 20, 0), isolation.HotWork, isolation.DemandBlank},
		{"hot work with sea water beyond", source("sea-water", 2, 20, 0), isolation.HotWork, isolation.DemandSingle},
		{"nothing opened, steam beyond", source("steam", 7, 170, 0), isolation.Outside, isolation.DemandSingle},
	} {
		got, err := ShippedRules().Demand(tc.src, tc.job, 50)
		if err != nil || got.Demand != tc.want {
			t.Errorf("%s: Demand(%s, %s) = %q (line %d), %v, want %q", tc.name, tc.src.Energy, tc.job, got.Demand, got.Line, err,
				tc.want)
		}
	}
}

func TestEverySourceHasAShippedDemand(t *testing.T) {
	rank := map[string]int{isolation.DemandSingle: 1, isolation.DemandDouble: 2, isolation.DemandBlank: 3}
	rapid.Check(t, func(t *rapid.T) {
		src := &isolation.Node{
			ID:      "s",
			Kind:    isolation.Source,
			Energy:  rapid.SampledFrom(isolation.Energies()).Draw(t, "energy"),
			HasTemp: true,
		}
		src.GaugeBar = rapid.Float64Range(-1, 300).Draw(t, "bar")
		src.TempC = rapid.Float64Range(-50, 500).Draw(t, "temp")
		src.Volt = rapid.Float64Range(0, 11000).Draw(t, "volt")
		job := rapid.SampledFrom([]isolation.Exposure{isolation.OpenUp, isolation.HotWork, isolation.Enter}).
			Draw(t, "exposure")
		d, err := ShippedRules().Demand(src, job, 50)
		if err != nil || rank[d.Demand] == 0 {
			t.Fatalf("Demand = %q, %v, want one of the three", d.Demand, err)
		}
		more := *src // more pressure and heat never ask for less
		more.GaugeBar += rapid.Float64Range(0, 100).Draw(t, "more bar")
		more.TempC += rapid.Float64Range(0, 100).Draw(t, "more heat")
		m, err := ShippedRules().Demand(&more, job, 50)
		if err != nil || rank[m.Demand] < rank[d.Demand] {
			t.Fatalf("Demand with more = %q, %v, want at least %q", m.Demand, err, d.Demand)
		}
	})
}

func TestTheFirstRuleThatMatchesHolds(t *testing.T) {
	r, err := ReadRules("rules.yaml", []byte(`rules:
  - {energy: fuel, above_bar: 10, above_bore_mm: 25, demand: blank, because: wide}
  - {energy: fuel, above_bar: 10, demand: double, because: narrow}
  - {energy: [water, air], demand: single, because: general}
`))
	if err != nil {
		t.Fatal(err)
	}
	fuel := &isolation.Node{ID: "tank", Name: "Tank", Kind: isolation.Source, Energy: "fuel", GaugeBar: 12}
	for bore, want := range map[float64]string{0: "narrow", 25: "narrow", 25.1: "wide"} {
		if got, err := r.Demand(fuel, isolation.OpenUp, bore); err != nil || got.Because != want {
			t.Errorf("Demand(bore %v) = %q, %v, want %q", bore, got.Because, err, want)
		}
	}
	if got, err := r.Demand(&isolation.Node{ID: "sw", Kind: isolation.Source, Energy: "sea-water"}, isolation.Enter,
		0); err != nil ||
		got.Because != "general" {
		t.Errorf("Demand(sea water) = %q, %v, want the rule about water", got.Because, err)
	}
	fuel.GaugeBar = 10
	_, err = r.Demand(fuel, isolation.OpenUp, 50)
	if err == nil || !strings.Contains(err.Error(), "Tank (tank)") || !strings.Contains(err.Error(), "fuel") {
		t.Errorf("Demand(no rule) = %v, want an error that names the source and its energy", err)
	}
}

func TestOnlyASourceHasADemand(t *testing.T) {
	if _, err := ShippedRules().Demand(nil, isolation.OpenUp, 0); err == nil {
		t.Error("Demand(nil) = no error, want one")
	}
	if _, err := ShippedRules().Demand(&isolation.Node{ID: "V1", Kind: isolation.Valve}, isolation.OpenUp, 0); err == nil {
		t.Error("Demand(valve) = no error, want one")
	}
}

func TestATemperatureNotStatedIsNotAboveAnything(t *testing.T) {
	r, err := ReadRules("rules.yaml", []byte("rules:\n  - {above_c: -20, demand: double, because: x}\n  - {demand: "+
		"single, because: y}\n"))
	if err != nil {
		t.Fatal(err)
	}
	n := &isolation.Node{ID: "s", Kind: isolation.Source, Energy: "water"}
	if d, _ := r.Demand(n, isolation.OpenUp, 0); d.Demand != isolation.DemandSingle {
		t.Errorf("Demand(temperature not stated) = %q, want single", d.Demand)
	}
	n.HasTemp = true
	if d, _ := r.Demand(n, isolation.OpenUp, 0); d.Demand != isolation.DemandDouble {
		t.Errorf("Demand(0 °C) = %q, want double: 0 is above -20", d.Demand)
	}
	n.TempC = math.Inf(-1)
	if d, _ := r.Demand(n, isolation.OpenUp, 0); d.Demand != isolation.DemandSingle {
		t.Errorf("Demand(-inf) = %q, want single", d.Demand)
	}
}
