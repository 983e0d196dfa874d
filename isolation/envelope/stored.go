package envelope

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"stillwatch/isolation"
	"stillwatch/isolation/energy"
)

const barPa = 1e5

// Stored turns the stored energies of the job's machine, and of every other machine of which something that holds
// anything is opened, and what is charged on a cable that is cut, into checks: what is expected, how long to wait, and
// what must be read before the work. Ids are the kind, with a number from the second of a kind on.
//
// Gas is taken to leave through the widest opening that the plan opens for gas, of the bore bleedM in metres.
func (k *Work) Stored(bleedM float64) ([]isolation.StoredCheck, error) {
	var out []isolation.StoredCheck
	count := map[string]int{}
	for _, m := range append(k.Opened(), k.Charged...) {
		for _, s := range m.Stored {
			if slices.Contains(k.Charged, m) && s.Kind != "charge" {
				continue
			}
			count[s.Kind]++
			id := s.Kind
			if n := count[s.Kind]; n > 1 {
				id = fmt.Sprintf("%s-%d", s.Kind, n)
			}
			if m != k.Machine {
				s.Name = isolation.InSentence(m.Name, s.Name)
			}
			c, err := newStoredCheck(id, s, bleedM)
			if err != nil {
				return nil, fmt.Errorf("stored energy of %s: %w", m.Name, err)
			}
			c.Machine = m.ID
			out = append(out, c)
		}
	}
	return out, nil
}

// Opened lists the machines whose stored energies can hurt: the job's own first, then every other of which the work
// opens more than a consumer. A motor that is only kept from moving does not open its pump.
func (k *Work) Opened() []*isolation.Machine {
	var out []*isolation.Machine
	if k.Machine != nil {
		out = append(out, k.Machine)
	}
	for i := range k.Plant.Machines {
		m := &k.Plant.Machines[i]
		if m != k.Machine && slices.ContainsFunc(k.Numbers(m.Nodes), func(n int32) bool {
			return k.InZone[n] && k.At(n).Kind != isolation.Consumer
		}) {
			out = append(out, m)
		}
	}
	return out
}

// newStoredCheck foretells one stored energy. Pressures are turned into bar, because that is what a gauge shows.
func newStoredCheck(id string, s isolation.Stored, bleedM float64) (isolation.StoredCheck, error) {
	body, err := bodyOf(s)
	if err != nil {
		return isolation.StoredCheck{}, err
	}
	if g, is := body.(energy.Gas); is {
		g.BleedM = bleedM
		body = g
	}
	w, err := body.Predict()
	if err != nil {
		return isolation.StoredCheck{}, fmt.Errorf("%s: %w", id, err)
	}
	c := isolation.StoredCheck{
		ID:     id,
		Stored: s,
		Name:   s.Name,
		Unit:   w.Unit,
		Now:    w.Figure,
		Limit:  w.Limit,
		WaitS:  w.WaitS,
		Source: w.Source,
	}
	if c.Name == "" {
		c.Name = s.Kind
	}
	switch s.Kind {
	case "rotation":
		c.Quantity = "shaft speed; 0 only if seen to stand still"
	case "heat":
		c.Quantity = "surface temperature"
	case "charge":
		c.Quantity = "residual voltage"
	case "gas", "accumulator", "liquid":
		c.Quantity, c.Unit, c.Now, c.Limit = "gauge pressure", "bar", w.Figure/barPa, w.Limit/barPa
	default:
		c.Quantity, c.Unit, c.Now, c.Limit = "restrained: 1 yes, 0 no", "", 0, 1
	}
	c.Words = isolation.InSentence(c.Name, w.Words)
	if s.LimitBecause != "" {
		c.Words += fmt.Sprintf(" That is the company's limit: %s. Bare skin bears less.",
			strings.TrimSuffix(s.LimitBecause, "."))
		c.Source = s.LimitBecause
	}
	if s.Restraint != "" {
		c.Words += " Restraint: " + s.Restraint + "."
	}
	return c, nil
}

// bodyOf returns the physics of a stored energy.
func bodyOf(s isolation.Stored) (energy.Stored, error) {
	switch s.Kind {
	case "rotation":
		return energy.Rotation{SpeedRPM: s.SpeedRPM, CoastDownS: s.CoastDownS}, nil
	case "heat":
		// no size is in the plant file: a cube with that surface, which cools about as slowly as anything of that area
		air := s.AmbientC
		if air == 0 {
			air = engineRoomC
		}
		return energy.Heat{SurfaceC: s.TempC, AmbientC: air, AmbientKnown: s.AmbientC != 0, ContactS: s.ContactS,
			OwnLimitC: s.LimitC,
			MetalKg:   s.MassKg, AreaM2: s.AreaM2, SizeM: math.Sqrt(s.AreaM2 / 6), Upright: true}, nil
	case "charge":
		return energy.Charge{VoltageV: s.Volt, ResistanceOh: s.ResistanceOhm, CapacitanceF: s.CapacitanceUF * 1e-6}, nil
	case "gas":
		return energy.Gas{PressurePa: s.GaugeBar*barPa + energy.AtmospherePa, VolumeM3: max(s.VolumeL/1000, 1e-9)}, nil
	case "accumulator":
		// with a precharge that is not told the whole volume is taken for gas at the liquid's pressure, which holds the most
		charge := s.PrechargeBar
		if charge == 0 {
			charge = s.GaugeBar
		}
		return energy.Accumulator{PrechargePa: charge*barPa + energy.AtmospherePa,
			PressurePa: s.GaugeBar*barPa + energy.AtmospherePa, VolumeM3: max(s.VolumeL/1000, 1e-9)}, nil
	case "liquid":
		// what is shut in warms to the engine room or cools to it; oil in a steel pipe of ordinary wall, from memory
		return energy.Trapped{ExpansionPerK: 7e-4, CompressPerPa: 6e-10, DiameterM: 0.05, WallM: 0.004,
			RiseK: riseOf(s.TempC), StartPa: s.GaugeBar * barPa}, nil
	case "spring":
		return energy.Spring{}, nil
	case "weight":
		return energy.Load{MassKg: s.MassKg}, nil
	}
	return nil, fmt.Errorf("nothing is known of stored energy of the kind %q", s.Kind)
}

// engineRoomC is the air to which a machine cools: a warm engine room, common practice, no source. It must lie below
// the touch limit, or waiting would never help.
const engineRoomC = 38

// riseOf returns by how much a trapped liquid warms or cools until it is as warm as the engine room; 0 where its
// temperature is not known.
func riseOf(tempC float64) float64 {
	if tempC == 0 {
		return 0
	}
	return engineRoomC - tempC
}

// AcceptableUpTo returns the highest reading of a stored energy, in the check's unit, that a chief engineer may accept
// in writing although it is over its limit: only heat, and only up to what bare skin bears for the second that a hand
// takes to come off the metal (65 °C, see energy.TouchLimit). may is false where nothing may be accepted.
func AcceptableUpTo(c *isolation.StoredCheck) (most float64, may bool) {
	if c.Stored.Kind != "heat" {
		return 0, false
	}
	most, err := energy.TouchLimit(1)
	return most, err == nil && c.Limit < most
}

// JudgeStored holds a reading of a stored energy, in the check's unit, against its limit: "within limit" opens the
// gate. A rotation passes only with 0, which says that it was seen to stand still; a spring or weight with 1,
// restrained; what has to be seen (see KindDry) with 1, yes. Returns an error for a reading that the quantity cannot
// have.
func JudgeStored(c *isolation.StoredCheck, value float64) (isolation.Finding, error) {
	if c.Stored.IsSeen() {
		return judgeSeen(c, value)
	}
	body, err := bodyOf(c.Stored)
	if err != nil {
		return isolation.Finding{}, fmt.Errorf("judge %s: %w", c.ID, err)
	}
	if c.Unit == "bar" {
		value *= barPa
	}
	j, err := body.Judge(energy.Reading{Value: value, Still: value == 0}, 0)
	if err != nil {
		return isolation.Finding{}, fmt.Errorf("judge %s: %w", c.ID, err)
	}
	f := isolation.Finding{OK: j.Within, Result: "above limit", Words: c.Name + ": " + j.Words}
	if c.Unit == "bar" {
		f.Words = fmt.Sprintf("%s: the gauge shows %.3g bar, and only what reads as none, up to %.2g bar either way, lets "+
			"the work begin.", c.Name, value/barPa, c.Limit)
	}
	if f.OK {
		f.Result = "within limit"
	}
	return f, nil
}
