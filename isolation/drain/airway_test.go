package drain

import "testing"

// deadLeg is a drained and vented line with a dead end of some bore that rises by some metres.
func deadLeg(t *testing.T, rule AirRule, boreM, riseM float64) Section {
	return Section{Name: "leg", Fluid: fluidOf(t, "water"), TempC: 20, Air: rule,
		Nodes: []Node{{Name: "foot", LevelM: 0}, {Name: "end", LevelM: riseM}, {Name: "top", LevelM: 1.2}},
		Links: []Link{{A: "foot", B: "end", BoreM: boreM, LengthM: 1, InvertBM: riseM},
			{A: "foot", B: "top", BoreM: 0.05, LengthM: 1.3, InvertBM: 1.2}},
		Openings: []Opening{{Name: "D", Node: "foot", Open: true, BoreM: 0.02},
			{Name: "A", Node: "top", Role: VentOpening, Open: true, BoreM: 0.015, LevelM: 1.3}}}
}

// Water's capillary length is 2.7 mm (√(σ/ρg) with 0.0728 N/m, IAPWS R1-76, from memory), so 7.7 of them are 21 mm; a
// surface that is not clean has less.
func TestDeadEndsLetTheirLiquidGoWhereThereIsRoomForAir(t *testing.T) {
	for _, tc := range []struct {
		rule       AirRule
		bore, rise float64
		want       Breath
		because    string
		standsUpTo float64 // the drain's mouth: liquid stays up to there
	}{
		{AnyLevel, 0.01, 0, Breathes, "the first plans knew no narrow ones", 0},
		{WideLevel, 0.01, 0, Holds, "a level one so narrow holds its liquid", 0},
		{WideRoom, 0.01, 0, Holds, "and does under every later rule", 0},
		{WideLevel, 0.05, 0, Breathes, "a wide level one empties", 0},
		{WideLevel, 0.05, 0.02, Gulps, "a rising one is left to chance", 0},
		{WideRoom, 0.05, 0.02, Breathes, "a wide one that rises by less than its bore empties", 0},
		{WideRoom, 0.015, 0.01, Holds, "a narrow one does not", 0},
		{WideRoom, 0.05, 0.06, Gulps, "one that rises by more is left to chance", 0},
		{WideRoom, 0.05, 0.02, Gulps, "no air comes to a mouth that stays under liquid", 0.03},
	} {
		s := deadLeg(t, tc.rule, tc.bore, tc.rise)
		s.Openings[0].LevelM = tc.standsUpTo
		o := outlookOf(t, s)
		if got := o.Pieces[0].Air; got != tc.want {
			t.Errorf("%s: bore %v m, rise %v m under rule %d: %v, want %v", tc.because, tc.bore, tc.rise, tc.rule, got, tc.want)
		}
		if o.Provable != (tc.want == Breathes) {
			t.Errorf("%s: provable %v: %s", tc.because, o.Provable, o.Why)
		}
	}
}

// A vent in the side of a vessel lets the part above it empty where the vessel is wide, and proves nothing in a narrow
// one.
func TestAWideVesselEmptiesThroughAVentInItsSide(t *testing.T) {
	for _, tc := range []struct {
		rule   AirRule
		litres float64
		want   bool
	}{
		{AnyLevel, 100, false},
		{WideLevel, 100, false},
		{WideRoom, 100, true},
		{WideRoom, 0.1, false}, // 11 mm across
	} {
		s := Section{Name: "vessel", Fluid: fluidOf(t, "water"), TempC: 20, Air: tc.rule,
			Nodes:   []Node{{Name: "foot"}, {Name: "side", LevelM: 0.9}},
			Links:   []Link{{A: "foot", B: "side", BoreM: 0.015, LengthM: 0.2, InvertAM: 0.9, InvertBM: 0.9}},
			Vessels: []Vessel{{Name: "vessel", Node: "foot", VolumeM3: tc.litres / 1000, HeightM: 1}},
			Openings: []Opening{{Name: "D", Node: "foot", Open: true, BoreM: 0.02},
				{Name: "A", Node: "side", Role: VentOpening, Open: true, BoreM: 0.015, LevelM: 1.1}}}
		if o := outlookOf(t, s); o.Provable != tc.want {
			t.Errorf("rule %d, %v L: provable %v, want %v: %s", tc.rule, tc.litres, o.Provable, tc.want, o.Why)
		}
	}
}
