package calc

import (
	"bytes"
	"encoding/json"
	"math"
	"strings"
	"testing"

	"stillwatch/cmd/stillwatch/line"
)

// calc runs one line and returns status, figures and both outputs.
func calc(typed string) (status int, figures map[string]float64, out, errOut string) {
	var o, e bytes.Buffer
	status = line.Run(Command(), append(strings.Fields(typed), "--json"), &o, &e)
	// a failure leaves figures nil, which every caller looks at
	if json.Unmarshal(o.Bytes(), &figures) != nil {
		figures = nil
	}
	return status, figures, o.String(), e.String()
}

// TestCalcPrintsThePublishedFigures: the same checks as testdata/published, where the sources are, through the command.
func TestCalcPrintsThePublishedFigures(t *testing.T) {
	cases := []struct {
		line, key       string
		want, tolerance float64
	}{
		{"drain-vertical --diameter 4m --hole 0.5m --cd 0.6 --from 5m --to 2m", "time_s", 39.58, 0.005},
		{"drain-vertical --diameter 4m --hole 0.5m --cd 0.6 --from 5m --to 0m", "time_s", 107.69, 0.005},
		{"drain-vertical --diameter 120cm --hole 50mm --cd 0.6 --from 3000mm --to 0", "time_s", 750.78, 0.005},
		{"drain-horizontal --diameter 2m --length 8m --hole 0.1m --cd 0.8 --from 2m --to 0m", "time_s", 18.067 * 60, 0.03},
		{"drain-pipe --area 78.53981633974483m2 --pipe-diameter 50mm --pipe-length 25m --viscosity 1cSt --friction 0.022 " +
			"--from 2m --to 0m", "time_s", 88480.2, 0.05},
		{"drain-pipe --area 78.53981633974483m2 --pipe-diameter 50mm --pipe-length 25m --viscosity 1cSt --friction 0.022 " +
			"--from 2m --to 0m", "velocity_m_s", 1.80831, 5e-6},
		{"drain-pipe --area 1m2 --pipe-diameter 20mm --pipe-length 1m --roughness 0mm --loss 0.5 --viscosity 1cSt " +
			"--density 998kg/m3 --from 1.5m --to 1m", "velocity_m_s", 3.41081, 5e-6},
		{"drain-pipe --area 1m2 --pipe-diameter 20mm --pipe-length 1m --roughness 0mm --loss 0.5 --viscosity 30cSt " +
			"--density 890kg/m3 --from 1.5m --to 1m", "velocity_m_s", 2.60280, 5e-6},
		{"drain-pipe --area 1m2 --pipe-diameter 20mm --pipe-length 1m --roughness 0mm --loss 0.5 --viscosity 380cSt " +
			"--density 991kg/m3 --from 1.5m --to 1m", "velocity_m_s", 0.4747774, 5e-7},
		{"drain-pipe --area 1m2 --pipe-diameter 20mm --pipe-length 1m --roughness 0mm --loss 0.5 --viscosity 4000mPas " +
			"--density 1000kg/m3 --from 1.5m --to 1m", "velocity_m_s", 0.04597612, 5e-8},
		{"viscosity --point 50C=380cSt --point 100C=35cSt --at 98C", "viscosity_cst", 37.53, 0.005},
		{"viscosity --point 50C=380cSt --point 100°C=35mm2/s --at 348.15K", "viscosity_m2_s", 95.57e-6, 0.005e-6},
		{"density --rho15 992kg/m3 --table 54B --at 36C", "vcf", 0.9857, 5e-5},
		{"density --rho15 991kg/m3 --table 54b --at 98C", "density_kg_m3", 991 * 0.94263, 0.005},
		{"density --rho15 0.9g/cm3 --table 54D --at 45C", "vcf", 0.97895, 5e-6},
		{"friction --re 1e5 --roughness 1e-4", "friction_factor", 0.018462624566280, 5e-15},
		{"film --height 1m --viscosity 35cSt --after 60s", "film_m", 243.851e-6, 5e-10},
		{"film --height 1m --viscosity 35cSt --after 1h", "film_m", 31.4810e-6, 5e-11},
		{"cooldown --from 25C --to 199C --ambient 200C --tau 1.000s", "time_s", 5.165, 0.005},
		{"cooldown --from 100C --to 50C --ambient 20C --mass 10kg --area 0.5m2 --coefficient 12W/m2K", "time_s",
			800 * math.Log(8.0/3), 1e-6},
		{"cooldown --from 100C --after 800s --ambient 20C --tau 800s", "temperature_c", 20 + 80/math.E, 1e-9},
		{"coastdown --reading 0s=157.08rad/s --reading 20s=92.352377rad/s --reading 40s=39.357882rad/s", "time_s", 57.96425,
			1e-5},
		{"coastdown --reading 0s=900rpm --reading 1s=895rpm --reading 2s=890rpm", "time_s", 180, 1e-6},
		{"coastdown --reading 0s=900rpm --reading 1s=895rpm", "time_at_least_s", 180, 1e-9},
		{"discharge --resistance 4kohm --capacitance 0.1uF --from 200V --to 60V", "time_s", 4e-4 * math.Log(200.0/60), 1e-12},
		{"discharge --resistance 220kohm --capacitance 4uF --from 24V --after 1.5s", "voltage_v", 4.36, 0.005},
		{"gas-energy --pressure 1.101MPa --volume 1m3 --k 1.4", "energy_j", 1362509, 0.5},
		{"gas-energy --pressure 9.99675barg --volume 1000L", "energy_j", 1362509, 1},
		{"accumulator --precharge 1200psia --high 3000psia --low 1800psia --volume 45.9gal --n 1", "volume_m3", 0.046333,
			5e-5},
		{"accumulator --precharge 1200psia --high 3000psia --low 1800psia --volume 2827.43in3 --n 1", "size_m3",
			45.9 * 3.785412e-3, 2e-4},
		{"seat-leak --dn 50mm --rate D", "leak_m3_s", 5e-9, 1e-18},
		{"seat-leak --dn 50mm --rate D", "leak_m3_day", 432e-6, 1e-12},
		{"trapped-liquid --expansion 210e-6/K --compressibility 4e-4/MPa --diameter 100mm --wall 1mm --rise 1K",
			"pressure_rise_pa", 0.1933e6, 100},
		{"trapped-liquid --expansion 210e-6/K --compressibility 0.4/GPa --rise 10K", "pressure_rise_pa", 5.25e6, 1},
	}
	for _, tc := range cases {
		status, figures, _, errOut := calc(tc.line)
		got, ok := figures[tc.key]
		if status != 0 || !ok || math.Abs(got-tc.want) > tc.tolerance {
			t.Errorf("calc %s: %s = %v (there %v), status %d %s, want %v within %v", tc.line, tc.key, got, ok, status, errOut,
				tc.want, tc.tolerance)
		}
	}
}

func TestCalcRefusesBadInputInASentence(t *testing.T) {
	cases := []struct{ line, want string }{

		{"nonsense", `there is no command "nonsense"`},
		{"friction --re 1e5", "--roughness is missing"},
		{"friction --re 0 --roughness 0", "Reynolds number: 0 is outside"},
		{"friction --re 1e5m --roughness 0", "--re: \"1e5m\" has a unit"},
		{"friction --re 1e5 --roughness 1e-4 --re 2e5", "--re: it is given twice"},
		{"friction --re NaN --roughness 0", `--re: "NaN" is not a plain number`},
		{"friction --re Inf --roughness 0", `--re: "Inf" is not a plain number`},
		{"friction --re 1e999 --roughness 0", "--re: 1e999 is too large a number"},
		{"drain-vertical --diameter 4 --hole 0.5m --cd 0.6 --from 5m --to 2m", "--diameter: 4 has no unit"},
		{"drain-vertical --diameter 4kg --hole 0.5m --cd 0.6 --from 5m --to 2m", `--diameter: "kg" is no unit of a length`},
		{"drain-vertical --diameter 4m --hole 0.5m --cd 0.6 --from 2m --to 5m", "to: 5 m is above the level it starts from"},
		{"drain-vertical --diameter 4m --hole -0.5m --cd 0.6 --from 5m --to 2m", "hole: -0.5 m is outside"},
		{"drain-vertical --diameter 0.1m --hole 0.5m --cd 0.6 --from 5m --to 2m", "hole: 0.5 m is wider than the vessel"},
		{"drain-horizontal --diameter 2m --length 8m --hole 0.1m --cd 0.8 --from 3m --to 0m", "from: 3 m is above the top"},
		{"drain-pipe --area 1m2 --pipe-diameter 20mm --pipe-length 1m --viscosity 80cP --from 1m --to 0.5m",
			"--density is missing"},
		{"drain-pipe --area 1m2 --pipe-diameter 20mm --pipe-length 1m --viscosity 80cSt --from 1m --to 0m",
			"never quite reaches"},
		{"viscosity --point 50C=380cSt --at 98C", "--point has to be given twice"},
		{"viscosity --point 50C=380cSt --point 50C=35cSt --at 98C", "at least 1 K apart"},
		{"viscosity --point 50C=380 --point 100C=35cSt --at 98C", "--point: 380 has no unit"},
		{"viscosity --point 50C=380cSt --point 100C=35cSt --at 0", "--at: 0 has no unit"},
		{"density --rho15 500kg/m3 --table 54B --at 98C", "density at 15 °C: 500 kg/m³ is outside"},
		{"density --rho15 991kg/m3 --table 6B --at 98C", `--table: "6B" is not one of 54B, 54D`},
		{"film --height 1m --viscosity 35cSt --after 0s", "after: 0 s is outside"},
		{"cooldown --from 98C --to 20C --ambient 40C --tau 1h", "to: 20 °C is not between"},
		{"cooldown --from 98C --to 50C --ambient 40C", "--mass is missing"},
		{"cooldown --from 98C --ambient 40C --tau 1h", "--to or --after is missing"},
		{"coastdown --reading 0s=900rpm --reading 20s=950rpm --reading 40s=800rpm",
			"tachometer reading 2: 950 rpm is not below"},
		{"coastdown --reading 20s=900rpm --reading 0s=800rpm --reading 40s=700rpm",
			"tachometer reading 2 time: 0 s is not after"},
		{"coastdown --reading 0s=900rpm", "--reading has to be given three times"},
		{"coastdown --reading 0s=1000rpm --reading 10s=500rpm --reading 20s=250rpm", "never come quite to rest"},
		{"discharge --resistance 4kohm --capacitance 0.1uF --from 20V --to 60V", "to: 60 V is above"},
		{"discharge --resistance 4kohm --capacitance 0.1uF --from 20V --to 0V", "to: 0 V is outside"},
		{"discharge --resistance 0ohm --capacitance 0.1uF --from 20V --to 10V", "must both be above zero"},
		{"gas-energy --pressure -1bar --volume 1m3", "pressure: -100000 Pa is outside"},
		{"accumulator --precharge 100bar --high 80bar --low 60bar --volume 10L", "low: 6e+06 Pa is below the precharge"},
		{"seat-leak --dn 50mm --rate Z", `--rate: "Z" is not one of`},
		{"trapped-liquid --expansion 210e-6/K --compressibility 4e-4/MPa --diameter 100mm --rise 1K", "go together"},
		{"film --height 1m --viscosity 35cSt --after 60s stray", `"stray" belongs to no flag`},
		{"film --hight 1m", "there is no flag --hight here"},
	}
	for _, tc := range cases {
		status, _, out, errOut := calc(tc.line)
		if status != 1 || out != "" || !strings.Contains(errOut, tc.want) {
			t.Errorf("calc %s = %d, out %q, error %q, want 1, none, %q", tc.line, status, out, errOut, tc.want)
		}
	}
}

func TestCalcHelpExplainsEveryFlagAndKey(t *testing.T) {
	var all, errOut bytes.Buffer
	if status := line.Run(Command(), []string{"--help"}, &all, &errOut); status != 0 {
		t.Fatalf("calc --help = %d, want 0", status)
	}
	for _, f := range formulas() {
		var own bytes.Buffer
		if status := line.Run(Command(), []string{f.name, "--help"}, &own, &errOut); status != 0 {
			t.Errorf("calc %s --help = %d, want 0", f.name, status)
		}
		if !strings.Contains(all.String(), f.name) {
			t.Errorf("calc --help does not list %s", f.name)
		}
		for _, in := range f.takes {
			if in.means == "" || !strings.Contains(own.String(), "--"+in.name) {
				t.Errorf("calc %s: flag --%s is not explained", f.name, in.name)
			}
		}
		for _, g := range f.gives {
			if g.means == "" || !strings.Contains(own.String(), g.key) {
				t.Errorf("calc %s: key %s is not explained", f.name, g.key)
			}
		}
	}
}

func TestEveryFormulaNamesItsSource(t *testing.T) {
	for _, f := range formulas() {
		if len(f.gives) == 0 || f.source == "" || f.does == "" {
			t.Errorf("calc %s gives %d keys, source %q, does %q, want all three", f.name, len(f.gives), f.source, f.does)
		}
	}
}

func TestCalcPlainOutputIsForPeople(t *testing.T) {
	var out, errOut bytes.Buffer
	status := line.Run(Command(), strings.Fields("seat-leak --dn 50mm --rate D"), &out, &errOut)
	if status != 0 || !strings.Contains(out.String(), "leak_m3_s") || !strings.Contains(out.String(), "5e-09") {
		t.Errorf("calc seat-leak = %d, %q, %s, want the leak on a line", status, out.String(), errOut.String())
	}
}

func FuzzCalcNeverPrintsWhatIsNoNumber(f *testing.F) {
	f.Add("drain-vertical --diameter 4m --hole 0.5m --cd 0.6 --from 5m --to 2m")
	f.Add("coastdown --reading 0s=900rpm --reading 1s=895rpm --reading 2s=890rpm --drag quadratic")
	f.Add("drain-pipe --area 1m2 --pipe-diameter 20mm --pipe-length 1m --roughness 0 --loss 0.5 --viscosity 30cSt " +
		"--from 1.5m --to 1m")
	f.Add("viscosity --point 50C=380cSt --point 100C=35cSt --at 98C")
	f.Add("accumulator --precharge 1200psia --high 3000psia --low 1800psia --volume 45.9gal --n 1")
	f.Fuzz(func(t *testing.T, line string) {
		status, figures, out, errOut := calc(line)
		switch {
		case strings.Contains(line, "-h"):
		case status == 0 && (figures == nil || strings.Contains(out, "NaN") || strings.Contains(out, "Inf")):
			t.Errorf("calc %s = %q, want figures", line, out)
		case status != 0 && (status != 1 || out != "" || errOut == ""):
			t.Errorf("calc %s = %d, %q, %q, want 1 and a sentence", line, status, out, errOut)
		}
	})
}
