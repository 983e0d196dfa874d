package svg

import (
	"encoding/xml"
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

func TestNumberReadsBackToTwoDigits(t *testing.T) {
	for v, want := range map[float64]string{0: "0", -0.001: "0", 1: "1", 1.5: "1.5", 2.005: "2", -3.25: "-3.25",
		math.NaN(): "0", math.Inf(1): "0", math.Inf(-1): "0"} {
		if got := Number(v); got != want {
			t.Errorf("Number(%v) = %q, want %q", v, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		v := rapid.Float64Range(-1e6, 1e6).Draw(t, "v")
		if got, err := strconv.ParseFloat(Number(v), 64); err != nil || math.Abs(got-v) > 0.0051 {
			t.Fatalf("Number(%v) = %q", v, Number(v))
		}
	})
}

func TestAnyTextIsValidXML(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := string(rapid.SliceOf(rapid.Byte()).Draw(t, "text"))
		var into struct {
			A string `xml:"a,attr"`
		}
		if err := xml.Unmarshal([]byte(`<x a="`+Text(s)+`">`+Text(s)+`</x>`), &into); err != nil {
			t.Fatalf("Text(%q) is not valid: %v", s, err)
		}
	})
}
