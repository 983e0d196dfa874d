package energy

import (
	"fmt"
	"math"
)

// Charge is a capacitance that discharges through a resistance after it was cut
// off, such as the link of a frequency converter.
type Charge struct {
	VoltageV     float64 // at the moment of cutting off
	ResistanceOh float64 // of the discharge path, Ω; 0: none known, then it never falls
	CapacitanceF float64 // F
}

const (
	// SafeVoltageV: IEC 60204-1, 6.2.4.
	SafeVoltageV = 60
	// labelAfterS: slower than this it needs a label with the waiting time; same.
	labelAfterS = 5
	// exemptC: a charge up to 60 µC is exempt; same.
	exemptC = 60e-6
)

const chargeSource = "60 V within 5 s of cutting off, else a label with the waiting time; 60 µC exempt: IEC 60204-1, " +
	"6.2.4"

func (c Charge) check() error {
	return firstOf(limits{0, 1e6, "V"}.hold("voltage", c.VoltageV),
		limits{0, 1e15, "Ω"}.hold("resistance", c.ResistanceOh),
		limits{0, 1e4, "F"}.hold("capacitance", c.CapacitanceF))
}

// DischargeTime returns the seconds from fromV down to toV: RC·ln(from/to). toV
// must be above zero (it is never reached) and not above fromV.
func (c Charge) DischargeTime(fromV, toV float64) (float64, error) {
	err := firstOf(c.check(), limits{0, 1e6, "V"}.hold("from", fromV), limits{1e-9, 1e6, "V"}.hold("to", toV))
	if err == nil && toV > fromV {
		err = refuse("to", "%.6g V is above the voltage it starts from, %.6g V", toV, fromV)
	}
	if err == nil && (c.ResistanceOh == 0 || c.CapacitanceF == 0) {
		err = refuse("resistance and capacitance", "must both be above zero")
	}
	if err != nil {
		return 0, err
	}
	return c.ResistanceOh * c.CapacitanceF * math.Log(fromV/toV), nil
}

// VoltageAfter returns the voltage t seconds after it was fromV: V·e^(−t/RC).
func (c Charge) VoltageAfter(fromV, t float64) (float64, error) {
	err := firstOf(c.check(), limits{0, 1e6, "V"}.hold("from", fromV), limits{0, 1e9, "s"}.hold("after", t))
	if err == nil && (c.ResistanceOh == 0 || c.CapacitanceF == 0) {
		err = refuse("resistance and capacitance", "must both be above zero")
	}
	if err != nil {
		return 0, err
	}
	return fromV * math.Exp(-t/(c.ResistanceOh*c.CapacitanceF)), nil
}

// Predict returns the wait until 60 V.
func (c Charge) Predict() (Wait, error) {
	if err := c.check(); err != nil {
		return Wait{}, err
	}
	w := Wait{Kind: "charge", Figure: c.VoltageV, Limit: SafeVoltageV, Unit: "V", Source: chargeSource,
		EnergyJ: c.CapacitanceF * c.VoltageV * c.VoltageV / 2}
	switch {
	case c.VoltageV <= SafeVoltageV:
		w.Words = fmt.Sprintf("It never holds more than %d V.", SafeVoltageV)
	case c.CapacitanceF > 0 && c.VoltageV*c.CapacitanceF <= exemptC:
		w.Words = "It holds no more than 60 µC, which is exempt; measure all the same."
	case c.ResistanceOh == 0 || c.CapacitanceF == 0:
		w.Never = true
		w.Words = "No discharge path is known: it may stay charged until it is discharged by hand. Measure."
	default:
		w.WaitS = c.ResistanceOh * c.CapacitanceF * math.Log(c.VoltageV/SafeVoltageV)
		w.Words = fmt.Sprintf("It should be down to %d V %s after cutting off.", SafeVoltageV, span(w.WaitS))
		if label := c.Label(); label != "" {
			w.Words = fmt.Sprintf("After cutting off it falls to %d V. %s", SafeVoltageV, label)
		}
	}
	return w, nil
}

// Label returns the sentence that goes with the waiting-time label that IEC 60204-1 asks for
// where discharge takes more than 5 s; empty where none is needed. The time is
// rounded up to whole seconds.
func (c Charge) Label() string {
	rc := c.ResistanceOh * c.CapacitanceF
	if c.check() != nil || rc == 0 || c.VoltageV <= SafeVoltageV || c.VoltageV*c.CapacitanceF <= exemptC {
		return ""
	}
	t := rc * math.Log(c.VoltageV/SafeVoltageV)
	if t <= labelAfterS {
		return ""
	}
	return fmt.Sprintf("Wait %.0f s, or as long as the label on it says if that is longer; then measure.", math.Ceil(t))
}

// Judge lets a voltage pass that is at or below 60 V either way round.
func (c Charge) Judge(r Reading, nowS float64) (Judgement, error) {
	if err := r.check(limits{-1e6, 1e6, "V"}, nowS); err != nil {
		return Judgement{}, err
	}
	return below("The residual voltage", math.Abs(r.Value), SafeVoltageV, "V"), nil
}
