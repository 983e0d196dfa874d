package drain

import (
	"errors"
	"math"
	"strings"
	"testing"
)

func TestBadSectionsAreRefusedWithTheFieldAndTheReason(t *testing.T) {
	cases := []struct {
		name  string
		spoil func(*Section)
		want  string
	}{
		{"negative bore", func(s *Section) { s.Links[0].BoreM = -0.05 }, "link drain line bore: -0.05 m is outside"},
		{"absurd bore", func(s *Section) { s.Links[0].BoreM = 50 }, "link drain line bore: 50 m is outside"},
		{"negative length", func(s *Section) { s.Links[1].LengthM = -1 }, "link rising line length: -1 m"},
		{"length under the height", func(s *Section) { s.Links[1].LengthM = 1 },
			"link rising line length: 1 m is shorter than the 1.5 m"},
		{"dangling node", func(s *Section) { s.Links[0].B = "nowhere" }, `names node "nowhere"`},
		{"node twice", func(s *Section) { s.Nodes[1].Name = "drain" }, `node 2: the name "drain" is empty or used twice`},
		{"no number", func(s *Section) { s.Links[0].InvertAM = math.NaN() },
			"link drain line invert at drain: is not a number"},
		{"vessel without volume", func(s *Section) { s.Vessels[0].VolumeM3 = 0 }, "vessel heater volume: is missing"},
		{"drain too high", func(s *Section) { s.Openings[0].LevelM = 9 },
			"drain D1 level: 9 m is above all it should drain, which ends at 3 m"},
		{"below the pour point", func(s *Section) { s.TempC = 20 }, "below its pour point of 30 °C"},
		{"no fluid", func(s *Section) { s.Fluid = Fluid{} }, "fluid: is not given"},
		{"too hot", func(s *Section) { s.TempC = 200 }, "above 150 °C"},
		{"empty", func(s *Section) { *s = Section{Name: "x"} }, "section x: has no nodes"},
		{"vent twice", func(s *Section) { s.Openings[1].Name = "D1" }, "opening D1: the name is used twice"},
		{"negative loss", func(s *Section) { s.Openings[0].LossK = -1 }, "drain D1 loss: -1 is outside"},
		{"tilt beyond capsizing", func(s *Section) { s.Tilt.ListDeg = 90 }, "list: 90 degrees is outside"},
	}
	for _, tc := range cases {
		s := riser(t)
		tc.spoil(&s)
		o, err := Predict(s)
		var field *FieldError
		if !errors.As(err, &field) || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: Predict = %+v, %v, want an error with %q", tc.name, o, err, tc.want)
		}
	}
}

func TestBadFluidsAreRefused(t *testing.T) {
	cases := []struct {
		spec FluidSpec
		want string
	}{
		{FluidSpec{Name: "x", Family: "soup"}, `fluid x family: "soup" is not one of`},
		{FluidSpec{Family: ResidualFuel, Density15: 500}, "density at 15 °C: 500 kg/m³ is outside"},
		{FluidSpec{Family: ResidualFuel, Viscosity: []ViscosityPoint{{50, 380}}}, "needs two points"},
		{FluidSpec{Family: ResidualFuel, Viscosity: []ViscosityPoint{{50, 380}, {50, 390}}}, "at least 1 K apart"},
		{FluidSpec{Family: ResidualFuel, Viscosity: []ViscosityPoint{{50, 35}, {100, 380}}}, "no oil does that"},
		{FluidSpec{Family: ResidualFuel, Viscosity: []ViscosityPoint{{50, -1}, {100, 35}}}, "viscosity: -1 cSt is outside"},
		{FluidSpec{Family: Water, TensionNM: 5}, "surface tension"},
	}
	for _, tc := range cases {
		if f, err := NewFluid(tc.spec); err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("NewFluid(%+v) = %+v, %v, want an error with %q", tc.spec, f, err, tc.want)
		}
	}
	if _, err := ParseFluid("tar"); err == nil || !strings.Contains(err.Error(), "rmg 380") {
		t.Errorf("ParseFluid(tar) = %v, want an error that lists the fluids known", err)
	}
}

func TestEveryNamedFluidFlowsSomewhere(t *testing.T) {
	for _, name := range append(Named(), "residual fuel", "Lube  SAE 40") {
		f := fluidOf(t, name)
		cold, err := f.ViscosityAt(f.PourC() + 15)
		if err != nil {
			t.Errorf("%s ViscosityAt = %v", name, err)
		}
		hot, err := f.ViscosityAt(95)
		if err != nil || hot >= cold || hot <= 0 {
			t.Errorf("%s at 95 °C = %v, %v, want thinner than %v", name, hot, err, cold)
		}
	}
}

func TestAirGetsInFromAVentAndNowhereElse(t *testing.T) {
	cases := []struct {
		name  string
		spoil func(*Section)
		want  Breath
	}{
		{"vent open", func(*Section) {}, Breathes},
		{"vent shut, wide drain", func(s *Section) { s.Openings[1].Open, s.Openings[0].BoreM = false, 0.06 }, Gulps},
		{"vent shut, narrow drain", func(s *Section) { s.Openings[1].Open, s.Openings[0].BoreM = false, 0.012 }, Holds},
		{"vent like a needle", func(s *Section) { s.Openings[1].BoreM = 0.002 }, Gulps},
		{"vent at the foot", func(s *Section) { s.Openings[1].Node, s.Openings[1].LevelM = "drain", 0.2 }, Gulps},
	}
	for _, tc := range cases {
		s := riser(t)
		s.Openings[0].BoreM = 0.06
		tc.spoil(&s)
		o := outlookOf(t, s)
		for _, p := range o.Pieces {
			if p.Name == "heater" && p.Air != tc.want {
				t.Errorf("%s: air at the heater = %v, want %v", tc.name, p.Air, tc.want)
			}
		}
		if o.Vented != (tc.want == Breathes) || o.Provable != o.Vented {
			t.Errorf("%s: vented %v, provable %v, want %v", tc.name, o.Vented, o.Provable, tc.want == Breathes)
		}
	}
}
