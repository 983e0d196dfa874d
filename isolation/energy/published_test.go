package energy

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/goccy/go-yaml"
)

// row is one published figure; testdata/published/drain.yaml says what the
// columns mean.
type row struct {
	Name, Figure, Unit, Known, Source string
	Inputs                            map[string]float64
	Value, Tolerance                  float64
}

// figures works a row out by its name.
var figures = map[string]func(i map[string]float64) (float64, error){
	"lump-time": func(i map[string]float64) (float64, error) {
		// a ball: volume over area is a sixth of the diameter
		tau, err := Tau(i["density"]*i["diameter_m"]/6, i["heat"], 1, i["coefficient"])
		if err != nil {
			return 0, err
		}
		return Lump{TauS: tau, AmbientC: i["ambient"]}.Time(i["from"], i["to"])
	},
	"nusselt-cylinder": func(i map[string]float64) (float64, error) { return NusseltCylinder(i["pr"], i["gr"]), nil },
	"touch":            func(i map[string]float64) (float64, error) { return TouchLimit(i["contact_s"]) },
	"straight-stop": func(i map[string]float64) (float64, error) {
		return StraightLine(Tacho{i["t1"], i["rpm1"]}, Tacho{i["t2"], i["rpm2"]})
	},
	"straight-turns": func(i map[string]float64) (float64, error) {
		// the mean of a straight line over the time it takes
		stop, err := StraightLine(Tacho{0, i["rpm1"]}, Tacho{i["stop_s"] / 2, i["rpm1"] / 2})
		return i["rpm1"] / 2 * stop / 60, err
	},
	"linear-stop": func(i map[string]float64) (float64, error) {
		c, err := FitCoastDown(LinearDrag, threeOf(i))
		return c.StopS, err
	},
	"linear-speed": func(i map[string]float64) (float64, error) {
		c, err := FitCoastDown(LinearDrag, threeOf(i))
		return c.Speed(i["at"]), err
	},
	"voltage-after": func(i map[string]float64) (float64, error) {
		return Charge{ResistanceOh: i["ohm"], CapacitanceF: i["farad"]}.VoltageAfter(i["from"], i["after"])
	},
	"discharge-time": func(i map[string]float64) (float64, error) {
		return Charge{ResistanceOh: i["ohm"], CapacitanceF: i["farad"]}.DischargeTime(i["from"], i["to"])
	},
	"charge-energy": func(i map[string]float64) (float64, error) {
		w, err := Charge{VoltageV: i["volt"], CapacitanceF: i["farad"]}.Predict()
		return w.EnergyJ, err
	},
	"gas-energy": func(i map[string]float64) (float64, error) {
		return Gas{PressurePa: i["pressure_pa"], VolumeM3: i["volume_m3"]}.EnergyJ()
	},
	"accumulator-delivered": func(i map[string]float64) (float64, error) {
		return Accumulator{PrechargePa: i["precharge_pa"], PressurePa: i["high_pa"],
			VolumeM3: i["volume_m3"]}.Delivered(i["high_pa"], i["low_pa"])
	},
	"trapped": func(i map[string]float64) (float64, error) {
		return Trapped{ExpansionPerK: i["expansion"], CompressPerPa: i["compress_per_pa"], DiameterM: i["diameter_m"],
			WallM: i["wall_m"]}.PerKelvin()
	},
}

// threeOf makes three equally spaced readings from speeds in rad/s.
func threeOf(i map[string]float64) [3]Tacho {
	return [3]Tacho{{0, i["w0"] / radPerRPM}, {i["step"], i["w1"] / radPerRPM}, {2 * i["step"], i["w2"] / radPerRPM}}
}

func TestPublishedEnergies(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "published", "energy.yaml"))
	if err != nil {
		t.Fatal(err)
	}
	var rows []row
	if err := yaml.UnmarshalWithOptions(text, &rows, yaml.Strict()); err != nil {
		t.Fatal(err)
	}
	for _, r := range rows {
		work, ok := figures[r.Figure]
		if !ok || r.Source == "" || r.Known == "" || r.Unit == "" {
			t.Errorf("%s: figure %q, source %q, known %q, unit %q: something is missing", r.Name, r.Figure, r.Source, r.Known,
				r.Unit)
			continue
		}
		got, err := work(r.Inputs)
		if err != nil || math.Abs(got-r.Value) > r.Tolerance {
			t.Errorf("%s %s(%v) = %.12g %s, %v, want %.12g within %g (%s, %s)", r.Name, r.Figure, r.Inputs, got, r.Unit, err,
				r.Value, r.Tolerance, r.Known, r.Source)
		}
	}
}
