package paper

import (
	"bytes"
	"compress/zlib"
	"io"
	"math"
	"strings"
	"testing"
)

// A tag is read by the shape of its symbol where the word is dirty: every mark has
// ink and no two look alike, at the size of a table and at that of a tag.
func TestEveryMarkHasAShapeOfItsOwn(t *testing.T) {
	const dpi, side = 200, 10.0
	for _, h := range []float64{symbolH, 15} {
		var b bytes.Buffer
		err := produce(&b, cannedStamp(), func(p *sheet) error {
			for m := MarkUnset + 1; m < markCount; m++ {
				p.pdf.AddPage()
				p.symbol(m, side, side, h*1.2, h)
			}
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
		pages := render(t, b.Bytes(), dpi)
		if got, want := len(pages), int(markCount)-1; got != want {
			t.Fatalf("pages = %d, want %d", got, want)
		}
		for i := range pages {
			for k := range i + 1 {
				differ := 0
				for n, v := range pages[i].Pix {
					other := uint8(255) // against white paper
					if k < i {
						other = pages[k].Pix[n]
					}
					if (v < 128) != (other < 128) {
						differ++
					}
				}
				if least := int(h * h / 25); differ < least*8 {
					t.Errorf("marks %d and %d, %.1f mm high, differ in %d dots, want %d or more", i+1, k+1, h, differ, least*8)
				}
			}
		}
	}
}

func TestDrawingKeepsToItsExtentAndSkipsWhatIsNoNumber(t *testing.T) {
	s := cannedPlan()
	s.Diagram = &Drawing{Title: "odd", Width: 10, Height: 10, Ops: []DrawOp{
		Line{X1: math.NaN(), X2: 3}, Rect{X: math.Inf(1), W: 2, H: 2}, Polygon{}, Polygon{Corners: []Corner{{1, 1}}},
		Polygon{Corners: []Corner{{1, 1}, {1e300, 2}, {3, 3}}, Fill: true},
		Text{X: 1, Y: math.NaN(), Size: 1, Words: "nowhere"},
		Text{X: 5, Y: 5, Size: 1, MaxWidth: 2, Words: strings.Repeat("long ", 9), Align: AlignCentre},
		Text{Size: -1, Words: "negative"},
		Rect{X: -50, Y: -50, W: 200, H: 200, Fill: true}, nil}}
	pdf := printed(t, WritePlan, s)
	pages := render(t, pdf, 72)
	last := pages[len(pages)-1]
	for _, at := range []struct {
		x, y  float64
		black bool
	}{{leftMM / 2, 150, false}, {pageW - rightMM/2, 150, false}, {100, pageH - footMM/3, false}, {100, 120, true}} {
		if got := last.GrayAt(int(at.x/mmPerPt), int(at.y/mmPerPt)).Y < 128; got != at.black {
			t.Errorf("ink at %.0f, %.0f mm = %t, want %t", at.x, at.y, got, at.black)
		}
	}
	for _, banned := range []string{"nowhere", "negative"} {
		if strings.Contains(textLayer(t, pdf), banned) {
			t.Errorf("drawing says %q, which has no place or size", banned)
		}
	}
	if drawn := pageStreams(t, pdf); !strings.Contains(drawn, " re") || strings.Contains(drawn, "NaN") ||
		strings.Contains(drawn, "Inf") {
		t.Error("page streams hold something that is no number, or no rectangle")
	}
}

// pageStreams are the unpacked streams of a PDF, one after the other.
func pageStreams(t *testing.T, pdf []byte) string {
	t.Helper()
	var all strings.Builder
	for _, part := range bytes.Split(pdf, []byte("\nstream\n"))[1:] {
		r, err := zlib.NewReader(bytes.NewReader(part))
		if err != nil {
			continue // not packed
		}
		if _, err := io.Copy(&all, r); err != nil {
			t.Fatal(err)
		}
	}
	return all.String()
}
