package chart

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"stillwatch/isolation"
	"stillwatch/isolation/drain"
	"stillwatch/isolation/energy"
	"stillwatch/isolation/planner"
	"stillwatch/isolation/plantfile"
)

// plantWith is a pump between two tanks with one stored energy, and one job on it.
func plantWith(t *testing.T, s isolation.Stored) *isolation.Plant {
	t.Helper()
	text := `plant: Small
fluids:
  MDO: {family: distillate fuel, density_15: 870, viscosity: [{at: 40, cst: 5.5}, {at: 100, cst: 1.9}], tension: 0.028}
nodes:
  - {id: board, kind: source, energy: electrical, volt: 440}
  - {id: Q1, kind: breaker, lockable: true}
  - {id: motor, kind: consumer}
links:
  - {a: board, b: Q1}
  - {a: Q1, b: motor}
machines:
  - id: M
    name: Machine
    nodes: [motor]
jobs:
  - {id: job, machine: M, title: Job, opens: [motor], exposure: open}
`
	p, err := plantfile.Read("small.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	p.Machine("M").Stored = []isolation.Stored{s}
	return p
}

// at returns the value of a course at a time.
func at(course []Point, s float64) float64 {
	for i := 1; i < len(course); i++ {
		if a, b := course[i-1], course[i]; b.S >= s && b.S > a.S {
			return a.V + (b.V-a.V)*(s-a.S)/(b.S-a.S)
		}
	}
	return course[len(course)-1].V
}

func TestCourseMeetsTheLimitWhenThePlanSays(t *testing.T) {
	for _, s := range []isolation.Stored{bowl, hood, link} {
		check := storedOf(t, s)
		c, ok := Stored(check, nil)
		if !ok || check.WaitS <= 0 {
			t.Fatalf("Stored(%s) = no chart, or a wait of %g s", s.Kind, check.WaitS)
		}
		if got := at(c.Expected, check.WaitS); math.Abs(got-check.Limit) > 0.002*check.Now {
			t.Errorf("Stored(%s) stands at %g %s after the wait, want %g", s.Kind, got, check.Unit, check.Limit)
		}
		if got := c.Expected[0]; got.S != 0 || math.Abs(got.V-check.Now) > 1e-9 {
			t.Errorf("Stored(%s) begins at %v, want %g at once", s.Kind, got, check.Now)
		}
	}
}

// The constants of the plan's own forecast are repeated here; this holds them together.
func TestCoolingNeedsNoStretchingToFitThePlan(t *testing.T) {
	check := storedOf(t, hood)
	from := waitOf(energy.Heat{SurfaceC: check.Now, AmbientC: airC, MetalKg: 420, AreaM2: 1.9, SizeM: math.Sqrt(1.9 / 6),
		Upright: true})
	if math.Abs(from-check.WaitS) > 1e-6*from {
		t.Errorf("the chart's own forecast = %g s, want the plan's %g s", from, check.WaitS)
	}
}

// Half-way values from the closed form: V·e^(−t/RC) with RC 10 s.
func TestDischargeIsTheExponential(t *testing.T) {
	c := must(t, link)
	for _, s := range []float64{5, 10, 20} {
		want := 560 * math.Exp(-s/10)
		if got := at(c.Expected, s); math.Abs(got-want) > 3 {
			t.Errorf("voltage after %g s = %g, want %g", s, got, want)
		}
	}
}

func TestVentingFallsSlowerTheLessIsLeft(t *testing.T) {
	check := storedOf(t, shut)
	check.WaitS = 100
	c, _ := Stored(check, nil)
	if got := at(c.Expected, 100); math.Abs(got-check.Limit) > 0.02 {
		t.Errorf("pressure after the wait = %g, want %g", got, check.Limit)
	}
	if first, second := at(c.Expected, 0)-at(c.Expected, 50), at(c.Expected, 50)-at(c.Expected, 100); first <= second {
		t.Errorf("it falls by %g bar in the first half and %g in the second, want less in the second", first, second)
	}
}

func TestWhatWaitingDoesNotLowerIsDrawnLevel(t *testing.T) {
	c := must(t, shut)
	if !c.Stays || c.Expected[0].V != c.Expected[len(c.Expected)-1].V {
		t.Errorf("a shut bottle's course = %v, want level", c.Expected)
	}
	if !strings.Contains(strings.Join(c.Notes, " "), "let off") {
		t.Errorf("notes = %q, want that it has to be let off", c.Notes)
	}
}

func TestStoredHasNoChartWhereThereIsNoCourse(t *testing.T) {
	for _, s := range []isolation.Stored{{Kind: "spring", Restraint: "pin"}, {Kind: "weight", MassKg: 300},
		{Kind: "rotation"}} {
		if c, ok := Stored(storedOf(t, s), nil); ok {
			t.Errorf("Stored(%+v) = a chart with %d points, want none", s, len(c.Expected))
		}
	}
	if _, ok := Stored(storedOf(t, isolation.Stored{Kind: "rotation", SpeedRPM: 900}),
		[]Reading{{S: 60, Value: 500}}); !ok {
		t.Error("a rotor without a run-down time but with a reading has no chart, want its reading")
	}
}

// The published run-down: a 2, b 0.01, ω0 157.08 stops at 57.964 s (testdata/published/energy.yaml, own).
func TestReadingsOfARotorGiveItsCourse(t *testing.T) {
	rpm := func(w float64) float64 { return w * 30 / math.Pi }
	c := must(t, isolation.Stored{Kind: "rotation", Name: "rotor", SpeedRPM: 1500, CoastDownS: 30},
		Reading{S: 0, Value: rpm(157.08)}, Reading{S: 20, Value: rpm(92.352377)}, Reading{S: 40, Value: rpm(39.357882)})
	last := c.Fitted[len(c.Fitted)-1]
	if last.V > 1 || last.S < 57.9 {
		t.Errorf("the fitted course ends at %v, want standstill after 58 s or more", last)
	}
	if !strings.Contains(strings.Join(c.Notes, " "), "no sooner than 58 s") {
		t.Errorf("notes = %q, want standstill no sooner than 58 s", c.Notes)
	}
	rising := must(t, bowl, Reading{S: 10, Value: 100}, Reading{S: 20, Value: 200}, Reading{S: 30, Value: 300})
	if rising.Fitted != nil || len(rising.Notes) == 0 {
		t.Error("a rotor that speeds up gets a course, want a note")
	}
}

func TestBandHoldsTheCourseAndEndsAtTheLimits(t *testing.T) {
	c := Drain(inlet(), nil)
	for s := 0.0; s <= 600; s += 20 {
		low, mid, high := at(c.Least, s), at(c.Expected, s), at(c.Most, s)
		if low > mid+1e-9 || mid > high+1e-9 {
			t.Fatalf("after %g s the band is %g…%g about %g", s, low, high, mid)
		}
	}
	end := len(c.Expected) - 1
	if got := c.Expected[end].V; math.Abs(got-12.4) > 1e-9 {
		t.Errorf("the course ends at %g L, want 12.4", got)
	}
	if got := c.Most[len(c.Most)-1].V - c.Least[len(c.Least)-1].V; math.Abs(got-3.8) > 1e-9 {
		t.Errorf("the band ends %g L wide, want 3.8", got)
	}
}

// The slow edge must be the wait of the physics, which is not in the plan.
func TestSlowEdgeIsTheWaitOfTheDrainModel(t *testing.T) {
	text := `plant: Small
fluids:
  MDO: {family: distillate fuel, density_15: 870, viscosity: [{at: 40, cst: 5.5}, {at: 100, cst: 1.9}], tension: 0.028}
nodes:
  - {id: tank, kind: source, energy: fuel, fluid: MDO, gauge_bar: 0.3, temp_c: 30, elevation_m: 5}
  - {id: V1, kind: valve, lockable: true}
  - {id: pump, kind: vessel, fluid: MDO, volume_l: 40, elevation_m: 1.2, top_m: 1.9}
  - {id: D1, kind: opening, role: drain, bore_mm: 15, elevation_m: 1.1}
  - {id: A1, kind: opening, role: vent, bore_mm: 15, elevation_m: 2}
links:
  - {a: tank, b: V1, bore_mm: 50, length_m: 4, invert_m: [3, 1.3]}
  - {a: V1, b: pump, bore_mm: 50, length_m: 0.5, invert_m: [1.3, 1.3]}
  - {a: pump, b: D1, bore_mm: 15, length_m: 0.2, invert_m: [1.2, 1.1]}
  - {a: pump, b: A1, bore_mm: 15, length_m: 0.2, invert_m: [1.9, 2]}
machines:
  - {id: M, name: Machine, nodes: [pump]}
jobs:
  - {id: job, machine: M, title: Job, opens: [pump], exposure: open}
`
	p, err := plantfile.Read("small.yaml", []byte(text))
	if err != nil {
		t.Fatal(err)
	}
	plan, err := planner.Make(p, plantfile.ShippedRules(), "job", isolation.Circumstances{})
	if err != nil || len(plan.Sections) != 1 {
		t.Fatalf("Make = %d sections, %v, want one", len(plan.Sections), err)
	}
	s := plan.Sections[0]
	in := s.Basis.Section
	if in.Fluid, err = drain.NewFluid(s.Basis.Fluid); err != nil {
		t.Fatal(err)
	}
	o, err := drain.Predict(in)
	if err != nil {
		t.Fatal(err)
	}
	c := Drain(s, nil)
	if got := timeTo(c.Least, c.Least[len(c.Least)-1].V); math.Abs(got-o.WaitS) > 0.01*o.WaitS {
		t.Errorf("slow edge ends after %g s, want the model's wait of %g s", got, o.WaitS)
	}
}

func TestRowsSayWhatThePictureShows(t *testing.T) {
	c := Drain(inlet(), []Reading{{S: 1300, Value: 12.1, HoldS: 700, OK: true, Clock: "14:22"},
		{S: 180, Value: 7.1, Clock: "14:03"}})
	var all []string
	for _, r := range c.Rows() {
		all = append(all, strings.Join([]string{r.What, r.When, r.Value, r.Result}, " | "))
	}
	got := strings.Join(all, "\n")
	for _, want := range []string{
		"Expected to come out |  | 12.4 L, give or take 1.9 L | ",
		"All that comes should be out | 8 min after the drain was opened |  | with bores at the small end: 9 min",
		"Reading 1 | 14:03, 3 min after the drain was opened | 7.1 L | does not open the gate",
		"Reading 2 | 14:22, 22 min after the drain was opened | 12.1 L, then 0 L in a hold of 11 min | within what the " +
			"gate asks",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("Rows = \n%s\nwant a row %q", got, want)
		}
	}
	if !strings.Contains(c.Desc, "never a proof") {
		t.Errorf("Desc = %q, want that it proves nothing", c.Desc)
	}
}

func TestAnyFiguresGiveAValidChart(t *testing.T) {
	number := rapid.OneOf(rapid.Float64(), rapid.Float64Range(-10, 1e4),
		rapid.SampledFrom([]float64{0, math.NaN(), math.Inf(1), math.Inf(-1), 1e300, 5e-324}))
	reading := rapid.Custom(func(r *rapid.T) Reading {
		return Reading{S: number.Draw(r, "s"), Value: number.Draw(r, "value"), OK: rapid.Bool().Draw(r, "ok"),
			HoldS: number.Draw(r, "hold"), HoldL: number.Draw(r, "in"), Clock: rapid.String().Draw(r, "clock")}
	})
	rapid.Check(t, func(r *rapid.T) {
		readings := rapid.SliceOfN(reading, 0, 6).Draw(r, "readings")
		s := isolation.Section{ID: rapid.String().Draw(r, "id"), Name: rapid.String().Draw(r, "name"),
			OutL: number.Draw(r, "out"), SpreadL: number.Draw(r, "spread"), KeptL: number.Draw(r, "kept")}
		for range rapid.IntRange(0, 5).Draw(r, "points") {
			s.Curve = append(s.Curve, isolation.Level{S: number.Draw(r, "t"), L: number.Draw(r, "l")})
		}
		checkSVG(r, Drain(s, readings))
		c := isolation.StoredCheck{ID: s.ID, Name: s.Name,
			Unit: rapid.SampledFrom([]string{"rpm", "°C", "V", "bar", ""}).Draw(r, "unit"),
			Now:  number.Draw(r, "now"), Limit: number.Draw(r, "limit"), WaitS: number.Draw(r, "wait")}
		c.Stored = isolation.Stored{Kind: rapid.SampledFrom([]string{"rotation", "heat", "charge", "gas", "liquid", "spring",
			"?"}).Draw(r, "kind"),
			MassKg: number.Draw(r, "kg"), AreaM2: number.Draw(r, "m2"), VolumeL: number.Draw(r, "l")}
		if chart, ok := Stored(c, readings); ok {
			checkSVG(r, chart)
		}
	})
}

func TestTicksAreFewAndRound(t *testing.T) {
	for _, end := range []float64{1e-6, 0.3, 1, 4.7, 5.4, 17, 99, 7776, 3e6} {
		got := ticks(end, nil)
		if len(got) < 3 || len(got) > mostTicks+1 {
			t.Errorf("ticks(%g) = %v, want 3 to %d", end, got, mostTicks+1)
		}
	}
	if got := ticks(26, timeUnits[1].steps); len(got) != 3 || got[1] != 10 {
		t.Errorf("ticks of 26 minutes = %v, want every 10", got)
	}
}
