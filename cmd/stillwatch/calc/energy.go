package calc

import (
	"errors"
	"fmt"
	"math"

	"stillwatch/isolation/energy"
)

// energyFormulas are the formulas of package energy.
func energyFormulas() []formula {
	return []formula{
		{"cooldown", "time in which a body cools from one temperature to another, or its temperature after a time",
			"(T − T∞)/(T0 − T∞) = e^(−t/τ), τ = m·c/(h·A), one lump: good for a Biot number below 0.1", cooldownInputs(),
			[]output{{"time_s", "time from the one to the other"}, {"temperature_c", "temperature after the time, °C"},
				{"tau_s", "time constant"}}, calcCooldown},
		{"coastdown", "time in which a rotor comes to rest, from three tachometer readings",
			"dω/dt = −a, −(a + bω) or −(a + cω²), fitted exactly; two readings give a lower bound only",
			[]input{{name: "reading", kind: readingKind, means: "time since the drive was cut, and speed; give three, in order"},
				{name: "drag", kind: dragKind, optional: true,
					means: "law; linear if left out, longest takes the one that stops last"}},
			[]output{{"time_s", "time from cutting the drive until it stands still"},
				{"time_longest_s", "the same by the law that stops last: what to wait"},
				{"time_at_least_s", "lower bound from two readings; it is no time to wait"},
				{"drag_constant_rad_s2", "constant part a, rad/s²"}, {"drag_linear_per_s", "linear part b, 1/s"},
				{"drag_quadratic_per_rad", "quadratic part c, 1/rad"}}, calcCoastdown},
		{"discharge", "time in which a capacitance discharges from one voltage to another, or its voltage after a time",
			"V = V0·e^(−t/RC)",
			[]input{{name: "resistance", kind: ohmKind, means: "resistance of the discharge path"},
				{name: "capacitance", kind: faradKind, means: "capacitance"},
				{name: "from", kind: voltKind, means: "voltage at the start"},
				{name: "to", kind: voltKind, optional: true, means: "voltage asked for; this or --after"},
				{name: "after", kind: timeKind, optional: true, means: "time asked for; this or --to"}},
			[]output{{"time_s", "time from the one to the other"}, {"voltage_v", "voltage after the time"},
				{"tau_s", "time constant RC"}, {"energy_j", "energy at the start"}}, calcDischarge},
		{"gas-energy", "energy of a gas under pressure and the distance to keep under test",
			"ASME PCC-2 (2008): E = Pt·V/(k−1)·[1 − (Pa/Pt)^((k−1)/k)], Pa 101 000 Pa; for air the exponent is 0.286 as " +
				"printed; distance from memory",
			[]input{{name: "pressure", kind: pressureKind, means: "absolute pressure"},
				{name: "volume", kind: volumeKind, means: "volume of the gas"},
				{name: "k", kind: ratioKind, optional: true, means: "ratio of specific heats; 1.4 if left out, air"}},
			[]output{{"energy_j", "energy set free"}, {"distance_m", "distance to keep from a pressure test"}}, calcGasEnergy},
		{"accumulator", "liquid that an accumulator gives off between two pressures, and its energy",
			"p·Vⁿ constant; energy as gas-energy",
			[]input{{name: "precharge", kind: pressureKind, means: "absolute pressure of the gas without liquid"},
				{name: "high", kind: pressureKind, means: "absolute pressure when full"},
				{name: "low", kind: pressureKind, means: "absolute pressure when given off"},
				{name: "volume", kind: volumeKind, means: "gas volume at precharge"},
				{name: "n", kind: ratioKind, optional: true, means: "exponent; 1 if left out, slow; 1.4 quick"}},
			[]output{{"volume_m3", "liquid given off between high and low"}, {"liquid_m3", "liquid in it at high"},
				{"size_m3", "gas volume that would give off as much as --volume says"}, {"energy_j", "energy of its gas at high"},
				{"distance_m", "distance to keep from a pressure test"}}, calcAccumulator},
		{"trapped-liquid", "rise of pressure in liquid shut in, when it warms",
			"(α − α_wall)·ΔT/(χ + D/(t·E)) in a pipe, α·ΔT/χ in a rigid vessel (no --diameter and --wall)",
			trappedInputs(), []output{{"pressure_rise_pa", "rise of pressure (below zero: it falls, at most to a vacuum)"},
				{"pressure_rise_pa_per_k", "rise for each kelvin"}}, calcTrapped},
	}
}

func cooldownInputs() []input {
	return []input{
		{name: "from", kind: tempKind, means: "temperature at the start"},
		{name: "ambient", kind: tempKind, means: "temperature of the surroundings"},
		{name: "to", kind: tempKind, optional: true, means: "temperature asked for; this or --after"},
		{name: "after", kind: timeKind, optional: true, means: "time asked for; this or --to"},
		{name: "tau", kind: timeKind, optional: true, means: "time constant; this, or mass, area and coefficient"},
		{name: "mass", kind: massKind, optional: true, means: "mass"},
		{name: "heat", kind: heatKind, optional: true, means: "specific heat; 480 J/kgK if left out, steel"},
		{name: "area", kind: areaKind, optional: true, means: "surface that gives off heat"},
		{name: "coefficient", kind: coefficientKind, optional: true, means: "heat transfer coefficient"},
	}
}

func trappedInputs() []input {
	return []input{
		{name: "expansion", kind: expansionKind, means: "expansion of the liquid's volume"},
		{name: "compressibility", kind: compressKind, means: "compressibility of the liquid"},
		{name: "diameter", kind: lengthKind, optional: true, means: "diameter of the pipe; with --wall"},
		{name: "wall", kind: lengthKind, optional: true, means: "thickness of its wall; with --diameter"},
		{name: "rise", kind: riseKind, means: "rise of temperature"},
		{name: "wall-expansion", kind: expansionKind, optional: true,
			means: "expansion of the metal's volume; 36e-6/K if left out, steel"},
		{name: "modulus", kind: modulusKind, optional: true, means: "modulus of the metal; 200 GPa if left out, steel"},
	}
}

// one says which of two flags was given; both or neither is refused.
func (v values) one(a, b string) (string, error) {
	switch {
	case v.has(a) && v.has(b):
		return "", fmt.Errorf("--%s and --%s can't both be given", a, b)
	case v.has(a):
		return a, nil
	case v.has(b):
		return b, nil
	}
	return "", fmt.Errorf("--%s or --%s is missing", a, b)
}

func calcCooldown(v values) (map[string]float64, error) {
	n := v.number
	tau, err := v.tau()
	if err != nil {
		return nil, err
	}
	which, err := v.one("to", "after")
	if err != nil {
		return nil, err
	}
	l := energy.Lump{TauS: tau, AmbientC: n["ambient"]}
	if which == "after" {
		t, err := l.After(n["from"], n["after"])
		return map[string]float64{"temperature_c": t, "tau_s": tau}, err
	}
	t, err := l.Time(n["from"], n["to"])
	return map[string]float64{"time_s": t, "tau_s": tau}, err
}

// tau is the time constant, given or made.
func (v values) tau() (float64, error) {
	n := v.number
	made := v.has("mass") || v.has("area") || v.has("coefficient") || v.has("heat")
	if v.has("tau") {
		if made {
			return 0, errors.New("--tau and --mass, --area, --coefficient can't both be given")
		}
		return n["tau"], nil
	}
	for _, name := range []string{"mass", "area", "coefficient"} {
		if !v.has(name) {
			return 0, fmt.Errorf("--%s is missing; give --tau, or --mass, --area and --coefficient", name)
		}
	}
	c := 480.0
	if v.has("heat") {
		c = n["heat"]
	}
	return energy.Tau(n["mass"], c, n["area"], n["coefficient"])
}

func calcCoastdown(v values) (map[string]float64, error) {
	var list []energy.Tacho
	for _, p := range v.pairs["reading"] {
		list = append(list, energy.Tacho{AtS: p[0], RPM: p[1] * 30 / math.Pi})
	}
	if len(list) == 2 && !v.has("drag") {
		t, err := energy.StraightLine(list[0], list[1])
		return map[string]float64{"time_at_least_s": t}, err
	}
	if len(list) != 3 {
		return nil, fmt.Errorf("--reading has to be given three times (twice for a lower bound); it was given %d times",
			len(list))
	}
	three := [3]energy.Tacho(list)
	longest, err := energy.Longest(three)
	if err != nil {
		return nil, err
	}
	c := longest
	if law := v.word["drag"]; law == "" {
		c, err = energy.FitCoastDown(energy.LinearDrag, three)
	} else if law != "longest" {
		c, err = energy.FitCoastDown(energy.Drag(law), three)
	}
	if err != nil {
		return nil, err
	}
	if c.Never {
		return nil, fmt.Errorf("by %s drag these readings never come quite to rest; take further ones as it slows", c.Drag)
	}
	r := map[string]float64{"time_s": c.StopS, "drag_constant_rad_s2": c.A, "drag_linear_per_s": c.B,
		"drag_quadratic_per_rad": c.C}
	if !longest.Never {
		r["time_longest_s"] = longest.StopS
	}
	return r, nil
}

func calcDischarge(v values) (map[string]float64, error) {
	n := v.number
	which, err := v.one("to", "after")
	if err != nil {
		return nil, err
	}
	c := energy.Charge{VoltageV: n["from"], ResistanceOh: n["resistance"], CapacitanceF: n["capacitance"]}
	r := map[string]float64{"tau_s": n["resistance"] * n["capacitance"],
		"energy_j": n["capacitance"] * n["from"] * n["from"] / 2}
	if which == "to" {
		r["time_s"], err = c.DischargeTime(n["from"], n["to"])
	} else {
		r["voltage_v"], err = c.VoltageAfter(n["from"], n["after"])
	}
	return r, err
}

func calcGasEnergy(v values) (map[string]float64, error) {
	g := energy.Gas{PressurePa: v.number["pressure"], VolumeM3: v.number["volume"], K: v.number["k"]}
	return gasFigures(g)
}

func gasFigures(g energy.Gas) (map[string]float64, error) {
	e, err := g.EnergyJ()
	if err != nil {
		return nil, err
	}
	far, err := energy.SafeDistance(e)
	return map[string]float64{"energy_j": e, "distance_m": far}, err
}

func calcAccumulator(v values) (map[string]float64, error) {
	n := v.number
	a := energy.Accumulator{PrechargePa: n["precharge"], PressurePa: n["high"], VolumeM3: n["volume"], N: n["n"]}
	out, err := a.Delivered(n["high"], n["low"])
	if err != nil {
		return nil, err
	}
	liquid, err := a.LiquidM3(n["high"])
	if err != nil {
		return nil, err
	}
	r, err := gasFigures(energy.Gas{PressurePa: n["high"], VolumeM3: n["volume"] - liquid})
	if err != nil {
		return nil, err
	}
	r["volume_m3"], r["liquid_m3"], r["size_m3"] = out, liquid, n["volume"]*n["volume"]/out
	return r, nil
}

func calcTrapped(v values) (map[string]float64, error) {
	n := v.number
	t := energy.Trapped{ExpansionPerK: n["expansion"], CompressPerPa: n["compressibility"], DiameterM: n["diameter"],
		WallM: n["wall"],
		RiseK: n["rise"], WallExpansion: n["wall-expansion"], ModulusPa: n["modulus"]}
	per, err := t.PerKelvin()
	return map[string]float64{"pressure_rise_pa": per * n["rise"], "pressure_rise_pa_per_k": per}, err
}
