package envelope

import (
	"strings"
	"testing"

	"stillwatch/isolation"
)

// The limits of the verdicts are common practice, no source; the times are those of the models, which are held against
// published figures in package energy.
func TestReadingsAreHeldAgainstWhatIsForetold(t *testing.T) {
	heat := isolation.Stored{Kind: "heat", TempC: 95, MassKg: 900, AreaM2: 3}
	known := heat
	known.AmbientC = 30
	rotor := isolation.Stored{Kind: "rotation", SpeedRPM: 7200, CoastDownS: 1500}
	charge := isolation.Stored{Kind: "charge", Volt: 560, ResistanceOhm: 1e6, CapacitanceUF: 100} // RC 100 s
	air := isolation.Stored{Kind: "gas", GaugeBar: 30, VolumeL: 5000}
	accumulator := isolation.Stored{Kind: "accumulator", GaugeBar: 120, PrechargeBar: 60, VolumeL: 20}
	for _, tc := range []struct {
		stored         isolation.Stored
		value, elapsed float64
		want           string
	}{
		{heat, 40, 720, isolation.Ahead},
		{heat, 40, 10 * 3600, isolation.Plausible},
		{heat, 40, -1, isolation.Plausible},
		{heat, -5, 36000, isolation.Impossible},
		{heat, 30, 36000, isolation.Plausible}, // the air is not known: a cold engine room
		{known, 15, 36000, isolation.Impossible},
		{heat, 190, 60, isolation.Off},
		{rotor, 0, 120, isolation.Ahead},
		{rotor, 0, 1400, isolation.Plausible},
		{rotor, 3000, 120, isolation.Plausible},
		{rotor, 9000, 120, isolation.Off},
		{rotor, -1, 120, isolation.Impossible},
		{charge, 10, 60, isolation.Ahead}, // 402 s by RC·ln(560/10)
		{charge, 10, 300, isolation.Plausible},
		{charge, -900, 60, isolation.Off},
		{air, 0, 1, isolation.Ahead},
		{air, 0, 5000, isolation.Plausible},
		{air, -2, 5000, isolation.Impossible},
		{air, 40, 5000, isolation.Off},
		{accumulator, 0, 1, isolation.Plausible}, // let off at once, waiting does nothing
		{accumulator, -100, 1, isolation.Impossible},
		{isolation.Stored{Kind: "liquid", VolumeL: 5, TempC: 90}, -100, 1, isolation.Impossible},
		{isolation.Stored{Kind: "spring"}, 0.5, 0, isolation.Impossible},
	} {
		c, err := newStoredCheck(tc.stored.Kind, tc.stored, 0.01)
		if err != nil {
			t.Fatal(err)
		}
		p, err := StoredPlausibility(&c, tc.value, tc.elapsed)
		if err != nil || p.Verdict != tc.want || (p.Words == "") != (p.Verdict == isolation.Plausible) {
			t.Errorf("%s: %g after %g s = %+v, %v; want %s", tc.stored.Kind, tc.value, tc.elapsed, p, err, tc.want)
		}
	}
}

func TestDrainedLitresAreHeldAgainstWhatIsForetold(t *testing.T) {
	s := isolation.Section{Name: "Inlet pipe", OutL: 8.6, SpreadL: 0.6, DrainS: 600,
		Curve: []isolation.Level{{S: 0, L: 0}, {S: 300, L: 6}, {S: 600, L: 8.6}}}
	for _, tc := range []struct {
		reading isolation.DrainReading
		openS   float64
		want    string
	}{
		{isolation.DrainReading{OutL: 86}, 900, isolation.Off},
		{isolation.DrainReading{OutL: 0.86}, 900, isolation.Off},
		{isolation.DrainReading{OutL: 8.6}, 30, isolation.Ahead},
		{isolation.DrainReading{OutL: 8.6}, 900, isolation.Plausible},
		{isolation.DrainReading{OutL: 11}, 900, isolation.Plausible}, // for the judge: something passes
		{isolation.DrainReading{OutL: 0}, 900, isolation.Plausible},  // for the judge: blocked
		{isolation.DrainReading{OutL: -1}, 900, isolation.Impossible},
		{isolation.DrainReading{OutL: 8.6, GaugeBar: -2}, 900, isolation.Impossible},
	} {
		p := DrainPlausibility(&s, tc.reading, tc.openS)
		if p.Verdict != tc.want {
			t.Errorf("%+v after %g s = %+v, want %s", tc.reading, tc.openS, p, tc.want)
		}
		if p.Verdict == isolation.Off && !strings.Contains(p.Words, "8.6 L are expected") {
			t.Errorf("%q does not say what is expected", p.Words)
		}
	}
}
