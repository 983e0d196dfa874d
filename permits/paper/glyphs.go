package paper

import (
	_ "embed" // the fonts
	"encoding/binary"
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/unicode/norm"
)

// The fonts of every paper: DejaVu 2.37, whose licence lies beside them. The
// condensed sans covers Latin with Vietnamese, Greek, Cyrillic, arrows and signs;
// the bold mono keeps 0, O, 1, I and l apart and is used for ids and codes. They are
// strings because the PDF library writes into the bytes it is given (getMetrics appends
// to a slice of them): each paper gets a copy (TestPapersPrintedAtOnceDoNotMeet).
var (
	//go:embed fonts/DejaVuSansCondensed.ttf
	sansTTF string
	//go:embed fonts/DejaVuSansCondensed-Bold.ttf
	boldTTF string
	//go:embed fonts/DejaVuSansMono-Bold.ttf
	monoTTF string
)

// covered is the set of runes that both cuts of the sans can draw: one that only one of
// them has would be lost when a text changes its weight. The mono has fewer (not all of
// Vietnamese); faceFor takes the bold sans where it would fail. Both filled once at start.
var (
	covered     = mustCover(sansTTF, boldTTF)
	coveredMono = mustCover(monoTTF)
)

// runeSet is a set of runes of the basic plane, one bit each.
type runeSet [1 << 10]uint64

func (s *runeSet) add(r uint16)      { s[r>>6] |= 1 << (r & 63) }
func (s *runeSet) has(r uint16) bool { return s[r>>6]&(1<<(r&63)) != 0 }

// mustCover is the set of runes that all the fonts have. It panics if a font can't be
// read: they are compiled in, TestFontsCoverTheCrewsScripts reads all of them.
func mustCover(fonts ...string) *runeSet {
	var all *runeSet
	for _, f := range fonts {
		s, err := cmapRunes([]byte(f))
		if err != nil {
			panic(fmt.Sprintf("embedded font: %v", err))
		}
		if all == nil {
			all = s
			continue
		}
		for i := range all {
			all[i] &= s[i]
		}
	}
	return all
}

// cmapRunes reads which runes of the basic plane a TrueType font maps to a glyph
// (OpenType specification, cmap, format 4, platform 3 encoding 1). The PDF library
// keeps its own reading of that table to itself and draws nothing, without an error,
// for what is not in it. Returns an error for a font without that table or cut short.
func cmapRunes(font []byte) (s *runeSet, err error) {
	defer func() {
		if r := recover(); r != nil { // an offset beyond the end
			s, err = nil, fmt.Errorf("read cmap: font is cut short")
		}
	}()
	u16 := func(at int) int { return int(binary.BigEndian.Uint16(font[at:])) }
	u32 := func(at int) int { return int(binary.BigEndian.Uint32(font[at:])) }
	cmap := -1
	for i, at := 0, 12; i < u16(4); i, at = i+1, at+16 {
		if string(font[at:at+4]) == "cmap" {
			cmap = u32(at + 8)
		}
	}
	if cmap < 0 {
		return nil, fmt.Errorf("read cmap: no such table")
	}
	for i, at := 0, cmap+4; i < u16(cmap+2); i, at = i+1, at+8 {
		if sub := cmap + u32(at+4); u16(at) == 3 && u16(at+2) == 1 && u16(sub) == 4 {
			return format4(u16, sub), nil
		}
	}
	return nil, fmt.Errorf("read cmap: no format 4 table for Unicode")
}

// format4 walks the segments of a format 4 table that begins at sub.
func format4(u16 func(int) int, sub int) *runeSet {
	var s runeSet
	n := u16(sub + 6) // twice the number of segments
	for seg := 0; seg < n; seg += 2 {
		end, start := u16(sub+14+seg), u16(sub+16+n+seg)
		delta, offsetAt := u16(sub+16+2*n+seg), sub+16+3*n+seg
		for r := start; r <= end && r < 0xFFFF; r++ {
			glyph := r
			if off := u16(offsetAt); off != 0 {
				if glyph = u16(offsetAt + off + 2*(r-start)); glyph == 0 {
					continue
				}
			}
			if (glyph+delta)&0xFFFF != 0 {
				s.add(uint16(r))
			}
		}
	}
	return &s
}

// clean is s as it can be printed in one paragraph: composed (NFC), white space
// collapsed, invisible and control characters dropped (a direction override could
// make a name read as another), and '?' for each rune that the fonts lack or that
// would need shaping from right to left. The second result counts the '?' put in.
func clean(s string) (string, int) {
	if isPlain(s) {
		return s, 0
	}
	lost := 0
	var b strings.Builder
	space := false
	for _, r := range norm.NFC.String(strings.ToValidUTF8(s, string(utf8.RuneError))) {
		if unicode.IsSpace(r) {
			space = b.Len() > 0
			continue
		}
		if unicode.In(r, unicode.Cc, unicode.Cf) || unicode.Is(unicode.Variation_Selector, r) {
			continue
		}
		if space {
			b.WriteByte(' ')
			space = false
		}
		if r >= 0xFFFF || isShaped(r) || !covered.has(uint16(r)) {
			lost++
			r = '?'
		}
		b.WriteRune(r)
	}
	return b.String(), lost
}

// isPlain tells whether s is printable ASCII without doubled or outer spaces, as
// nearly everything is: nothing to do.
func isPlain(s string) bool {
	before := byte(' ')
	for i := 0; i < len(s); i++ {
		c := s[i]
		if c < ' ' || c > '~' || (c == ' ' && before == ' ') {
			return false
		}
		before = c
	}
	return s == "" || before != ' '
}

// faceFor is f, or the bold sans if f is the mono and lacks a rune of the cleaned text.
func faceFor(f face, text string) face {
	if f != mono {
		return f
	}
	for _, r := range text {
		if r < 0xFFFF && !coveredMono.has(uint16(r)) {
			return bold
		}
	}
	return mono
}

// isShaped tells whether r belongs to a script that has to be joined or run from
// right to left, which the PDF library can't do: half-right letters are worse than '?'.
func isShaped(r rune) bool {
	return unicode.In(r, unicode.Arabic, unicode.Hebrew, unicode.Syriac, unicode.Thaana, unicode.Nko)
}
