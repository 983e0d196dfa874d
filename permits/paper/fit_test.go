package paper

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestWrapKeepsEveryWordAndTheWidth(t *testing.T) {
	p := newSheet(cannedStamp())
	p.pdf.AddPage()
	rapid.Check(t, func(t *rapid.T) {
		text, _ := clean(rapid.StringOfN(rapid.RuneFrom([]rune("abcÅøĐệЖΩ→-/. ·0123456789")), 0, 200, -1).Draw(t, "text"))
		w := rapid.Float64Range(12, 120).Draw(t, "width")
		p.setFace(rapid.SampledFrom([]face{sans, bold, mono}).Draw(t, "face"), rapid.Float64Range(5, 14).Draw(t, "pt"))
		lines := p.wrap(text, w)
		if !p.pdf.Ok() || p.pdf.GetStringWidth("W") == 0 {
			t.Fatalf("the PDF measures nothing: %v", p.pdf.Error())
		}
		for _, l := range lines {
			if got := p.pdf.GetStringWidth(l); got > w+1e-9 {
				t.Fatalf("wrap(%q, %.1f) has the line %q, %.1f mm wide", text, w, l, got)
			}
		}
		squeeze := func(s string) string { return strings.ReplaceAll(s, " ", "") }
		if got, want := squeeze(strings.Join(lines, "")), squeeze(text); got != want {
			t.Fatalf("wrap(%q, %.1f) joined = %q, want every rune once", text, w, got)
		}
	})
}

func TestBlockStaysInItsBoxAndSaysWhatItCut(t *testing.T) {
	p := newSheet(cannedStamp())
	p.pdf.AddPage()
	rapid.Check(t, func(t *rapid.T) {
		b := box{x: 20, y: 20, w: rapid.Float64Range(30, 90).Draw(t, "w"), h: rapid.Float64Range(4, 20).Draw(t, "h"),
			maxPt: 11, minPt: 5}
		text := strings.Repeat(rapid.StringMatching(`[A-Za-z0-9-]{1,30}`).Draw(t, "word")+" ",
			rapid.IntRange(1, 150).Draw(t, "times"))
		if got := p.block(b, text); got > b.h+1e-6 {
			t.Fatalf("block(%d runes) is %.2f mm high, want at most %.2f", len(text), got, b.h)
		}
		lines := p.fit(b, strings.TrimSpace(text))
		most := max(1, int(b.h/p.lineMM()+1e-9))
		if len(lines) <= most {
			return
		}
		kept := p.cut(lines, most, b.w)
		if last := kept[len(kept)-1]; !strings.HasSuffix(last, cutWords) || p.pdf.GetStringWidth(last) > b.w+1e-9 {
			t.Fatalf("cut text ends in %q, want %q inside %.1f mm", last, cutWords, b.w)
		}
	})
}

// word is a word of a page with its box, as pdftotext -bbox writes it, points.
type word struct {
	XMin float64 `xml:"xMin,attr"`
	YMin float64 `xml:"yMin,attr"`
	XMax float64 `xml:"xMax,attr"`
	YMax float64 `xml:"yMax,attr"`
	Text string  `xml:",chardata"`
}

// overlapping are pairs of words on one page whose letters touch, and words off the
// page. The box of a word is as high as its font; letters fill about the middle half.
func overlapping(t *testing.T, pdf []byte) (bad []string) {
	t.Helper()
	var doc struct {
		Pages []struct {
			Words []word `xml:"word"`
		} `xml:"body>doc>page"`
	}
	d := xml.NewDecoder(bytes.NewReader([]byte(textLayer(t, pdf, "-bbox"))))
	d.Strict, d.Entity = false, xml.HTMLEntity
	if err := d.Decode(&doc); err != nil {
		t.Fatal(err)
	}
	for n, page := range doc.Pages {
		for i, a := range page.Words {
			if a.XMin < 0 || a.YMin < 0 || a.XMax > pageW/mmPerPt || a.YMax > pageH/mmPerPt {
				bad = append(bad, fmt.Sprintf("page %d: %q is off the page", n+1, a.Text))
			}
			for _, b := range page.Words[:i] {
				trim := func(w word) (top, bottom float64) {
					h := w.YMax - w.YMin
					return w.YMin + 0.28*h, w.YMax - 0.28*h
				}
				at, ab := trim(a)
				bt, bb := trim(b)
				if min(a.XMax, b.XMax)-max(a.XMin, b.XMin) > 0.3 && min(ab, bb)-max(at, bt) > 0.3 {
					bad = append(bad, fmt.Sprintf("page %d: %q lies on %q", n+1, a.Text, b.Text))
				}
			}
		}
	}
	return bad
}

func TestNothingOverlapsHoweverLongTheNames(t *testing.T) {
	papers := cannedPapers(t)
	for _, n := range []int{30, 90, 400} {
		for _, word := range []string{"Überlaufbehälter", "W", "Đường ống dầu nhiên liệu", "ТОПЛИВНЫЙ-КЛАПАН/"} {
			long := (strings.Repeat(word+" ", n/len(word)+1) + strings.Repeat("W", n/2))[:n]
			long = strings.ToValidUTF8(long, "")
			for name, pdf := range filled(t, long) {
				papers[fmt.Sprintf("%s of %d × %q", name, n, word)] = pdf
			}
		}
	}
	for name, pdf := range papers {
		bad := overlapping(t, pdf)
		if len(bad) > 0 {
			t.Errorf("%s: %d faults, such as %s", name, len(bad), strings.Join(bad[:min(3, len(bad))], "; "))
		}
	}
}

func TestWitnessSeesAnOverlap(t *testing.T) {
	var b bytes.Buffer
	err := produce(&b, cannedStamp(), func(p *sheet) error {
		p.pdf.AddPage()
		p.setFace(sans, 10)
		p.write(20, 20, 50, AlignLeft, "first")
		p.write(22, 21, 50, AlignLeft, "second")
		p.write(205, 40, 50, AlignLeft, "outside")
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if got := overlapping(t, b.Bytes()); len(got) != 2 {
		t.Errorf("faults of two words on each other and one outside = %q, want 2", got)
	}
}

func TestLongTextsAreWholeOnThePermit(t *testing.T) {
	s := cannedPermit()
	var b strings.Builder
	for i := range 900 {
		fmt.Fprintf(&b, "w%d ", i)
	}
	s.Work, s.Locks[2].Name, s.Deviations[0].Text = b.String(), b.String(), b.String()
	text := " " + strings.Join(strings.Fields(textLayer(t, printed(t, WritePermit, s))), " ") + " "
	for i := range 900 {
		if got := strings.Count(text, fmt.Sprintf(" w%d ", i)); got != 3 {
			t.Fatalf("word %d of 900 stands %d times, want 3: in the work, the table and the deviation", i, got)
		}
	}
}

func TestDurationIsNeverToldTooShort(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := rapid.Int64Range(1, math.MaxInt64).Draw(t, "ns")
		var h, m int64
		words := duration(timeDuration(d))
		switch {
		case strings.Contains(words, "min") && strings.Contains(words, " h "):
			fmt.Sscanf(words, "%d h %d min", &h, &m)
		case strings.HasSuffix(words, "min"):
			fmt.Sscanf(words, "%d min", &m)
		default:
			fmt.Sscanf(words, "%d h", &h)
		}
		told := float64(h*60+m) * 60e9
		if told < float64(d)*(1-1e-12) || told > float64(d)+60e9*(1+1e-12)+1e4 {
			t.Fatalf("duration(%d ns) = %q", d, words)
		}
	})
}

func TestTagSaysWhereANameWasCut(t *testing.T) {
	const mark = "[cut: see the register]"
	for _, tc := range []struct {
		words int
		cut   bool
	}{{6, false}, {12, false}, {300, true}} {
		s := cannedTags(1)
		s.Tags[0].Name = strings.TrimSpace(strings.Repeat("drainage ", tc.words-1) + "final")
		text := strings.Join(strings.Fields(textLayer(t, printed(t, WriteLockTags, s))), " ")
		if got := strings.Contains(text, mark); got != tc.cut || strings.Contains(text, "final") == tc.cut {
			t.Errorf("name of %d words on a tag: marked as cut %t, its last word shown %t, want cut %t", tc.words, got,
				strings.Contains(text, "final"), tc.cut)
		}
	}
}
