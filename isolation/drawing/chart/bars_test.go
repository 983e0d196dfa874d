package chart

import (
	"encoding/xml"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Whatever the names and amounts, the picture is valid XML, stays within its width, and no bar is longer than another
// of a greater amount.
func TestBarsStayWithinTheirPicture(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := Bars{ID: "x", Title: rapid.String().Draw(t, "title"), Desc: rapid.String().Draw(t, "desc")}
		for range rapid.IntRange(0, 12).Draw(t, "bars") {
			c.Bars = append(c.Bars, Bar{Name: rapid.String().Draw(t, "name"), Words: rapid.String().Draw(t, "words"),
				Value: rapid.OneOf(rapid.Float64Range(0, 1e6), rapid.Just(math.NaN()), rapid.Just(math.Inf(1)),
					rapid.Just(-1.0)).Draw(t, "value"), Over: rapid.Bool().Draw(t, "over")})
		}
		var b strings.Builder
		if err := c.SVG(&b); err != nil {
			t.Fatal(err)
		}
		var long []float64
		dec := xml.NewDecoder(strings.NewReader(b.String()))
		for {
			token, err := dec.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("not XML: %v", err)
			}
			start, ok := token.(xml.StartElement)
			if !ok || start.Name.Local != "rect" {
				continue
			}
			for _, a := range start.Attr {
				if a.Name.Local == "width" {
					v := numberOf(t, a.Value)
					if v < 0 || v > width-barWordPx {
						t.Fatalf("a bar is %g long", v)
					}
					long = append(long, v)
				}
			}
		}
		if len(long) != len(c.Bars) {
			t.Fatalf("%d bars are drawn of %d", len(long), len(c.Bars))
		}
		for i, x := range c.Bars {
			for j, y := range c.Bars {
				if isNumber(x.Value) && isNumber(y.Value) && x.Value < y.Value && long[i] > long[j]+0.01 {
					t.Fatalf("%g is drawn %g long, and %g %g", x.Value, long[i], y.Value, long[j])
				}
			}
		}
	})
}

func numberOf(t *rapid.T, text string) float64 {
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
