package paper

import (
	"strings"
	"unicode/utf8"
)

// face is a font of the papers by the name under which the PDF knows it.
type face string

const (
	sans face = ""
	bold face = "B"
	mono face = "M"
)

// Millimetres in a point, and the height of a capital letter in the size of the
// font (both sans cuts: 1493 of 2048 units, read from the glyph of D).
const (
	mmPerPt   = 25.4 / 72
	capHeight = 1493.0 / 2048
	leading   = 1.22 // distance of two lines in sizes
)

// cutWords end a text that did not fit its box even at the smallest size: nothing is
// left out silently.
const cutWords = " … [cut: see the register]"

// setFace chooses font and size (points) for what is measured or drawn next.
func (p *sheet) setFace(f face, pt float64) {
	if f == mono {
		p.pdf.SetFont("mono", "", pt)
	} else {
		p.pdf.SetFont("sans", string(f), pt)
	}
	p.pt = pt
}

// lineMM is the distance of two lines at the size set, mm.
func (p *sheet) lineMM() float64 { return p.pt * mmPerPt * leading }

// clean is clean for the paper: it notes that the foot has to explain the '?'.
func (p *sheet) clean(s string) string {
	c, lost := clean(s)
	p.lost += lost
	return c
}

// wrap breaks a cleaned text into lines not wider than w mm at the face set: at
// spaces, else after a hyphen, slash, dot or underscore, else anywhere. Joined
// without the breaks the lines are the text again, but for single spaces at the ends.
func (p *sheet) wrap(text string, w float64) []string {
	if text == "" {
		return nil
	}
	var lines []string
	line := ""
	for _, word := range units(text) {
		if line != "" {
			if joined := line + " " + word; p.pdf.GetStringWidth(joined) <= w {
				line = joined
				continue
			}
			lines = append(lines, line)
		}
		for p.wider(word, w) {
			at := p.breakAt(word, w)
			lines = append(lines, strings.TrimSuffix(word[:at], " "))
			word = word[at:]
		}
		line = word
	}
	return append(lines, line)
}

// wider tells whether text is wider than w mm at the face set. Of a very long text the
// beginning is tried first, so that wrapping takes time in proportion to the length.
func (p *sheet) wider(text string, w float64) bool {
	const begin = 400
	if len(text) > begin {
		at := begin
		for !utf8.RuneStart(text[at]) {
			at--
		}
		if p.pdf.GetStringWidth(text[:at]) > w {
			return true
		}
	}
	return p.pdf.GetStringWidth(text) > w
}

// clinging are words that stay on the line of the word before: a line that begins
// with a sign or a unit is misread.
var clinging = map[string]bool{"·": true, "→": true, "±": true, "°C": true, "bar": true, "l": true, "min": true,
	"h":   true,
	"rpm": true, "mm": true, "V": true, "N": true, "%": true}

// units are the parts of a text between which a line is broken if there is a choice:
// words, but a time stays with its date and its offset, a number with its deck or frame.
func units(text string) []string {
	words := strings.Split(text, " ")
	kept := words[:0]
	for _, w := range words {
		if last := len(kept) - 1; last >= 0 && len(kept[last]) < 20 &&
			(clinging[w] || isClock(w) || kept[last] == "deck" || kept[last] == "frame") {
			kept[last] += " " + w
			continue
		}
		kept = append(kept, w)
	}
	return kept
}

// isClock tells whether a word is a time or an offset as clock writes it: 07:30, +02:00.
func isClock(w string) bool {
	w = strings.Trim(w, "+-,")
	return len(w) == 5 && w[2] == ':' && strings.Trim(w, "0123456789:") == ""
}

// breakAt is where a unit wider than w mm is broken, at least one rune from its
// start: after the last space of what fits, else after its last hyphen, slash, dot or
// underscore, else where it no longer fits.
func (p *sheet) breakAt(word string, w float64) int {
	fits, sum := 0, 0
	_, size := p.pdf.GetFontSize()
	for i, r := range word {
		if i > 0 && float64(sum)*size/1000 > w {
			break
		}
		fits = i
		sum += p.pdf.GetStringSymbolWidth(string(r))
	}
	if fits == 0 {
		_, fits = utf8.DecodeRuneInString(word)
	}
	if at := strings.LastIndexByte(word[:min(fits+1, len(word))], ' '); at > 0 {
		return at + 1
	}
	if at := strings.LastIndexAny(word[:fits], "-/_."); at > fits/3 {
		return at + 1
	}
	return fits
}

// box is a place for text on the page, mm, and how its size may give way.
type box struct {
	x, y, w, h   float64
	face         face
	maxPt, minPt float64
	align        Align
}

// block writes text into the box at the largest size, in steps of half a point, at
// which its wrapped lines fit; at the smallest it ends in cutWords. Returns the
// height used, mm.
func (p *sheet) block(b box, text string) float64 {
	text = p.clean(text)
	if text == "" {
		return 0
	}
	b.face = faceFor(b.face, text)
	lines := p.fit(b, text)
	if most := max(1, int(b.h/p.lineMM()+1e-9)); len(lines) > most {
		lines = p.cut(lines, most, b.w)
	}
	for i, l := range lines {
		p.write(b.x, b.y+float64(i)*p.lineMM(), b.w, b.align, l)
	}
	return float64(len(lines)) * p.lineMM()
}

// fit sets the largest size at which text goes into the box and returns its lines;
// whole words are preferred to a larger size.
func (p *sheet) fit(b box, text string) []string {
	p.setFace(b.face, b.minPt)
	lines := p.wrap(text, b.w)
	if float64(len(lines))*p.lineMM() > b.h {
		return lines // no larger size can fit
	}
	for pt := b.maxPt; ; pt -= 0.5 {
		p.setFace(b.face, max(pt, b.minPt))
		lines = p.wrap(text, b.w)
		if pt <= b.minPt || (float64(len(lines))*p.lineMM() <= b.h+1e-9 && !p.breaksWord(text, b.w)) {
			return lines
		}
	}
}

// breaksWord tells whether a word of text is wider than w mm at the face set.
func (p *sheet) breaksWord(text string, w float64) bool {
	for _, word := range strings.Fields(text) {
		if p.wider(word, w) {
			return true
		}
	}
	return false
}

// cut keeps the first lines and ends them in cutWords, as many runes taken off as needed.
func (p *sheet) cut(lines []string, most int, w float64) []string {
	kept := lines[:most:most]
	last := kept[most-1]
	for last != "" && p.pdf.GetStringWidth(last+cutWords) > w {
		_, n := utf8.DecodeLastRuneInString(last)
		last = last[:len(last)-n]
	}
	kept[most-1] = last + cutWords
	return kept
}

// write puts one line of a cleaned text so that its line box begins at y.
func (p *sheet) write(x, y, w float64, align Align, line string) {
	switch spare := w - p.pdf.GetStringWidth(line); align {
	case AlignCentre:
		x += spare / 2
	case AlignRight:
		x += spare
	}
	// Baseline so that capitals stand in the middle of the line box.
	size := p.pt * mmPerPt
	p.pdf.Text(x, y+(p.lineMM()+capHeight*size)/2, line)
}
