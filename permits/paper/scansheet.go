package paper

import (
	"fmt"
	"io"
)

// ScanSheet is what somebody takes along where a phone has no line: each point of a permit in the order of the walk,
// with room to write down what was done there. It carries no tag's code: a tag is read at its point, and nowhere else.
type ScanSheet struct {
	Stamp
	Number string // of the permit; must not be empty
	Title  string
	URL    string // of the permit's walk; must not be empty
	Rows   []ScanRow
}

// ScanRow is one point.
type ScanRow struct {
	Step        int
	Point, Name string // the id must not be empty
	Place       Place
	Held        Position // must be set
	Lock        bool     // a lock goes on; else a tag alone
	URL         string   // of the point's own page; must not be empty
}

// scanRowMM is how high a row is: its code can be read by a phone at arm's length, and a glove writes beside it.
const scanRowMM = 24.0

// WriteScanSheet writes the sheet as PDF. Refuses (ErrIncomplete) a sheet without permit or points, and a point without
// id, position or address. Nothing is written on error.
func WriteScanSheet(w io.Writer, s ScanSheet) error {
	if s.Number == "" || len(s.Rows) == 0 {
		return fmt.Errorf("%w: the scan sheet has no permit, or no points", ErrIncomplete)
	}
	for _, r := range s.Rows {
		if r.Point == "" || r.URL == "" || !r.Held.IsSet() {
			return fmt.Errorf("%w: step %d of the scan sheet has no point, address or position", ErrIncomplete, r.Step)
		}
	}
	return produce(w, s.Stamp, func(p *sheet) error {
		p.begin("SCAN SHEET", s.Number)
		if err := p.drawQR(leftMM+bodyW-24, p.y, 24, s.URL); err != nil {
			return fmt.Errorf("walk of permit %s: %w", s.Number, err)
		}
		p.narrow = 27
		p.block(box{x: leftMM, y: p.y, w: bodyW - 27, h: 10, face: bold, maxPt: 12, minPt: 8}, s.Title)
		p.y += 11
		p.para(bold, "Nothing on this sheet is recorded. Enter it where there is a line, before anybody relies on it.")
		p.para(sans, "Write the time at the point, not afterwards. The code beside each point opens the point's own page; "+
			"the code above opens the walk. Tags are read at the points. No lock comes off by this sheet.")
		p.narrow = 0
		p.y += 5
		for _, r := range s.Rows {
			if err := p.scanRow(r); err != nil {
				return fmt.Errorf("step %d: %w", r.Step, err)
			}
		}
		p.y += 3
		p.para(sans, "Entered by, date and time: ______________________________   Every line was entered: yes / no")
		return nil
	})
}

// scanRow draws one point with its boxes.
func (p *sheet) scanRow(r ScanRow) error {
	p.room(scanRowMM)
	p.ink()
	const qr, words = 22.0, 62.0
	if err := p.drawQR(leftMM, p.y+1, qr, r.URL); err != nil {
		return err
	}
	x := leftMM + qr + 2
	p.block(box{x: x, y: p.y + 1, w: words, h: 6, face: mono, maxPt: 13, minPt: 5},
		fmt.Sprintf("%d  %s", r.Step, r.Point))
	p.block(box{x: x, y: p.y + 7, w: words, h: 7, face: sans, maxPt: 8.5, minPt: 5}, r.Name)
	p.block(box{x: x, y: p.y + 14, w: words, h: 4, face: sans, maxPt: 8, minPt: 5}, r.Place.String())
	hangs := "tag alone"
	if r.Lock {
		hangs = "lock and tag"
	}
	p.block(box{x: x, y: p.y + 18.2, w: words, h: 4, face: bold, maxPt: 8.5, minPt: 5}, r.Held.Word+", "+hangs)
	x += words + 2
	for _, col := range []struct {
		words string
		w     float64
	}{{"Time", 20}, {"Who", 22}, {"Lock no.", 20}, {"Reading", bodyW - qr - words - 4 - 62}} {
		p.pdf.Rect(x, p.y+1, col.w, scanRowMM-2, "D")
		p.block(box{x: x + 0.8, y: p.y + 1.4, w: col.w - 1.6, h: 3, face: sans, maxPt: 6.5, minPt: 5}, col.words)
		x += col.w
	}
	p.y += scanRowMM
	p.rule(p.y, 0.2)
	return nil
}
