package paper

// column is one column of a table; the widths of a table add up to bodyW.
type column struct {
	head string
	w    float64 // mm
	face face
}

// cell is what stands in one place of a table: text, or a position with its symbol.
type cell struct {
	text string
	pos  Position
}

// The table's measures: padding inside a cell, its type, the symbol's size, mm.
const (
	cellPad  = 0.9
	cellPt   = 7.5
	symbolW  = 6.5
	symbolH  = 4.2
	minLines = 3 // a row is split over pages only if it leaves as many lines on each
)

// texts are cells without symbols.
func texts(s ...string) []cell {
	row := make([]cell, len(s))
	for i, t := range s {
		row[i].text = t
	}
	return row
}

// table draws rows under a head that is repeated on every page. A row goes to the
// next page as a whole if it fits there; one that is higher than a page is split.
// No text is shortened.
func (p *sheet) table(cols []column, rows [][]cell) {
	p.setFace(sans, cellPt)
	p.room(p.headHeight(cols) + float64(minLines)*cellPt*mmPerPt*leading + 2*cellPad)
	p.tableHead(cols)
	for _, row := range rows {
		p.row(cols, row)
	}
	p.y += 1.5
}

// headLines are the wrapped headings.
func (p *sheet) headLines(cols []column) (lines [][]string, most int) {
	p.setFace(bold, 6.5)
	for _, c := range cols {
		l := p.wrap(c.head, c.w-2*cellPad)
		lines = append(lines, l)
		most = max(most, len(l))
	}
	return lines, most
}

// headHeight is the height of the table's head, mm.
func (p *sheet) headHeight(cols []column) float64 {
	_, most := p.headLines(cols)
	return float64(most)*p.lineMM() + 2*cellPad
}

// tableHead draws the headings on a light ground between two lines.
func (p *sheet) tableHead(cols []column) {
	lines, most := p.headLines(cols)
	h := float64(most)*p.lineMM() + 2*cellPad
	p.pdf.SetFillColor(232, 232, 232)
	p.pdf.Rect(leftMM, p.y, bodyW, h, "F")
	p.ink()
	x := leftMM
	for i, c := range cols {
		for n, l := range lines[i] {
			p.write(x+cellPad, p.y+cellPad+float64(n)*p.lineMM(), c.w, AlignLeft, l)
		}
		x += c.w
	}
	p.rule(p.y+h, 0.3)
	p.y += h
}

// row draws one row, over as many pages as it takes.
func (p *sheet) row(cols []column, row []cell) {
	lines := make([][]string, len(cols))
	most := 1
	for i, c := range cols {
		p.cellFace(c, row[i])
		lines[i] = p.wrap(p.clean(row[i].words()), c.w-2*cellPad-row[i].inset())
		most = max(most, len(lines[i]))
	}
	p.setFace(sans, cellPt)
	lineH := p.lineMM()
	for first := 0; first < most; {
		fit := int((bodyBottom - p.y - 2*cellPad) / lineH)
		if rest := most - first; fit < rest && (fit < minLines || rest*3 < int((bodyBottom-topMM)/lineH)) {
			p.newPage()
			p.tableHead(cols)
			fit = int((bodyBottom - p.y - 2*cellPad) / lineH)
		}
		n := min(fit, most-first)
		p.rowPart(cols, row, lines, first, n)
		first += n
	}
}

// rowPart draws n lines of a row from line first on, and the line below them.
func (p *sheet) rowPart(cols []column, row []cell, lines [][]string, first, n int) {
	x, h := leftMM, 0.0
	for i, c := range cols {
		if first == 0 && row[i].pos.IsSet() {
			p.symbol(row[i].pos.Mark, x+cellPad, p.y+0.5, symbolW, symbolH)
			h = symbolH + 1
		}
		p.cellFace(c, row[i])
		for k := first; k < min(first+n, len(lines[i])); k++ {
			p.write(x+cellPad+row[i].inset(), p.y+cellPad+float64(k-first)*cellPt*mmPerPt*leading, c.w, AlignLeft, lines[i][k])
		}
		x += c.w
	}
	p.setFace(sans, cellPt)
	p.y += max(h, float64(n)*p.lineMM()+2*cellPad)
	p.pdf.SetDrawColor(150, 150, 150)
	p.rule(p.y, 0.1)
	p.ink()
}

// cellFace sets the type of a cell; the word of a position gives way in size before
// it is broken.
func (p *sheet) cellFace(c column, in cell) {
	p.setFace(faceFor(c.face, p.clean(in.words())), cellPt)
	if !in.pos.IsSet() {
		return
	}
	w := c.w - 2*cellPad - in.inset()
	for pt := float64(cellPt); pt > 5 && p.breaksWord(p.clean(in.words()), w); pt -= 0.25 {
		p.setFace(c.face, pt)
	}
}

// words is the text of a cell; a position is always written out beside its symbol.
func (c cell) words() string {
	if c.pos.IsSet() {
		return c.pos.Words()
	}
	if c.text == "" {
		return "–"
	}
	return c.text
}

// inset is how far the text stands in to leave room for a symbol, mm.
func (c cell) inset() float64 {
	if c.pos.IsSet() {
		return symbolW + 1
	}
	return 0
}
