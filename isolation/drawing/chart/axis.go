package chart

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// How far an axis follows readings that lie outside what is foretold. Beyond it they stand at the edge with an arrow: a
// reading of next day must not squeeze the course of an hour into a line.
const (
	mostTimes  = 3.0 // of the time that is foretold
	mostValues = 2.0 // of the values that are foretold
	room       = 1.08
	emptyS     = 600 // length of the time axis when nothing is known
)

// scale fits both axes to courses, limits and readings.
func (c *Chart) scale() {
	foreV := 0.0
	for _, list := range [][]Point{c.Expected, c.Most} {
		for _, p := range list {
			foreV = math.Max(foreV, p.V)
		}
	}
	for _, l := range c.Limits {
		foreV = math.Max(foreV, l.Value)
	}
	readS, readV := 0.0, 0.0
	for _, r := range c.Readings {
		readV = math.Max(readV, r.Value+r.HoldL)
		if !math.IsNaN(r.S) {
			readS = math.Max(readS, r.S)
		}
	}
	c.endS, c.topV = reach(c.foreS, readS, mostTimes), reach(foreV, readV, mostValues)
	if c.endS == 0 {
		c.endS = emptyS
	}
	if c.topV == 0 {
		c.topV = 1
	}
	c.endS, c.topV = c.endS*room, c.topV*room
}

// trim cuts the courses off at the end of the time axis.
func (c *Chart) trim() {
	for _, list := range []*[]Point{&c.Expected, &c.Least, &c.Most, &c.Fitted} {
		*list = until(*list, c.endS)
	}
}

// reach returns the end of an axis: what is foretold, or what was read if that is more, up to so many times as much.
func reach(foretold, read, times float64) float64 {
	if foretold == 0 {
		return read
	}
	return math.Max(foretold, math.Min(read, times*foretold))
}

// timeUnit is the unit of a time axis: one that gives small numbers.
type timeUnit struct {
	name    string
	seconds float64
	steps   []float64 // distances of ticks that people expect
}

var timeUnits = []timeUnit{
	{"seconds", 1, []float64{1, 2, 5, 10, 15, 30}},
	{"minutes", 60, []float64{1, 2, 5, 10, 15, 30}},
	{"hours", 3600, []float64{0.5, 1, 2, 3, 6, 12, 24}},
	{"days", 86400, []float64{0.5, 1, 2, 5, 7, 10, 14, 30}},
}

// unitFor returns the unit for an axis of so many seconds.
func unitFor(endS float64) timeUnit {
	switch {
	case endS < 150:
		return timeUnits[0]
	case endS < 3*3600:
		return timeUnits[1]
	case endS < 4*86400:
		return timeUnits[2]
	}
	return timeUnits[3]
}

// mostTicks is how many ticks an axis has at most, beside the one at 0: more would run into one another at 340 px.
const mostTicks = 5

// ticks returns the places of the ticks in 0…end, with a distance out of steps, or of 1, 2 or 5 times a power of ten.
func ticks(end float64, steps []float64) []float64 {
	step := 0.0
	for _, s := range steps {
		if end/s <= mostTicks+1e-9 {
			step = s
			break
		}
	}
	if step == 0 {
		step = math.Pow(10, math.Floor(math.Log10(end/mostTicks)))
		for _, m := range []float64{1, 2, 5, 10} {
			if end/(m*step) <= mostTicks+1e-9 {
				step *= m
				break
			}
		}
	}
	var out []float64
	for i := range mostTicks + 2 {
		if v := float64(i) * step; v <= end*(1+1e-9) {
			out = append(out, v)
		}
	}
	return out
}

// figure writes a number as a person would: three figures at most behind which nobody could read an instrument.
func figure(v float64) string {
	digits := 2
	switch a := math.Abs(v); {
	case a >= 99.95:
		digits = 0
	case a >= 9.995:
		digits = 1
	case a < 0.0995 && a > 0:
		return strconv.FormatFloat(v, 'g', 2, 64)
	}
	s := strconv.FormatFloat(v, 'f', digits, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// span writes a time in the unit that people would use, minutes and hours rounded up.
func span(s float64) string {
	switch {
	case s < 120:
		return fmt.Sprintf("%.0f s", s)
	case s < 7200:
		return fmt.Sprintf("%.0f min", math.Ceil(s/60-1e-9))
	case s < 48*3600:
		return fmt.Sprintf("%.1f h", math.Ceil(s/360-1e-9)/10)
	}
	return fmt.Sprintf("%.1f days", s/86400)
}

// lasted writes how long a recorded hold was, rounded down: never longer than it was.
func lasted(s float64) string {
	if s < 120 {
		return span(math.Floor(s + 1e-9))
	}
	return span(60 * math.Floor(s/60+1e-9))
}
