package planner

import (
	"encoding/json"
	"math"
	"slices"
	"strings"
	"testing"

	"stillwatch/isolation"
	"stillwatch/isolation/envelope"
	"stillwatch/isolation/plantfile"
	"stillwatch/isolation/proof"
)

func sectionOf(t *testing.T, plan isolation.Plan, id string) *isolation.Section {
	t.Helper()
	for i := range plan.Sections {
		if plan.Sections[i].ID == id {
			return &plan.Sections[i]
		}
	}
	t.Fatalf("sections of %s = %v, want one called %s", plan.Job, plan.Sections, id)
	return nil
}

// The volume of the small pump by hand: casing 4 L; pipes π/4·0.050²·0.5 m and π/4·0.040²·0.5 m; the pipes of drain and
// vent π/4·0.015²·0.2 m each.
func TestTrappedVolumeIsWhatIsReckonedByHand(t *testing.T) {
	plan := makeProved(t, readFile(t, "../../testdata/plants/tiny.yaml"), "P1-seal", isolation.Circumstances{})
	s := sectionOf(t, plan, "pump")
	want := 4 + 1000*math.Pi/4*(0.05*0.05*0.5+0.04*0.04*0.5+2*0.015*0.015*0.2)
	if math.Abs(s.TrappedL-want) > 1e-9 {
		t.Errorf("trapped = %g L, want %g L", s.TrappedL, want)
	}
	if math.Abs(s.OutL+s.KeptL-s.TrappedL) > 1e-9 {
		t.Errorf("out %g + kept %g = %g L, want the trapped %g L", s.OutL, s.KeptL, s.OutL+s.KeptL, s.TrappedL)
	}
	if !slices.Equal(s.Drains, []isolation.NodeID{"D1"}) || !slices.Equal(s.Vents, []isolation.NodeID{"A1"}) ||
		!slices.Equal(s.Suspects, []isolation.NodeID{"V1", "V2"}) {
		t.Errorf("drains %v, vents %v, suspects %v; want D1, A1, and V1 and V2", s.Drains, s.Vents, s.Suspects)
	}
}

func TestReadingsOfASectionAreJudged(t *testing.T) {
	plan := makeProved(t, readFile(t, "../../testdata/plants/tiny.yaml"), "P1-seal", isolation.Circumstances{})
	text, err := json.Marshal(plan)
	if err != nil {
		t.Fatal(err)
	}
	var kept isolation.Plan // a plan comes out of the register as JSON, and must judge the same
	if err := json.Unmarshal(text, &kept); err != nil {
		t.Fatal(err)
	}
	s := sectionOf(t, kept, "pump")
	for _, tc := range []struct {
		name    string
		reading isolation.DrainReading
		want    string
	}{
		{"what was expected", isolation.DrainReading{OutL: s.OutL, HoldS: 900, TempC: 30}, "drained"},
		{"half of it", isolation.DrainReading{OutL: s.OutL / 2, HoldS: 900, TempC: 30}, "not drained"},
		{"nothing", isolation.DrainReading{HoldS: 900, TempC: 30}, "not drained"},
		{"far too much", isolation.DrainReading{OutL: 3 * s.OutL, HoldS: 900, TempC: 30}, "passing"},
		{"a refill in the hold", isolation.DrainReading{OutL: s.OutL, HoldS: 900, HoldInL: 2, TempC: 30}, "passing"},
		{"no hold", isolation.DrainReading{OutL: s.OutL, TempC: 30}, "not drained"},
		{"pressure left", isolation.DrainReading{OutL: s.OutL, HoldS: 900, GaugeBar: 0.4, TempC: 30}, "not drained"},
	} {
		f, err := envelope.JudgeSection(s, tc.reading)
		if err != nil || f.Result != tc.want || f.OK != (tc.want == "drained") || f.Words == "" {
			t.Errorf("%s: Judge = %+v, %v; want %s", tc.name, f, err, tc.want)
		}
		if tc.want == "passing" && len(f.Suspects) != 2 {
			t.Errorf("%s: suspects = %v, want V1 and V2", tc.name, f.Suspects)
		}
	}
	for _, bad := range []isolation.DrainReading{{OutL: -1, HoldS: 900}, {OutL: math.NaN()}, {OutL: 1, HoldInL: 1},
		{TempC: -300}} {
		if f, err := envelope.JudgeSection(s, bad); err == nil {
			t.Errorf("Judge(%+v) = %+v, want an error", bad, f)
		}
	}
}

// Common practice, no source: a separator's oil inlet and outlet lines are drained each by itself, and the inlet is the
// one that usually still holds oil.
func TestSeparatorLinesAreDrainedEachByItself(t *testing.T) {
	p := readFile(t, demoPlant)
	for _, sep := range []string{"S1", "S2", "L1"} {
		plan := makeProved(t, p, sep+"-bowl", isolation.Circumstances{})
		in, out := sectionOf(t, plan, sep+"-inlet-pipe"), sectionOf(t, plan, sep+"-outlet-pipe")
		if in.OutL <= out.OutL {
			t.Errorf("%s: inlet %g L, outlet %g L; want more in the inlet line", sep, in.OutL, out.OutL)
		}
		for _, s := range plan.Sections {
			if !s.Provable {
				t.Errorf("%s: section %s proves nothing: %s", sep, s.ID, s.Why)
			}
		}
	}
}

// Common practice, no source: breakers off; operating and displacement water shut; oil inlet and outlet shut; the
// sludge outlet when the bowl stands; only then the drains of the oil lines opened. The heater's steam and condensate
// come between the waters and the oil, so that they come back last.
func TestSeparatorIsIsolatedInTheTradesOrder(t *testing.T) {
	plan := makeProved(t, readFile(t, demoPlant), "S1-bowl", isolation.Circumstances{})
	at := map[isolation.NodeID]int{}
	for _, s := range plan.Steps {
		at[s.Point] = s.N
	}
	before := func(first, then []isolation.NodeID) {
		for _, a := range first {
			for _, b := range then {
				if at[a] == 0 || at[b] == 0 || at[a] > at[b] {
					t.Errorf("%s is step %d and %s step %d, want both, and %s first", a, at[a], b, at[b], a)
				}
			}
		}
	}
	breakers, water := []isolation.NodeID{"S1-Q1", "S1-Q2"}, []isolation.NodeID{"S1-V6", "S1-V7"}
	oil, drains := []isolation.NodeID{"S1-V1", "S1-V2"}, []isolation.NodeID{"S1-D1", "S1-D2"}
	before([]isolation.NodeID{"S1-S1", "S1-S2"}, breakers)
	before(breakers, water)
	before(water, oil)
	before(oil, []isolation.NodeID{"S1-V8"})
	before([]isolation.NodeID{"S1-V8"}, drains)
	if first := plan.Steps[at["S1-V8"]-1].First; !slices.Contains(first, "rotation") {
		t.Errorf("the sludge outlet waits for %v, want the bowl at rest", first)
	}
	heat := []isolation.NodeID{"S1-V11", "S1-V12"}
	before(water, heat)
	before(heat, oil)
	before(oil, drains)
	before([]isolation.NodeID{"S1-A1", "S1-A2"}, drains)
}

// A job may ask for a longer hold at one of its parts: the section that holds it is watched for that, no other, and a
// shorter hold proves nothing there. The proof misses it where a plan leaves it out.
func TestAPartIsWatchedAsLongAsItsJobAsks(t *testing.T) {
	text := string(readFile(t, demoPlant).Text)
	const opens = "    opens: [S1-bowl, S1-inlet-pipe"
	p := readPlant(t, strings.Replace(text, opens, "    holds: [{id: S1-inlet-pipe, minutes: 30, because: cold oil comes "+
		"late}]\n"+opens, 1))
	plan := makeProved(t, p, "S1-bowl", isolation.Circumstances{})
	in, out := sectionOf(t, plan, "S1-inlet-pipe"), sectionOf(t, plan, "S1-outlet-pipe")
	if in.HoldS != 1800 || out.HoldS != 0 {
		t.Fatalf("holds of %g s and %g s, want 1800 s and none", in.HoldS, out.HoldS)
	}
	if all := plainly(plan); !strings.Contains(all, "hold for 30 min (cold oil comes late)") {
		t.Errorf("the plan does not say for how long:\n%s", all)
	}
	for minutes, want := range map[float64]string{29: "not drained", 30: "drained"} {
		f, err := envelope.JudgeSection(in, isolation.DrainReading{OutL: in.OutL, HoldS: 60 * minutes, TempC: in.TempC})
		if err != nil || f.Result != want {
			t.Errorf("%g min: %+v, %v, want %s", minutes, f, err, want)
		}
	}
	in.HoldS = 0
	if _, err := proof.Prove(p, plantfile.ShippedRules(), plan, isolation.Circumstances{}); err == nil ||
		!strings.Contains(err.Error(), "is watched for") {
		t.Errorf("Prove of a plan that leaves the hold out = %v", err)
	}
	if _, err := proof.ProveAs(3, p, plantfile.ShippedRules(), plan, isolation.Circumstances{}); err != nil &&
		strings.Contains(err.Error(), "is watched for") {
		t.Errorf("edition 3 is asked what edition 5 brought: %v", err)
	}
}

func TestLineWithoutLevelsProvesNothing(t *testing.T) {
	text := string(readFile(t, "../../testdata/plants/tiny.yaml").Text)
	plan := makeProved(
		t,
		readPlant(t, strings.Replace(text, ", invert_m: [1.3, 1.3]", "", 1)),
		"P1-seal",
		isolation.Circumstances{},
	)
	if s := sectionOf(t, plan, "pump"); s.Provable || !strings.Contains(s.Why, "no levels") {
		t.Errorf("provable %v, why %q; want it to prove nothing for want of levels", s.Provable, s.Why)
	}
}

// A wide dead leg that rises a little, and a casing vented below its top, are proved like a narrow one or one vented at
// the top: all of what they hold must come. A narrow level leg is no proof of anything.
func TestWideDeadLegsAndCasingsVentedInTheirSideAreProved(t *testing.T) {
	text := string(readFile(t, "../../testdata/plants/tiny.yaml").Text)
	leg := func(bore, length, end string) string {
		return strings.NewReplacer("\nlinks:\n", "\n  - {id: dead, kind: junction}\nlinks:\n", "\nmachines:",
			"\n  - {a: pump, b: dead, bore_mm: "+bore+", length_m: "+length+", invert_m: [1.2, "+end+"]}\nmachines:").
			Replace(text)
	}
	for _, tc := range []struct {
		name, text string
		want       bool
	}{
		{"a wide leg that rises a little", leg("80", "2", "1.22"), true},
		{"a level one", leg("80", "2", "1.2"), true},
		{"a narrow level one", leg("8", "40", "1.2"), false},
		{"one that rises far", leg("80", "2", "1.9"), false},
		{"a casing vented below its top", strings.Replace(text, "invert_m: [1.5, 1.6]", "invert_m: [1.4, 1.6]", 1), true},
	} {
		plan := makeProved(t, readPlant(t, tc.text), "P1-seal", isolation.Circumstances{})
		s := sectionOf(t, plan, "pump")
		if s.Provable != tc.want {
			t.Errorf("%s: provable %v, want %v: %s", tc.name, s.Provable, tc.want, s.Why)
			continue
		}
		f, err := envelope.JudgeSection(s, isolation.DrainReading{OutL: s.OutL, HoldS: 900, TempC: 30})
		if err != nil || f.OK != tc.want {
			t.Errorf("%s: the reading that was expected is %+v, %v", tc.name, f, err)
		}
	}
}
