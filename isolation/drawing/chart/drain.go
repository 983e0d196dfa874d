package chart

import (
	"math"

	"stillwatch/isolation"
)

// boreMargin is how far a bore may be off, as a share: the default of drain.Margin (common practice, no source). A
// narrower bore drains slower by its fourth power at worst, as package drain has it; a wider one quicker likewise.
const boreMargin = 0.04

// leastL is the volume in litres below which nothing is drawn: a few drops.
const leastL = 0.001

// Drain returns the litres expected out of a section against the time since its drain was opened, how far that may be
// off, and the readings: a mark for what came out, and a stroke from it to what had come at the end of the hold. A
// section of which nothing could be foretold gets the readings alone, and a note why.
func Drain(s isolation.Section, readings []Reading) Chart {
	c := Chart{ID: "drain-" + s.ID, Title: "Draining of " + s.Name, Quantity: "litres out", Unit: "L",
		Since: "the drain was opened"}
	c.takeReadings(readings)
	c.courseOut(s)
	if !s.Provable && s.Why != "" {
		c.Notes = []string{"Nothing that comes out proves this section: " + s.Why + "."}
	}
	c.scale()
	for _, list := range []*[]Point{&c.Expected, &c.Least, &c.Most} {
		*list = held(*list, c.endS)
	}
	c.trim()
	c.describe()
	return c
}

// courseOut puts the course in, with its edges and limits. The plan's curve is drawn to the whole that is expected,
// which counts half of each dead end and the last drips too.
func (c *Chart) courseOut(s isolation.Section) {
	least, most := max(0, s.OutL-s.SpreadL), s.OutL+s.SpreadL
	if !isNumber(most) || !(s.OutL > leastL) || !(s.SpreadL >= 0) {
		c.Notes = append(c.Notes, "Nothing is foretold to come out of it.")
		return
	}
	c.Limits = []Limit{
		{Value: most, Words: "over " + figure(most) + " L: passing", above: true},
		{Value: least, Words: "under " + figure(least) + " L: not drained", right: true},
	}
	c.facts = append(c.facts, Row{What: "Expected to come out", Value: figure(s.OutL) + " L, give or take " +
		figure(s.SpreadL) + " L"})
	if s.KeptL > 0 && isNumber(s.KeptL) {
		c.facts = append(c.facts, Row{What: "Stays in pockets and on walls", Value: figure(s.KeptL) + " L"})
	}
	course := outOf(s)
	if course == nil {
		c.Notes = append(c.Notes, "How long it takes cannot be foretold.")
		return
	}
	slow, quick := math.Pow(1-boreMargin, -4), math.Pow(1+boreMargin, -4)
	last := course[len(course)-1].S
	c.foreS = 1.2 * slow * last
	c.Expected = course
	c.Least = stretched(course, slow, least/s.OutL)
	c.Most = stretched(course, quick, most/s.OutL)
	for _, share := range []float64{0.5, 0.9} {
		c.facts = append(c.facts, Row{What: "Expected out by then", When: span(timeTo(course, share*s.OutL)) + " after " +
			c.Since, Value: figure(share*s.OutL) + " L"})
	}
	c.facts = append(c.facts, Row{What: "All that comes should be out", When: span(last) + " after " + c.Since,
		Result: "with bores at the small end: " + span(slow*last)})
}

// outOf returns the plan's curve drawn to OutL, or nil if there is none that rises.
func outOf(s isolation.Section) []Point {
	var course []Point
	for _, l := range s.Curve {
		course = append(course, Point{l.S, l.L})
	}
	course = tidy(course)
	if len(course) < 2 {
		return nil
	}
	last := course[len(course)-1]
	if last.V <= 0 || last.S <= 0 {
		return nil
	}
	if course = tidy(stretched(course, 1, s.OutL/last.V)); len(course) < 2 {
		return nil
	}
	return course
}

// stretched returns a course with its times and values multiplied.
func stretched(course []Point, times, values float64) []Point {
	out := make([]Point, len(course))
	for i, p := range course {
		out[i] = Point{p.S * times, p.V * values}
	}
	return out
}

// held returns a course that stays where it ends, until the end.
func held(course []Point, end float64) []Point {
	if len(course) == 0 {
		return nil
	}
	last := course[len(course)-1]
	if last.S >= end {
		return course
	}
	return append(course[:len(course):len(course)], Point{end, last.V})
}

// timeTo returns when a rising course reaches a value; its end if it never does.
func timeTo(course []Point, v float64) float64 {
	for i := 1; i < len(course); i++ {
		a, b := course[i-1], course[i]
		if b.V >= v && b.V > a.V {
			return a.S + (b.S-a.S)*max(0, v-a.V)/(b.V-a.V)
		}
	}
	return course[len(course)-1].S
}
