package chart_test

import (
	"fmt"

	"stillwatch/isolation"
	"stillwatch/isolation/drawing/chart"
)

// What is foretold of a section's draining, with one reading, as rows that say the same as the picture.
func ExampleDrain() {
	section := isolation.Section{ID: "casing", Name: "Pump casing", OutL: 5.7, SpreadL: 0.7, DrainS: 60,
		Curve: []isolation.Level{{S: 0, L: 0}, {S: 30, L: 4}, {S: 60, L: 5.7}}}
	c := chart.Drain(section, []chart.Reading{{S: 90, Value: 5.5, OK: true, Clock: "10:15"}})
	for _, r := range c.Rows() {
		fmt.Println(r)
	}
	// Output:
	// {Expected to come out  5.7 L, give or take 0.7 L }
	// {Expected out by then 21 s after the drain was opened 2.85 L }
	// {Expected out by then 50 s after the drain was opened 5.13 L }
	// {All that comes should be out 60 s after the drain was opened  with bores at the small end: 71 s}
	// {Reading 1 10:15, 90 s after the drain was opened 5.5 L within what the gate asks}
}
