package energy

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

var kinds = map[string]Stored{
	"rotation":    Rotation{SpeedRPM: 7200, CoastDownS: 1500},
	"heat":        Heat{SurfaceC: 98, AmbientC: 40, MetalKg: 300, OilKg: 20, AreaM2: 2, SizeM: 0.5},
	"charge":      Charge{VoltageV: 560, ResistanceOh: 1e4, CapacitanceF: 1e-3},
	"gas":         Gas{PressurePa: 8e5, VolumeM3: 0.5, BleedM: 0.005},
	"accumulator": Accumulator{PrechargePa: 9e6, PressurePa: 2e7, VolumeM3: 0.02},
	"trapped":     Trapped{ExpansionPerK: 7e-4, CompressPerPa: 7e-10, DiameterM: 0.1, WallM: 0.004, RiseK: 20},
	"spring":      Spring{StiffnessNM: 2e4, TravelM: 0.1},
	"load":        Load{MassKg: 200, HeightM: 2},
}

func TestEveryKindPredictsWithSourceAndSentence(t *testing.T) {
	for name, k := range kinds {
		w, err := k.Predict()
		if err != nil || w.Source == "" || w.Words == "" || w.Unit == "" || w.Kind == "" {
			t.Errorf("%s Predict() = %+v, %v, want figure, unit, source and words", name, w, err)
		}
		if w.WaitS == 0 && !w.Never {
			t.Errorf("%s WaitS = 0 and not Never, want a wait or that waiting does not help", name)
		}
	}
}

func TestOnlyAReadingWithinTheLimitPasses(t *testing.T) {
	cases := []struct {
		kind  string
		value float64
		still bool
		want  bool
	}{
		{"rotation", 0, true, true}, {"rotation", 0, false, false}, {"rotation", 1, true, false},
		{"heat", 48, false, true}, {"heat", 48.1, false, false},
		{"charge", 60, false, true}, {"charge", 60.1, false, false}, {"charge", -61, false, false},
		{"gas", 0, false, true}, {"gas", 5000, false, true}, {"gas", 5001, false, false}, {"gas", -20000, false, false},
		{"accumulator", 0, false, true}, {"accumulator", 1e6, false, false},
		{"trapped", 0, false, true}, {"trapped", 1e5, false, false}, {"trapped", -5e4, false, false},
		{"spring", 1, false, true}, {"spring", 0, false, false}, {"load", 1, false, true}, {"load", 0, false, false},
	}
	for _, tc := range cases {
		j, err := kinds[tc.kind].Judge(Reading{Value: tc.value, AtS: 10, Still: tc.still}, 20)
		if err != nil || j.Within != tc.want || !strings.HasSuffix(j.Words, ".") {
			t.Errorf("%s Judge(%v, still %v) = %+v, %v, want within %v", tc.kind, tc.value, tc.still, j, err, tc.want)
		}
	}
}

func TestReadingsFromTheFutureOrOffTheScaleAreRefused(t *testing.T) {
	for name, k := range kinds {
		for _, r := range []Reading{{Value: 0, AtS: 21}, {Value: 0, AtS: -1}, {Value: math.NaN(), AtS: 1},
			{Value: math.Inf(1), AtS: 1}} {
			if j, err := k.Judge(r, 20); err == nil || j.Within {
				t.Errorf("%s Judge(%+v) = %+v, %v, want a refusal", name, r, j, err)
			}
		}
	}
}

func TestTachometerReadingsMustRunDownInOrder(t *testing.T) {
	cases := []struct {
		name string
		list []Tacho
		want string
	}{
		{"out of order", []Tacho{{0, 900}, {10, 800}, {5, 700}}, "tachometer reading 3 time: 5 s is not after"},
		{"speeds up", []Tacho{{0, 900}, {10, 950}}, "tachometer reading 2: 950 rpm is not below"},
		{"negative", []Tacho{{0, -900}}, "tachometer reading 1: -900 rpm is outside"},
		{"no number", []Tacho{{math.NaN(), 900}}, "tachometer reading 1 time: is not a number"},
	}
	for _, tc := range cases {
		_, err := Rotation{SpeedRPM: 900, Readings: tc.list}.Predict()
		if err == nil || !strings.Contains(err.Error(), tc.want) {
			t.Errorf("%s: Predict() error = %v, want %q in it", tc.name, err, tc.want)
		}
	}
}

func TestTwoReadingsGiveALowerBoundAndSaySo(t *testing.T) {
	w, err := Rotation{SpeedRPM: 900, Readings: []Tacho{{0, 900}, {1, 895}}}.Predict()
	if err != nil || !w.AtLeast || math.Abs(w.WaitS-180) > 1e-9 || !strings.Contains(w.Words, "lower bound") {
		t.Errorf("Predict() = %+v, %v, want at least 180 s and the words lower bound", w, err)
	}
}

// runDown returns readings of a rotor that slows by a + bω + cω², worked by small
// steps: another way than the closed forms under test.
func runDown(a, b, c, w0 float64, at [3]float64) (r [3]Tacho, stopS float64) {
	w, t, next, h := w0, 0.0, 0, w0/(a+b*w0+c*w0*w0)/4e4
	slow := func(w float64) float64 { return a + b*w + c*w*w }
	for w > 0 {
		if next < 3 && t >= at[next]*w0/slow(w0) {
			r[next] = Tacho{t, w / radPerRPM}
			next++
		}
		k1 := slow(w)
		w -= h * slow(w-h/2*k1)
		t += h
	}
	return r, t
}

func TestFitsFindTheStopOfTheirOwnLaw(t *testing.T) {
	cases := []struct {
		drag    Drag
		a, b, c float64
	}{
		{LinearDrag, 2, 0.01, 0}, {LinearDrag, 0.5, 0.02, 0}, {QuadraticDrag, 0.5, 0, 1e-4}, {QuadraticDrag, 2, 0, 1e-5},
		{ConstantDrag, 1, 0, 0},
	}
	for _, tc := range cases {
		r, want := runDown(tc.a, tc.b, tc.c, 157.08, [3]float64{0, 0.3, 0.7})
		got, err := FitCoastDown(tc.drag, r)
		if err != nil || got.Never || math.Abs(got.StopS/want-1) > 1e-4 {
			t.Errorf("FitCoastDown(%s, %v) = %+v, %v, want stop at %v s", tc.drag, r, got, err, want)
		}
		if v := got.Speed(r[1].AtS) / radPerRPM; math.Abs(v-r[1].RPM) > 1e-6*r[1].RPM {
			t.Errorf("%s Speed at the second reading = %v rpm, want %v", tc.drag, v, r[1].RPM)
		}
	}
}

func TestTheLongestLawIsNeverShorterThanAnyRotorOfThem(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		a := rapid.Float64Range(0.1, 5).Draw(r, "a")
		b := rapid.Float64Range(0, 0.05).Draw(r, "b")
		c := 0.0
		if rapid.Bool().Draw(r, "windage") {
			b, c = 0, rapid.Float64Range(0, 1e-3).Draw(r, "c")
		}
		list, stop := runDown(a, b, c, 150, [3]float64{0, 0.2, 0.5})
		if list[2].RPM == 0 {
			r.Skip("it stopped before the third reading")
		}
		got, err := Longest(list)
		if err != nil {
			r.Fatal(err)
		}
		if !got.Never && got.StopS < stop*(1-1e-3) {
			r.Errorf("Longest(a %v, b %v, c %v) = %v s, want at least %v", a, b, c, got.StopS, stop)
		}
	})
}

func TestPureWindageNeverStops(t *testing.T) {
	// dω/dt = −cω²: 1/ω grows evenly
	r := [3]Tacho{{0, 1000}, {10, 500}, {20, 1000.0 / 3}}
	c, err := FitCoastDown(QuadraticDrag, r)
	if err != nil || !c.Never {
		t.Errorf("FitCoastDown(quadratic, pure windage) = %+v, %v, want never", c, err)
	}
	w, err := Rotation{SpeedRPM: 1000, Readings: r[:]}.Predict()
	if err != nil || !w.Never {
		t.Errorf("Predict() = %+v, %v, want never", w, err)
	}
}

func TestHotterBodiesWaitLonger(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		h := kinds["heat"].(Heat)
		h.SurfaceC = rapid.Float64Range(49, 300).Draw(r, "surface")
		h.AmbientC = rapid.Float64Range(0, 45).Draw(r, "air")
		a, err := h.Predict()
		if err != nil {
			r.Fatal(err)
		}
		h.SurfaceC += rapid.Float64Range(0, 50).Draw(r, "hotter")
		b, err := h.Predict()
		if err != nil || b.WaitS < a.WaitS || a.WaitS <= 0 {
			r.Errorf("hotter waits %v s, %v, want at least %v", b.WaitS, err, a.WaitS)
		}
	})
}

func TestNaturalCoolingWithAFixedCoefficientIsTheLump(t *testing.T) {
	h := Heat{SurfaceC: 98, AmbientC: 40, MetalKg: 300, AreaM2: 2, CoefficientWM2K: 10}
	w, err := h.Predict()
	if err != nil {
		t.Fatal(err)
	}
	want, err := Lump{TauS: 300 * 480 / 20.0, AmbientC: 40}.Time(98, 48)
	if err != nil || math.Abs(w.WaitS/want-1) > 1e-9 {
		t.Errorf("WaitS = %v, %v, want %v", w.WaitS, err, want)
	}
}

func TestBadInputsAreSentencesNotNumbers(t *testing.T) {
	bad := map[string]Stored{
		"speed: -1 rpm":                      Rotation{SpeedRPM: -1},
		"surface temperature: is not":        Heat{SurfaceC: math.NaN()},
		"voltage: -5 V":                      Charge{VoltageV: -5},
		"pressure: -3 Pa":                    Gas{PressurePa: -3, VolumeM3: 1},
		"volume: 0 m³":                       Accumulator{PrechargePa: 1e5, PressurePa: 1e5},
		"wall: diameter and wall":            Trapped{ExpansionPerK: 1e-4, CompressPerPa: 1e-10, DiameterM: 1},
		"stiffness: -1 N/m":                  Spring{StiffnessNM: -1},
		"mass: is not a number":              Load{MassKg: math.Inf(1)},
		"contact time: 1e+06 s":              Heat{SurfaceC: 90, ContactS: 1e6},
		"tachometer reading 2 time: 0 s":     Rotation{SpeedRPM: 5, Readings: []Tacho{{0, 5}, {0, 4}}},
		"compressibility: 1 1/Pa is outside": Trapped{ExpansionPerK: 1e-4, CompressPerPa: 1},
	}
	for want, k := range bad {
		if w, err := k.Predict(); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("Predict(%+v) = %+v, %v, want an error with %q", k, w, err, want)
		}
	}
}

func TestSlowDischargeGetsALabel(t *testing.T) {
	quick := Charge{VoltageV: 560, ResistanceOh: 2.2e6, CapacitanceF: 1e-6}
	slow := Charge{VoltageV: 560, ResistanceOh: 1e7, CapacitanceF: 1e-6}
	small := Charge{VoltageV: 560, ResistanceOh: 1e9, CapacitanceF: 1e-7}
	if quick.Label() != "" || small.Label() != "" || slow.Label() != "Wait 23 s, or as long as the "+
		"label on it says if that is longer; then measure." {
		t.Errorf("Label() = %q, %q, %q, want none, none (56 µC), 23 s", quick.Label(), small.Label(), slow.Label())
	}
}

func TestSafeDistanceGrowsWithTheEnergy(t *testing.T) {
	for _, tc := range []struct{ joule, want float64 }{{0, 0}, {1e6, 30}, {135.5e6, 30}, {136e6, 60}, {271e6, 60},
		{1e9, 20 * math.Cbrt(2e9/4266920)}} {
		if got, err := SafeDistance(tc.joule); err != nil || math.Abs(got-tc.want) > 1e-9 {
			t.Errorf("SafeDistance(%g) = %v, %v, want %v", tc.joule, got, err, tc.want)
		}
	}
}

func TestAnAccumulatorNeedsTheSizeOfTheExample(t *testing.T) {
	// Esposito, Ex. 14-7 (re-working): ram 6 in × 100 in from 3000 to 1800 psia, precharge 1200: 45.9 gal
	const psi, inch, gallon = 6894.757, 0.0254, 3.785412e-3
	a := Accumulator{PrechargePa: 1200 * psi, PressurePa: 3000 * psi, VolumeM3: 45.9 * gallon}
	got, err := a.Delivered(3000*psi, 1800*psi)
	want := math.Pi / 4 * 36 * 100 * inch * inch * inch
	if err != nil || math.Abs(got/want-1) > 0.002 {
		t.Errorf("Delivered = %v m³, %v, want %v", got, err, want)
	}
}
