package energy

import "fmt"

const restraintSource = "stored energy blocked, released or restrained: 29 CFR 1910.147(d)(5)"

// Spring is a spring under tension or compression.
type Spring struct {
	StiffnessNM float64 // N/m; 0: unknown
	TravelM     float64 // from its rest length, m
}

// Load is a weight that could come down.
type Load struct {
	MassKg  float64
	HeightM float64 // that it could fall
}

// Predict returns the energy ½kx². Waiting does not help.
func (s Spring) Predict() (Wait, error) {
	err := firstOf(limits{0, 1e10, "N/m"}.hold("stiffness", s.StiffnessNM), limits{0, 10, "m"}.hold("travel", s.TravelM))
	if err != nil {
		return Wait{}, err
	}
	return restrain("spring", s.StiffnessNM*s.TravelM*s.TravelM/2), nil
}

// Judge takes 1 for restrained and 0 for not.
func (s Spring) Judge(r Reading, nowS float64) (Judgement, error) {
	return restrained("spring", r, nowS)
}

// Predict returns the energy m·g·h. Waiting does not help.
func (l Load) Predict() (Wait, error) {
	err := firstOf(limits{0, 1e6, "kg"}.hold("mass", l.MassKg), limits{0, 100, "m"}.hold("height", l.HeightM))
	if err != nil {
		return Wait{}, err
	}
	return restrain("load", l.MassKg*9.81*l.HeightM), nil
}

// Judge takes 1 for restrained and 0 for not.
func (l Load) Judge(r Reading, nowS float64) (Judgement, error) { return restrained("load", r, nowS) }

func restrain(kind string, energyJ float64) Wait {
	w := Wait{Kind: kind, Figure: energyJ, Unit: "J", EnergyJ: energyJ, Source: restraintSource, Never: true}
	w.Words = fmt.Sprintf("The %s has to be released or restrained; waiting does not help.", kind)
	if energyJ > 0 {
		w.Words += fmt.Sprintf(" It holds %.3g J.", energyJ)
	}
	return w
}

func restrained(kind string, r Reading, nowS float64) (Judgement, error) {
	if err := r.check(limits{0, 1, ""}, nowS); err != nil {
		return Judgement{}, err
	}
	switch r.Value {
	case 1:
		return Judgement{true, fmt.Sprintf("The %s is restrained.", kind)}, nil
	case 0:
		return Judgement{false, fmt.Sprintf("The %s is not restrained.", kind)}, nil
	}
	return Judgement{}, refuse("reading", "%.6g is neither 1 (restrained) nor 0 (not)", r.Value)
}
