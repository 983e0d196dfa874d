package paper

import (
	"bytes"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/jung-kurt/gofpdf"
)

// A4, and the margins of papers that are filed: the left one takes a punch. mm.
const (
	pageW, pageH = 210.0, 297.0
	leftMM       = 20.0
	rightMM      = 12.0
	topMM        = 12.0
	footMM       = 21.0 // height kept for the foot
	bodyW        = pageW - leftMM - rightMM
	bodyBottom   = pageH - footMM
	bodyPt       = 8.5
	footQR       = 16.0 // the code at the foot, quiet zone included
)

// allPages stands for the number of pages until it is known.
const allPages = "{nb}"

// sheet is a paper while it is drawn: the PDF, where the next thing goes, and what
// the head and foot of each page say.
type sheet struct {
	pdf   *gofpdf.Fpdf
	stamp Stamp
	kind  string  // "ISOLATION PLAN"
	ref   string  // number or id, upper right on each page
	y     float64 // top of the next thing, mm from the top of the page
	pt    float64 // size set
	lost  int     // runes replaced by '?'
	// narrow keeps the right edge of running text free for a code, mm, on the first page.
	narrow float64
	failed error // what a foot could not draw: told when the paper is done
}

// produce makes a paper and writes it to w in one go: on an error, a broken font or
// a panic of the PDF library nothing is written.
func produce(w io.Writer, stamp Stamp, draw func(p *sheet) error) (err error) {
	if err := stamp.check(); err != nil {
		return err
	}
	defer func() {
		if r := recover(); r != nil {
			err = fmt.Errorf("draw paper: %v", r)
		}
	}()
	p := newSheet(stamp)
	if err := draw(p); err != nil {
		return err
	}
	var buf bytes.Buffer
	if err := p.pdf.Output(&buf); err != nil {
		return fmt.Errorf("draw paper: %w", err)
	}
	if p.failed != nil {
		return fmt.Errorf("draw paper: %w", p.failed)
	}
	if _, err := w.Write(buf.Bytes()); err != nil {
		return fmt.Errorf("write paper: %w", err)
	}
	return nil
}

// newSheet is an empty paper with its fonts, dated by the stamp alone so that the
// same input gives the same bytes (TestSameInputGivesSameBytes).
func newSheet(stamp Stamp) *sheet {
	pdf := gofpdf.New("P", "mm", "A4", "")
	pdf.SetCatalogSort(true)
	pdf.SetCreationDate(stamp.PrintedAt.UTC())
	pdf.SetModificationDate(stamp.PrintedAt.UTC())
	pdf.SetAutoPageBreak(false, 0)
	pdf.SetMargins(0, 0, 0)
	pdf.AliasNbPages(allPages)
	pdf.AddUTF8FontFromBytes("sans", "", []byte(sansTTF))
	pdf.AddUTF8FontFromBytes("sans", "B", []byte(boldTTF))
	pdf.AddUTF8FontFromBytes("mono", "", []byte(monoTTF))
	p := &sheet{pdf: pdf, stamp: stamp}
	p.setFace(sans, bodyPt)
	return p
}

// begin names the paper and opens its first page; every page gets head and foot.
func (p *sheet) begin(kind, ref string) {
	p.kind, p.ref = kind, p.clean(ref)
	p.pdf.SetTitle(p.clean(kind+" "+ref), true)
	p.pdf.SetHeaderFunc(p.head)
	p.pdf.SetFooterFunc(p.foot)
	p.newPage()
}

// newPage opens a page and puts y below its head. The face set is lost.
func (p *sheet) newPage() {
	p.pdf.AddPage()
	p.y = topMM + 13
}

// room opens a new page if less than h mm are left on this one.
func (p *sheet) room(h float64) {
	if p.y+h > bodyBottom {
		p.newPage()
	}
}

// head draws the top of a page: what paper this is, of which ship, and its number.
func (p *sheet) head() {
	p.ink()
	p.block(box{x: leftMM, y: topMM - 1, w: 112, h: 6.5, face: bold, maxPt: 13, minPt: 9}, p.kind)
	p.block(box{x: leftMM, y: topMM + 5, w: 112, h: 4, face: sans, maxPt: 8, minPt: 6}, p.stamp.Ship)
	p.block(box{x: leftMM + 114, y: topMM - 1, w: bodyW - 114, h: 6.5, face: mono, maxPt: 13, minPt: 5, align: AlignRight},
		p.ref)
	p.rule(topMM+10, 0.6)
}

// foot draws the bottom of a page: caution, origin and page number.
func (p *sheet) foot() {
	p.ink()
	y := pageH - footMM + 3
	p.rule(y, 0.2)
	y += 1.2
	wide := bodyW
	if p.stamp.URL != "" {
		wide -= footQR + 2
		if err := p.drawQR(leftMM+bodyW-footQR, y-0.6, footQR, p.stamp.URL); err != nil {
			p.failed = fmt.Errorf("entry %d: %w", p.stamp.Entry, err)
		}
	}
	y += p.block(box{x: leftMM, y: y, w: wide, h: 7, face: sans, maxPt: 7, minPt: 6}, Caution)
	p.block(box{x: leftMM, y: y + 0.4, w: wide - 24, h: 3.2, face: sans, maxPt: 7, minPt: 5}, p.origin())
	p.setFace(bold, 7)
	page := fmt.Sprintf("page %d of ", p.pdf.PageNo())
	w := p.pdf.GetStringWidth(page + "99") // the total is put in later, most are of one or two digits
	p.write(leftMM+wide-w, y+0.4, w, AlignLeft, page+allPages)
}

// origin says from what the paper was made, and what '?' means if there is one.
func (p *sheet) origin() string {
	s := "Printed " + clock(p.stamp.PrintedAt)
	if p.stamp.PrintedBy != "" {
		s += " by " + p.stamp.PrintedBy
	}
	s += " · " + p.logHead()
	if p.lost > 0 {
		s += " · ? = a sign that this printer's fonts lack"
	}
	return s
}

// logHead names the head of the log: its number and the beginning of its hash.
func (p *sheet) logHead() string {
	return fmt.Sprintf("log %d · %s", p.stamp.Entry, shortHash(p.stamp.Hash))
}

// shortHash is the beginning of a hash, enough to tell two apart by eye.
func shortHash(h string) string {
	if h = strings.TrimSpace(h); h == "" {
		return "no hash"
	}
	if r := []rune(h); len(r) > 12 {
		return string(r[:12]) + "…"
	}
	return h
}

// ink sets plain black, as every paper must be readable from a black and white printer.
func (p *sheet) ink() {
	p.pdf.SetTextColor(0, 0, 0)
	p.pdf.SetDrawColor(0, 0, 0)
	p.pdf.SetFillColor(0, 0, 0)
	p.pdf.SetDashPattern(nil, 0)
	p.pdf.SetLineWidth(0.2)
}

// rule draws a line across the body, thick mm.
func (p *sheet) rule(y, thick float64) {
	p.pdf.SetLineWidth(thick)
	p.pdf.Line(leftMM, y, leftMM+bodyW, y)
	p.pdf.SetLineWidth(0.2)
}

// title writes what the paper is about, in up to two lines.
func (p *sheet) title(text string) {
	p.y += p.block(box{x: leftMM, y: p.y, w: bodyW, h: 12, face: bold, maxPt: 13, minPt: 8}, text) + 1.5
}

// heading begins a section; it stays with at least h mm of what follows.
func (p *sheet) heading(text string, h float64) {
	p.room(9 + h)
	p.y += 3
	p.setFace(bold, 9.5)
	for _, l := range p.wrap(p.clean(text), bodyW) {
		p.room(p.lineMM())
		p.setFace(bold, 9.5)
		p.write(leftMM, p.y, bodyW, AlignLeft, l)
		p.y += p.lineMM()
	}
	p.y += 0.3
	p.rule(p.y, 0.2)
	p.y += 1
}

// para writes text across the body, over as many pages as it takes.
func (p *sheet) para(f face, text string) {
	p.indented(0, f, text)
}

// indented is para with its left edge moved in by dx mm.
func (p *sheet) indented(dx float64, f face, text string) {
	text = p.clean(text)
	p.setFace(f, bodyPt)
	for _, l := range p.wrap(text, bodyW-dx-p.narrow) {
		p.room(p.lineMM())
		p.setFace(f, bodyPt)
		p.write(leftMM+dx, p.y, bodyW-dx, AlignLeft, l)
		p.y += p.lineMM()
	}
}

// list writes each text behind a dash, or the words for none.
func (p *sheet) list(texts []string, none string) {
	if len(texts) == 0 {
		p.para(sans, none)
		return
	}
	for _, t := range texts {
		p.setFace(sans, bodyPt)
		p.room(p.lineMM())
		p.setFace(sans, bodyPt)
		p.write(leftMM+0.5, p.y, 4, AlignLeft, "–")
		if p.clean(t) == "" {
			t = "(empty)"
		}
		p.indented(4, sans, t)
	}
}

// fact writes a label and its text in two columns; an empty text is a dash, so that
// nobody wonders whether it was forgotten in print.
func (p *sheet) fact(label, text string) {
	const labelW = 34
	if p.clean(text) == "" {
		text = "–"
	}
	p.setFace(bold, bodyPt)
	p.room(p.lineMM())
	p.block(box{x: leftMM, y: p.y, w: labelW - 1, h: 4, face: bold, maxPt: bodyPt, minPt: 5}, label)
	p.indented(labelW, sans, text)
}

// framed writes text inside a frame with a heavy left edge: what must not be missed.
// A text that does not fit on what is left of the page begins on a new one; one that
// is longer than a page loses its frame but no word.
func (p *sheet) framed(text string) {
	p.setFace(bold, bodyPt)
	lines := p.wrap(p.clean(text), bodyW-6)
	h := float64(len(lines))*p.lineMM() + 2
	if h > bodyBottom-topMM-20 {
		p.para(bold, text)
		return
	}
	p.room(h + 1)
	p.pdf.Rect(leftMM, p.y, bodyW, h, "D")
	p.pdf.Rect(leftMM, p.y, 2, h, "F")
	p.setFace(bold, bodyPt)
	for i, l := range lines {
		p.write(leftMM+4, p.y+1+float64(i)*p.lineMM(), bodyW-6, AlignLeft, l)
	}
	p.y += h + 1.2
}

// clock is a time as printed: date, time and offset, since a ship changes her zone.
// Empty for the zero time.
func clock(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("2006-01-02 15:04 -07:00")
}

// duration is a waiting time in words, rounded up to the minute: a wait told too
// short is worse than one too long.
func duration(d time.Duration) string {
	if d <= 0 {
		return "none"
	}
	minutes := int64(d / time.Minute)
	if d%time.Minute > 0 {
		minutes++
	}
	switch h := minutes / 60; {
	case h == 0:
		return fmt.Sprintf("%d min", minutes)
	case minutes%60 == 0:
		return fmt.Sprintf("%d h", h)
	default:
		return fmt.Sprintf("%d h %02d min", h, minutes%60)
	}
}
