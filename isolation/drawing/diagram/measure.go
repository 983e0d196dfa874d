package diagram

import (
	"strings"
	"unicode"
)

// Widths of the sans-serif faces in fontStack, in thousandths of the type's height, for the printable ASCII runes from
// space on: the advance widths of Liberation Sans and its metric equivalents, as in its hmtx table. In bold a narrow
// letter is 56 wider and any other wider by up to a tenth, which textWidth allows for.
var asciiWidth = [95]int{
	278, 278, 355, 556, 556, 889, 667, 191, 333, 333, 389, 584, 278, 333, 278, 278, // space to /
	556, 556, 556, 556, 556, 556, 556, 556, 556, 556, 278, 278, 584, 584, 584, 556, // 0 to ?
	1015, 667, 667, 722, 722, 667, 611, 778, 722, 278, 500, 667, 556, 833, 722, 778, // @ to O
	667, 778, 722, 667, 611, 722, 667, 944, 667, 667, 611, 278, 278, 278, 469, 556, // P to _
	333, 556, 556, 500, 556, 556, 278, 556, 556, 222, 222, 500, 222, 833, 556, 556, // ` to o
	556, 556, 333, 500, 278, 556, 500, 722, 500, 500, 500, 334, 260, 334, 584, // p to ~
}

// face is a type's height in millimetres and its weight.
type face struct {
	size float64
	bold bool
}

var (
	plain  = face{nameSize, false}
	strong = face{idSize, true}
)

func (f face) width(words string) float64 { return textWidth(words, f.size, f.bold) }

// textWidth returns about how wide a line of words is set, in the unit of size. It errs on the wide side: other faces
// than the one measured are allowed five per cent, unknown letters count 0.7 and wide scripts a full em.
func textWidth(words string, size float64, bold bool) float64 {
	sum := 0
	for _, r := range words {
		switch {
		case r >= ' ' && r <= '~':
			sum += asciiWidth[r-' ']
			if bold {
				sum += boldExtra(asciiWidth[r-' '])
			}
		case unicode.Is(unicode.Mn, r):
		case r >= 0x1100 && !unicode.Is(unicode.Latin, r):
			sum += 1000
		default:
			sum += 700
		}
	}
	return float64(sum) / 1000 * size * 1.05
}

func boldExtra(width int) int {
	if width < 400 {
		return 56
	}
	return width / 10
}

// wrap breaks words into lines no wider than width, at most limit of them. A word that is wider by itself is broken
// inside; what does not fit into limit lines ends in an ellipsis (the full text is always in the drawing's Desc and in
// the table that stands beside it).
func wrap(words string, f face, width float64, limit int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(words) {
		for _, part := range split(word, f, width) {
			next := strings.TrimSpace(line + " " + part)
			if line != "" && f.width(next) > width {
				lines, next = append(lines, line), part
			}
			line = next
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	if len(lines) > limit {
		lines = lines[:limit]
		lines[limit-1] = shorten(lines[limit-1]+" …", f, width)
	}
	return lines
}

// split cuts a word into pieces that fit.
func split(word string, f face, width float64) []string {
	if f.width(word) <= width {
		return []string{word}
	}
	var out []string
	piece := ""
	for _, r := range word {
		if piece != "" && f.width(piece+string(r)) > width {
			out, piece = append(out, piece), ""
		}
		piece += string(r)
	}
	return append(out, piece)
}

// shorten makes words fit into one line, ending in an ellipsis if any had to go.
func shorten(words string, f face, width float64) string {
	if f.width(words) <= width {
		return words
	}
	rs := []rune(strings.TrimSuffix(words, " …"))
	for len(rs) > 0 && f.width(string(rs)+"…") > width {
		rs = rs[:len(rs)-1]
	}
	return strings.TrimSpace(string(rs)) + "…"
}
