package calc

import (
	"errors"
	"fmt"
	"math"

	"stillwatch/isolation/drain"
)

// Flags and keys that several formulas share.
var (
	fromLevel = input{name: "from", kind: lengthKind, means: "level at the start, above the opening"}
	toLevel   = input{name: "to", kind: lengthKind, means: "level at the end, above the opening"}
	holeBore  = input{name: "hole", kind: lengthKind, means: "diameter of the hole"}
	holeCd    = input{name: "cd", kind: ratioKind, means: "coefficient of discharge, up to 1"}
	viscosity = input{name: "viscosity", kind: nuKind, means: "kinematic viscosity"}

	timeKey     = output{"time_s", "time from the one to the other"}
	volumeKey   = output{"volume_m3", "volume that runs out"}
	velocityKey = output{"velocity_m_s", "velocity in the opening at the start"}
	flowKey     = output{"flow_m3_s", "flow at the start"}
)

// drainFormulas are the formulas of package drain.
func drainFormulas() []formula {
	return []formula{
		{"drain-vertical", "time in which an upright tank falls from one level to another through a hole at its bottom",
			"t = 2A(√H1 − √H2)/(Cd·a·√(2g)), g = 9.81 m/s²",
			[]input{{name: "diameter", kind: lengthKind, means: "diameter of the tank"}, holeBore, holeCd, fromLevel, toLevel},
			[]output{timeKey, velocityKey, flowKey, volumeKey}, calcVertical},
		{"drain-horizontal", "time in which a lying cylinder falls from one level to another through a hole at its bottom",
			"t = 4L[(D−H2)^1.5 − (D−H1)^1.5]/(3·Cd·a·√(2g)), g = 9.81 m/s²",
			[]input{{name: "diameter", kind: lengthKind, means: "diameter of the tank"},
				{name: "length", kind: lengthKind, means: "length of the tank"}, holeBore, holeCd, fromLevel, toLevel},
			[]output{timeKey, velocityKey, flowKey, volumeKey}, calcHorizontal},
		{"drain-pipe", "time in which a tank falls from one level to another through a pipe, in any regime of flow",
			"h = V²/2g·(1 + ΣK + f·L/d), f by Churchill (1977), g = 9.81 m/s²; levels are above the end of the pipe",
			pipeInputs(),
			[]output{timeKey, velocityKey, flowKey, {"reynolds", "Reynolds number at the start"},
				{"friction_factor", "Darcy friction factor at the start"}, volumeKey}, calcPipe},
		{"viscosity", "viscosity of an oil at a temperature, from two measured points", "ASTM D341",
			[]input{{name: "point", kind: pointKind, means: "a measured viscosity; give two"},
				{name: "at", kind: tempKind, means: "temperature asked for"}},
			[]output{{"viscosity_m2_s", "kinematic viscosity"}, {"viscosity_cst", "the same in centistokes, for reading"}},
			calcViscosity},
		{"density", "density of an oil at a temperature", "ASTM D1250-80, tables 54B and 54D",
			[]input{{name: "rho15", kind: densityKind, means: "density at 15 °C"},
				{name: "table", kind: tableKind, means: "54B fuels, 54D lubricating oils"},
				{name: "at", kind: tempKind, means: "temperature asked for"}},
			[]output{{"vcf", "volume correction factor to 15 °C"}, {"density_kg_m3", "density"}}, calcDensity},
		{"friction", "Darcy friction factor of a pipe", "Churchill, Chem. Eng. 84 (1977) 91",
			[]input{{name: "re", kind: ratioKind, means: "Reynolds number"},
				{name: "roughness", kind: ratioKind, means: "relative roughness, wall roughness over bore"}},
			[]output{{"friction_factor", "Darcy friction factor"}}, calcFriction},
		{"film", "film left on an upright wall", "δ = √(νz/(g·t)), Jeffreys (1930)",
			[]input{{name: "height", kind: lengthKind, means: "distance below the top of the wall"}, viscosity,
				{name: "after", kind: timeKind, means: "time since the level fell past"}},
			[]output{{"film_m", "thickness at that distance"}, {"film_mean_m", "mean thickness from the top to there"}},
			calcFilm},
		{"seat-leak", "leak that a shut valve may have at a rate of seat tightness", "ISO 5208, liquid test",
			[]input{{name: "dn", kind: lengthKind, means: "nominal size"}, {name: "rate", kind: rateKind, means: "rate"}},
			[]output{{"leak_m3_s", "leak"}, {"leak_m3_day", "leak in a day"}}, calcSeatLeak},
	}
}

func pipeInputs() []input {
	return []input{
		{name: "area", kind: areaKind, means: "free surface of the tank"},
		{name: "pipe-diameter", kind: lengthKind, means: "bore of the pipe"},
		{name: "pipe-length", kind: lengthKind, means: "length of the pipe"},
		{name: "roughness", kind: lengthKind, optional: true, means: "roughness of its wall; 0 if left out, a smooth pipe"},
		{name: "loss", kind: ratioKind, optional: true, means: "sum of the minor losses K without the exit; 0 if left out"},
		{name: "viscosity", kind: flowViscosityKind, means: "viscosity, kinematic, or dynamic (cP, Pa·s) together with " +
			"--density"},
		{name: "density", kind: densityKind, optional: true, means: "density, needed for a dynamic viscosity only"},
		fromLevel, toLevel,
		{name: "friction", kind: ratioKind, optional: true, means: "Darcy friction factor to be taken as constant"},
	}
}

func calcVertical(v values) (map[string]float64, error) {
	n := v.number
	h := drain.Hole{BoreM: n["hole"], Cd: n["cd"]}
	t, err := drain.VerticalTankTime(n["diameter"], h, n["from"], n["to"])
	if err != nil {
		return nil, err
	}
	r := fromHole(h, n["from"])
	r["time_s"] = t
	r["volume_m3"] = math.Pi / 4 * n["diameter"] * n["diameter"] * (n["from"] - n["to"])
	return r, nil
}

func calcHorizontal(v values) (map[string]float64, error) {
	n := v.number
	h := drain.Hole{BoreM: n["hole"], Cd: n["cd"]}
	t, err := drain.HorizontalTankTime(n["diameter"], n["length"], h, n["from"], n["to"])
	if err != nil {
		return nil, err
	}
	r := fromHole(h, n["from"])
	r["time_s"] = t
	r["volume_m3"] = n["length"] * (drain.SegmentArea(n["diameter"], n["from"]) - drain.SegmentArea(n["diameter"],
		n["to"]))
	return r, nil
}

// fromHole is what leaves a hole under a head: the velocity is that over its whole area.
func fromHole(h drain.Hole, head float64) map[string]float64 {
	speed := h.Cd * math.Sqrt(2*drain.Gravity*head)
	return map[string]float64{"velocity_m_s": speed, "flow_m3_s": speed * math.Pi / 4 * h.BoreM * h.BoreM}
}

func calcPipe(v values) (map[string]float64, error) {
	n := v.number
	if mu, dynamic := n["viscosity dynamic"]; dynamic {
		if !v.has("density") || n["density"] <= 0 {
			return nil, errors.New("--density is missing: a dynamic viscosity needs it; or give the viscosity in cSt")
		}
		n["viscosity"] = mu / n["density"]
	}
	d := drain.PipeDrain{AreaM2: n["area"], Nu: n["viscosity"],
		Pipe: drain.Pipe{BoreM: n["pipe-diameter"], LengthM: n["pipe-length"],
			RoughM: n["roughness"], LossK: n["loss"], FixedF: n["friction"]}}
	t, err := d.Time(n["from"], n["to"])
	if err != nil {
		return nil, err
	}
	speed, err := drain.PipeVelocity(d.Pipe, n["from"], d.Nu)
	if err != nil {
		return nil, err
	}
	bore := n["pipe-diameter"]
	r := map[string]float64{"time_s": t, "velocity_m_s": speed, "flow_m3_s": speed * math.Pi / 4 * bore * bore,
		"reynolds": speed * bore / d.Nu, "volume_m3": n["area"] * (n["from"] - n["to"])}
	switch {
	case d.Pipe.FixedF > 0:
		r["friction_factor"] = d.Pipe.FixedF
	case speed > 0:
		r["friction_factor"] = drain.Friction(r["reynolds"], n["roughness"]/bore)
	}
	return r, nil
}

func calcViscosity(v values) (map[string]float64, error) {
	var points []drain.ViscosityPoint
	for _, p := range v.pairs["point"] {
		points = append(points, drain.ViscosityPoint{AtC: p[0], CSt: p[1] * 1e6})
	}
	if len(points) != 2 {
		return nil, fmt.Errorf("--point has to be given twice, at two temperatures; it was given %d times", len(points))
	}
	nu, err := drain.Viscosity(points, v.number["at"])
	return map[string]float64{"viscosity_m2_s": nu, "viscosity_cst": nu * 1e6}, err
}

func calcDensity(v values) (map[string]float64, error) {
	vcf, err := drain.VolumeCorrection(v.number["rho15"], drain.Table(v.word["table"]), v.number["at"])
	return map[string]float64{"vcf": vcf, "density_kg_m3": vcf * v.number["rho15"]}, err
}

func calcFriction(v values) (map[string]float64, error) {
	re, rough := v.number["re"], v.number["roughness"]
	if err := drain.CheckFriction(re, rough); err != nil {
		return nil, err
	}
	return map[string]float64{"friction_factor": drain.Friction(re, rough)}, nil
}

func calcFilm(v values) (map[string]float64, error) {
	n := v.number
	f, err := drain.Film(n["height"], n["viscosity"], n["after"])
	if err != nil {
		return nil, err
	}
	mean, err := drain.MeanFilm(n["height"], n["viscosity"], n["after"])
	return map[string]float64{"film_m": f, "film_mean_m": mean}, err
}

func calcSeatLeak(v values) (map[string]float64, error) {
	q, err := drain.SeatLeak(v.number["dn"]*1000, v.word["rate"])
	return map[string]float64{"leak_m3_s": q, "leak_m3_day": q * 86400}, err
}
