package screens

import (
	"bytes"
	"html/template"
	"math"
	"slices"
	"time"

	"stillwatch/isolation/drawing/chart"
	"stillwatch/permits"
)

// chartView is one chart of a waiting time with the readings taken, and the same as a table.
type chartView struct {
	ID   string
	SVG  template.HTML // made by package chart, which escapes every word
	Rows []chart.Row
}

// drainChart draws one section; nil if the permit has none of this id, or there is nothing to see.
func drainChart(drains []permits.DrainState, h permits.History, section string) *chartView {
	i := slices.IndexFunc(drains, func(d permits.DrainState) bool { return d.Section.ID == section })
	if i < 0 {
		return nil
	}
	return chartViewOf(chart.Drain(drains[i].Section, chartReadings(h.Sections[section])))
}

// storedChart draws one stored energy; nil if the permit has none of this id, or there is nothing to see.
func storedChart(stored []permits.StoredState, h permits.History, check string) *chartView {
	i := slices.IndexFunc(stored, func(s permits.StoredState) bool { return s.Check.ID == check })
	if i < 0 {
		return nil
	}
	c, ok := chart.Stored(stored[i].Check, chartReadings(h.Stored[check]))
	if !ok {
		return nil
	}
	return chartViewOf(c)
}

func chartViewOf(c chart.Chart) *chartView {
	if c.IsEmpty() {
		return nil
	}
	var b bytes.Buffer
	if err := c.SVG(&b); err != nil {
		return nil // the verdict above says what counts
	}
	return &chartView{ID: Slug(c.ID), SVG: template.HTML(b.String()), Rows: c.Rows()}
}

// chartReadings turns moments into seconds since the one that counts; where that is not known they are not a number,
// and the reading stands in the table alone.
func chartReadings(list []permits.Measured) []chart.Reading {
	out := make([]chart.Reading, len(list))
	for i, m := range list {
		after, ok := m.After()
		s := after.Seconds()
		if !ok {
			s = math.NaN()
		}
		out[i] = chart.Reading{S: s, Value: m.Value, OK: m.Finding.OK, Clock: chartClock(m.At), Note: m.Doubt, HoldS: m.HoldS,
			HoldL: m.HoldL}
	}
	return out
}

// chartClock returns day and time: a job may last longer than a day.
func chartClock(t time.Time) string { return t.Local().Format("2 Jan 15:04") }
