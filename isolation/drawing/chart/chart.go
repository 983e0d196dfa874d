package chart

import (
	"fmt"
	"math"
	"slices"
)

// Point is one point of a course: seconds since the moment that counts, and the value then in the chart's unit.
type Point struct{ S, V float64 }

// Reading is one measurement that a person typed in. S is when, in seconds since the moment that counts (the drain
// opened, the last supply cut); not a number if that moment is not known: then it stands in the table alone.
type Reading struct {
	S     float64
	Value float64 // litres out, °C, rpm, V, bar gauge
	OK    bool    // the verdict lets the gate open
	Clock string  // the time of day in the page's way, for the table
	Note  string  // anything odd about it, in words

	// Of a drained section: how long the flow was held under watch before S, and what came in that hold, litres.
	HoldS, HoldL float64
}

// Limit is a level at which a verdict turns.
type Limit struct {
	Value float64
	Words string
	above bool // its words stand above the line, else below
	right bool // at the right end rather than the left, if no reading stands in the way
}

// Chart is one picture and its table. Values are in Unit, times in seconds since the moment that Since names. The zero
// value is an empty chart. Only Drain and Stored make one.
type Chart struct {
	ID       string // of its own on a page that shows several
	Title    string
	Desc     string // the same facts in sentences, for readers who cannot see it
	Quantity string // what goes up the side
	Unit     string // "" only where the quantity has none
	Since    string // completes "minutes after …"

	Expected []Point // course that is foretold; nil if nothing is
	Stays    bool    // Expected does not fall by waiting
	Least    []Point // lower and upper edge of where the course may really run; nil without
	Most     []Point
	Fitted   []Point // course by the last three readings of a rotor; nil without
	Limits   []Limit
	Readings []Reading
	Notes    []string // sentences that belong under the picture

	facts []Row
	foreS float64 // how far to the right what is foretold must be seen; 0: nothing is
	endS  float64 // right end of the time axis
	topV  float64 // upper end of the value axis
}

// Row is one line of the table that says what the picture shows.
type Row struct {
	What, When, Value, Result string
}

// IsEmpty reports whether there is nothing to see: no course and no reading. Its notes may still say why.
func (c Chart) IsEmpty() bool { return len(c.Expected) == 0 && len(c.Readings) == 0 }

// Rows returns the chart as a table: first what is foretold, then every reading in the order of time. The numbers of
// the readings are those in the picture.
func (c Chart) Rows() []Row {
	out := slices.Clone(c.facts)
	for i, r := range c.Readings {
		row := Row{What: fmt.Sprintf("Reading %d", i+1), When: c.whenOf(r), Value: c.with(r.Value),
			Result: "does not open the gate"}
		if r.OK {
			row.Result = "within what the gate asks"
		}
		if r.HoldS > 0 {
			row.Value += fmt.Sprintf(", then %s in a hold of %s", c.with(r.HoldL), lasted(r.HoldS))
		}
		if r.Note != "" {
			row.Result += "; " + r.Note
		}
		out = append(out, row)
	}
	return out
}

func (c Chart) whenOf(r Reading) string {
	after := ""
	switch {
	case math.IsNaN(r.S):
	case r.S < 0:
		after = "before " + c.Since
	default:
		after = span(r.S) + " after " + c.Since
	}
	if r.Clock == "" || after == "" {
		return r.Clock + after
	}
	return r.Clock + ", " + after
}

// with writes a value with the chart's unit.
func (c Chart) with(v float64) string {
	if c.Unit == "" {
		return figure(v)
	}
	return figure(v) + " " + c.Unit
}

// takeReadings keeps the readings whose value is a number, in the order of time; those without a time come last.
func (c *Chart) takeReadings(list []Reading) {
	for _, r := range list {
		if !isNumber(r.Value) {
			continue
		}
		if !isNumber(r.S) {
			r.S = math.NaN()
		}
		if !isNumber(r.HoldS) || r.HoldS < 0 {
			r.HoldS = 0
		}
		if !isNumber(r.HoldL) || r.HoldL < 0 {
			r.HoldL = 0
		}
		c.Readings = append(c.Readings, r)
	}
	slices.SortStableFunc(c.Readings, func(a, b Reading) int {
		switch {
		case a.S < b.S, math.IsNaN(b.S) && !math.IsNaN(a.S):
			return -1
		case a.S > b.S, math.IsNaN(a.S) && !math.IsNaN(b.S):
			return 1
		}
		return 0
	})
}

// describe joins the rows into sentences.
func (c *Chart) describe() {
	c.Desc = ""
	for _, r := range c.Rows() {
		s := r.What
		for _, part := range []string{r.When, r.Value, r.Result} {
			if part != "" {
				s += ", " + part
			}
		}
		c.Desc += s + ". "
	}
	c.Desc += "A waiting time, never a proof: only a reading opens the gate."
}

// isNumber reports whether v is a number that can be drawn.
func isNumber(v float64) bool { return !math.IsNaN(v) && math.Abs(v) <= 1e12 }

// tidy keeps the points that can be drawn, in the order of time.
func tidy(list []Point) []Point {
	var out []Point
	for _, p := range list {
		if isNumber(p.S) && isNumber(p.V) && p.S >= 0 && (len(out) == 0 || p.S >= out[len(out)-1].S) {
			out = append(out, p)
		}
	}
	return out
}
