package paper

import (
	"io"
	"math"
)

// Report is tables that somebody asked for: a list of permits, a history, figures.
type Report struct {
	Stamp
	Title string // "PERMITS"
	Facts []Fact
	Parts []ReportPart
}

// Fact is a line of what a report is about.
type Fact struct{ Label, Text string }

// ReportPart is one table with its heading; above it bars of the same amounts, if there are any.
type ReportPart struct {
	Heading string
	Note    string // a sentence under the heading; may be empty
	Bars    []ReportBar
	Columns []ReportColumn
	Rows    [][]string // each as long as Columns
	None    string     // what is said where there are no rows
}

// ReportColumn is one column; Share is its width of all of them together.
type ReportColumn struct {
	Head  string
	Share float64
}

// ReportBar is one amount with its name. Over is drawn hollow: it is beyond what it may be, and Words say so.
type ReportBar struct {
	Name, Words string
	Value       float64
	Over        bool
}

// WriteReport writes a report as PDF. A part without rows says so. Nothing is written on error.
func WriteReport(w io.Writer, s Report) error {
	return produce(w, s.Stamp, func(p *sheet) error {
		p.begin(s.Title, "")
		for _, f := range s.Facts {
			p.fact(f.Label, f.Text)
		}
		for _, part := range s.Parts {
			p.part(part)
		}
		return nil
	})
}

// part draws one part of a report.
func (p *sheet) part(part ReportPart) {
	p.heading(part.Heading, 14)
	if part.Note != "" {
		p.para(sans, part.Note)
	}
	if len(part.Rows) == 0 {
		p.para(sans, part.None)
		return
	}
	p.y += 0.6
	p.bars(part.Bars)
	total := 0.0
	for _, c := range part.Columns {
		total += c.Share
	}
	cols := make([]column, len(part.Columns))
	for i, c := range part.Columns {
		cols[i] = column{p.clean(c.Head), bodyW * c.Share / total, sans}
	}
	rows := make([][]cell, len(part.Rows))
	for i, r := range part.Rows {
		rows[i] = texts(r...)
	}
	p.table(cols, rows)
}

// bars draws amounts one below the other: name, bar, words.
func (p *sheet) bars(bars []ReportBar) {
	const nameW, wordsW, rowH, barH = 58.0, 34.0, 5.2, 3.2
	most := 0.0
	for _, b := range bars {
		most = math.Max(most, b.Value)
	}
	for _, b := range bars {
		p.room(rowH)
		p.block(box{x: leftMM, y: p.y, w: nameW - 2, h: rowH - 0.6, face: sans, maxPt: 7.5, minPt: 5}, b.Name)
		long := 0.0
		if most > 0 && b.Value > 0 {
			long = math.Max(0.4, (bodyW-nameW-wordsW)*b.Value/most)
		}
		style := "DF"
		if b.Over {
			style = "D"
		}
		p.pdf.SetFillColor(110, 110, 110)
		if long > 0 {
			p.pdf.Rect(leftMM+nameW, p.y+0.2, long, barH, style)
		}
		p.ink()
		p.block(box{x: leftMM + nameW + long + 1.5, y: p.y, w: wordsW - 2, h: rowH - 0.6, face: sans, maxPt: 7.5, minPt: 5},
			b.Words)
		p.y += rowH
	}
	if len(bars) > 0 {
		p.y += 1.5
	}
}
