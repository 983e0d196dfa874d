package chart

import (
	"math"

	"stillwatch/isolation"
	"stillwatch/isolation/energy"
)

// Stored returns the course of a stored energy since its supply was cut, its limit, and the readings. ok is false for
// an energy that has no course, such as a spring or a weight, and where there is nothing to draw: nothing foretold and
// nothing read.
//
// The course has the shape that package energy computes, on a time scale that crosses the limit at the plan's own
// waiting time: the plan in force counts, not what this version would compute.
func Stored(check isolation.StoredCheck, readings []Reading) (c Chart, ok bool) {
	if check.Unit == "" {
		return Chart{}, false
	}
	if !isNumber(check.WaitS) {
		check.WaitS = 0
	}
	c = Chart{ID: "stored-" + check.ID, Title: titleOf(check), Quantity: quantityOf(check), Unit: check.Unit,
		Since: sinceOf(check)}
	c.takeReadings(readings)
	c.Limits = []Limit{{Value: check.Limit, Words: limitWords(check), above: true}}
	c.courseDown(check)
	if check.Stored.Kind == "rotation" {
		c.fit(check)
	}
	if c.Expected == nil && len(c.Readings) == 0 || !isNumber(check.Limit) {
		return Chart{}, false
	}
	c.scale()
	if kind := check.Stored.Kind; c.Stays || kind == "rotation" || kind == "gas" {
		c.Expected = held(c.Expected, c.endS)
	}
	c.trim()
	c.describe()
	return c, true
}

func titleOf(check isolation.StoredCheck) string {
	switch check.Stored.Kind {
	case "rotation":
		return "Run-down of " + check.Name
	case "heat":
		return "Cooling of " + check.Name
	case "charge":
		return "Discharge of " + check.Name
	}
	return "Pressure in " + check.Name
}

func quantityOf(check isolation.StoredCheck) string {
	switch check.Stored.Kind {
	case "rotation":
		return "speed, rpm"
	case "heat":
		return "surface temperature, °C"
	case "charge":
		return "residual voltage, V"
	}
	return "gauge pressure, " + check.Unit
}

// sinceOf names the moment from which the wait counts; package permits reckons from the same.
func sinceOf(check isolation.StoredCheck) string {
	switch check.Stored.Kind {
	case "rotation", "charge":
		return "the power was cut"
	case "heat":
		return "the last supply was cut"
	}
	return "it was opened to the air"
}

func limitWords(check isolation.StoredCheck) string {
	if check.Stored.Kind == "rotation" {
		return "must stand still"
	}
	return "limit " + figure(check.Limit) + " " + check.Unit
}

// courseDown puts in what is foretold, and says it in the table.
func (c *Chart) courseDown(check isolation.StoredCheck) {
	if !isNumber(check.Now) {
		return
	}
	if check.Stored.Kind == "liquid" {
		c.facts = append(c.facts, Row{What: "Expected once it is as warm as the room", Value: c.with(check.Now)})
	} else {
		c.facts = append(c.facts, Row{What: "At the stop", Value: c.with(check.Now)})
	}
	c.facts = append(c.facts, Row{What: "Limit", Value: c.with(check.Limit), Result: check.Source})
	if !(check.Now > check.Limit) {
		return
	}
	c.Expected = tidy(course(check))
	if len(c.Expected) > 1 {
		c.foreS = 1.3 * check.WaitS
		c.facts = append(c.facts, Row{What: "Expected to be at the limit", When: span(check.WaitS) + " after " + c.Since})
		return
	}
	c.Expected = nil
	switch check.Stored.Kind {
	case "gas", "accumulator", "charge", "liquid":
		c.stay(check)
	default:
		c.Notes = append(c.Notes, "Nobody can foretell how long it takes: the plant file does not say enough. Take readings.")
	}
}

// stay draws a level that waiting does not change.
func (c *Chart) stay(check isolation.StoredCheck) {
	c.Stays = true
	c.Expected = []Point{{0, check.Now}}
	c.Notes = append(c.Notes, "Waiting does not lower it: it has to be let off.")
}

// courseSteps is how many pieces a drawn course has.
const courseSteps = 64

// course returns the fall from Now, on the plan's own time scale; nil where none can be computed.
func course(check isolation.StoredCheck) []Point {
	if !(check.WaitS > 0) || !isNumber(check.WaitS) {
		return nil
	}
	switch check.Stored.Kind {
	case "rotation":
		// Drag that grows with speed lets a rotor run below this line all the way to the same end.
		return []Point{{0, check.Now}, {check.WaitS, 0}}
	case "charge":
		return discharge(check)
	case "heat":
		air := check.Stored.AmbientC // as the plan reckons it
		if air == 0 {
			air = airC
		}
		return byWaits(check, max(lastC, air+1), func(v float64) float64 {
			return waitOf(energy.Heat{SurfaceC: v, AmbientC: air, MetalKg: check.Stored.MassKg, AreaM2: check.Stored.AreaM2,
				SizeM: math.Sqrt(check.Stored.AreaM2 / 6), Upright: true, ContactS: longContactS})
		})
	case "gas":
		return byWaits(check, check.Limit, func(v float64) float64 {
			return waitOf(energy.Gas{PressurePa: v*1e5 + energy.AtmospherePa, VolumeM3: max(check.Stored.VolumeL/1000, 1e-9),
				BleedM: 0.01})
		})
	}
	return nil
}

// How the plan foretells cooling: into a warm engine room. The course is drawn down to the limit of the longest contact
// that has one, 43 °C for eight hours.
const (
	airC         = 38
	lastC        = 43
	longContactS = 28800
)

// waitOf returns the wait that package energy foretells; not a number if none.
func waitOf(s energy.Stored) float64 {
	w, err := s.Predict()
	if err != nil || w.Never || w.AtLeast {
		return math.NaN()
	}
	return w.WaitS
}

// byWaits returns the course of a quantity whose fall depends on nothing but where it stands: from one value to another
// it takes the difference of their waits. The times are stretched so that the limit is crossed when the plan says.
func byWaits(check isolation.StoredCheck, down float64, wait func(v float64) float64) []Point {
	down = min(down, check.Limit)
	start := wait(check.Now)
	stretch := check.WaitS / (start - wait(check.Limit))
	if !(stretch > 0) || math.IsInf(stretch, 0) {
		return nil
	}
	var out []Point
	for i := range courseSteps + 1 {
		x := float64(i) / courseSteps
		v := down + (check.Now-down)*(1-x)*(1-x) // finer towards the end, where it slows
		out = append(out, Point{(start - wait(v)) * stretch, v})
	}
	at := Point{check.WaitS, check.Limit}
	for i, p := range out {
		if p.V <= at.V {
			return append(out[:i:i], append([]Point{at}, out[i:]...)...)
		}
	}
	return out
}

// discharge is the fall of a voltage through a resistance, beyond its limit too.
func discharge(check isolation.StoredCheck) []Point {
	tau := check.WaitS / math.Log(check.Now/check.Limit)
	c := energy.Charge{VoltageV: check.Now, ResistanceOh: tau, CapacitanceF: 1}
	var out []Point
	for i := range courseSteps + 1 {
		t := room * mostTimes * 1.3 * check.WaitS * float64(i) / courseSteps
		v, err := c.VoltageAfter(check.Now, t)
		if err != nil {
			return nil
		}
		out = append(out, Point{t, v})
	}
	return out
}

// until cuts a course off at a time; nothing is left of one that begins later.
func until(course []Point, end float64) []Point {
	for i, p := range course {
		if p.S > end && i == 0 {
			return nil
		}
		if p.S > end {
			a := course[i-1]
			return append(course[:i:i], Point{end, a.V + (p.V-a.V)*(end-a.S)/(p.S-a.S)})
		}
	}
	return course
}

// fit draws a rotor's course by its last three readings, if they fall, and says when it would stand still by them: of
// the laws of drag that fit, the one that stops last.
func (c *Chart) fit(check isolation.StoredCheck) {
	var last []energy.Tacho
	for _, r := range c.Readings {
		if r.S >= 0 && r.Value > 0 {
			last = append(last, energy.Tacho{AtS: r.S, RPM: r.Value})
		}
	}
	if len(last) < 3 {
		return
	}
	law, err := energy.Longest([3]energy.Tacho(last[len(last)-3:]))
	if err != nil {
		c.Notes = append(c.Notes, "The last three readings do not fall one after the other: it is not running down.")
		return
	}
	from := last[len(last)-3].AtS
	end := law.StopS
	if law.Never || !isNumber(end) {
		end = mostTimes * max(check.WaitS, last[len(last)-1].AtS)
		c.Notes = append(c.Notes, "By the last three readings it only ever slows: take further readings.")
	} else {
		c.Notes = append(c.Notes,
			"By the last three readings it stands still no sooner than "+span(end)+" after "+c.Since+".")
		c.facts = append(c.facts, Row{What: "Standing still by the last three readings", When: span(end) + " after " +
			c.Since, Value: c.with(0)})
	}
	c.foreS = max(c.foreS, min(1.05*end, mostTimes*max(check.WaitS, last[len(last)-1].AtS)))
	var fitted []Point
	for i := range courseSteps + 1 {
		t := from + (end-from)*float64(i)/courseSteps
		fitted = append(fitted, Point{t, law.Speed(t) * 30 / math.Pi})
	}
	c.Fitted = tidy(fitted)
}
