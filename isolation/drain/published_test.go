package drain

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/goccy/go-yaml"
)

// row is one published figure; testdata/published says what the columns mean.
type row struct {
	Name, Figure, Unit, Known, Source string
	Fluid, Table, Class, Node         string
	Inputs                            map[string]float64
	Value, Tolerance                  float64
}

// readRows reads one topic and insists that every row says how it is known.
func readRows(t *testing.T, topic string) []row {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("..", "..", "testdata", "published", topic))
	if err != nil {
		t.Fatal(err)
	}
	var rows []row
	if err := yaml.UnmarshalWithOptions(text, &rows, yaml.Strict()); err != nil {
		t.Fatal(err)
	}
	for _, r := range rows {
		switch r.Known {
		case "printed", "re-working", "own", "from memory":
		default:
			t.Errorf("%s: known = %q, want printed, re-working, own or from memory", r.Name, r.Known)
		}
		if r.Source == "" || r.Unit == "" {
			t.Errorf("%s: source %q and unit %q must both be there", r.Name, r.Source, r.Unit)
		}
	}
	return rows
}

// checkRows works every row of a topic out with the figure's function.
func checkRows(t *testing.T, topic string, figures map[string]func(row) (float64, error)) {
	t.Helper()
	for _, r := range readRows(t, topic) {
		work, ok := figures[r.Figure]
		if !ok {
			t.Errorf("%s: figure %q has no function", r.Name, r.Figure)
			continue
		}
		got, err := work(r)
		if err != nil || math.Abs(got-r.Value) > r.Tolerance {
			t.Errorf("%s %s(%v) = %.12g %s, %v, want %.12g within %g (%s, %s)", r.Name, r.Figure, r.Inputs, got, r.Unit, err,
				r.Value, r.Tolerance, r.Known, r.Source)
		}
	}
}

func (r row) pipe() Pipe {
	return Pipe{BoreM: r.Inputs["bore_m"], LengthM: r.Inputs["length_m"], LossK: r.Inputs["loss"],
		FixedF: r.Inputs["friction"]}
}

func (r row) hole() Hole { return Hole{BoreM: r.Inputs["hole_m"], Cd: r.Inputs["cd"]} }

func TestPublishedOutflow(t *testing.T) {
	checkRows(t, "drain.yaml", map[string]func(row) (float64, error){
		"vertical-time": func(r row) (float64, error) {
			return VerticalTankTime(r.Inputs["diameter_m"], r.hole(), r.Inputs["from_m"], r.Inputs["to_m"])
		},
		"horizontal-time": func(r row) (float64, error) {
			return HorizontalTankTime(r.Inputs["diameter_m"], r.Inputs["length_m"], r.hole(), r.Inputs["from_m"],
				r.Inputs["to_m"])
		},
		"pipe-time": func(r row) (float64, error) {
			return PipeDrain{AreaM2: r.Inputs["area_m2"], Pipe: r.pipe(), Nu: r.Inputs["nu"]}.Time(r.Inputs["from_m"],
				r.Inputs["to_m"])
		},
		"pipe-velocity": func(r row) (float64, error) { return PipeVelocity(r.pipe(), r.Inputs["head_m"], r.Inputs["nu"]) },
		"friction":      func(r row) (float64, error) { return Friction(r.Inputs["re"], r.Inputs["rough"]), nil },
		"film": func(r row) (float64, error) {
			return Film(r.Inputs["height_m"], r.Inputs["nu"],
				r.Inputs["after_s"])
		},
		"film-mean": func(r row) (float64, error) {
			return MeanFilm(r.Inputs["height_m"], r.Inputs["nu"], r.Inputs["after_s"])
		},
		"segment": func(r row) (float64, error) { return SegmentArea(r.Inputs["diameter_m"], r.Inputs["depth_m"]), nil },
	})
}

func TestPublishedOil(t *testing.T) {
	checkRows(t, "oil.yaml", map[string]func(row) (float64, error){
		"viscosity": func(r row) (float64, error) {
			i := r.Inputs
			nu, err := Viscosity([]ViscosityPoint{{i["t1"], i["v1"]}, {i["t2"], i["v2"]}}, i["at"])
			return nu * 1e6, err
		},
		"grade-viscosity": func(r row) (float64, error) {
			nu, err := fluidOf(t, r.Fluid).ViscosityAt(r.Inputs["at"])
			return nu * 1e6, err
		},
		"grade-density": func(r row) (float64, error) { return fluidOf(t, r.Fluid).DensityAt(r.Inputs["at"]) },
		"vcf": func(r row) (float64, error) {
			return VolumeCorrection(r.Inputs["rho15"], Table(r.Table), r.Inputs["at"])
		},
	})
}

func TestPublishedAirSeatsAndPockets(t *testing.T) {
	levels, err := Levels(chain(t))
	if err != nil {
		t.Fatal(err)
	}
	checkRows(t, "air.yaml", map[string]func(row) (float64, error){
		"bubble-bore": func(r row) (float64, error) {
			return bubbleBores * CapillaryLength(r.Inputs["tension"], r.Inputs["density"]), nil
		},
		"held-bore": func(r row) (float64, error) {
			return heldBores * CapillaryLength(r.Inputs["tension"], r.Inputs["density"]), nil
		},
		"seat":     func(r row) (float64, error) { return SeatLeak(r.Inputs["dn_mm"], r.Class) },
		"seat-day": func(r row) (float64, error) { q, err := SeatLeak(r.Inputs["dn_mm"], r.Class); return q * 86400, err },
		"chain-level": func(r row) (float64, error) {
			return levels[r.Node], nil
		},
	})
}
