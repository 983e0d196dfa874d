package diagram

import (
	"fmt"
	"math"
	"strings"
	"testing"
)

// luminance is the relative luminance of "#rrggbb" (WCAG 2.1, definition, from memory).
func luminance(t *testing.T, colour string) float64 {
	t.Helper()
	var c [3]int
	if _, err := fmt.Sscanf(colour, "#%02x%02x%02x", &c[0], &c[1], &c[2]); err != nil {
		t.Fatalf("colour %q: %v", colour, err)
	}
	var l [3]float64
	for i, v := range c {
		l[i] = float64(v) / 255
		if l[i] <= 0.04045 {
			l[i] /= 12.92
		} else {
			l[i] = math.Pow((l[i]+0.055)/1.055, 2.4)
		}
	}
	return 0.2126*l[0] + 0.7152*l[1] + 0.0722*l[2]
}

func contrast(t *testing.T, a, b string) float64 {
	x, y := luminance(t, a), luminance(t, b)
	return (math.Max(x, y) + 0.05) / (math.Min(x, y) + 0.05)
}

func TestWordsAndLinesStandOutByDayAndNight(t *testing.T) {
	day := func(s Style) (string, string) { return s.Look().Fill, s.Look().Stroke }
	dark := func(s Style) (string, string) { return night[s][0], night[s][1] }
	for name, colours := range map[string]func(Style) (string, string){"day": day, "night": dark} {
		paper, _ := colours(Hollow)
		zone, _ := colours(Zone)
		for _, s := range []Style{Words, Strong, Mute} {
			ink, _ := colours(s)
			for _, ground := range []string{paper, zone} {
				if got := contrast(t, ink, ground); got < 4.5 {
					t.Errorf("%s: %s on %s has contrast %.2f, want at least 4.5", name, s.Look().Class, ground, got)
				}
			}
		}
		for _, s := range []Style{Ink, Live, Safe, Spine, Alarm, Faint} {
			_, ink := colours(s)
			if got := contrast(t, ink, paper); got < 3 {
				t.Errorf("%s: lines of %s have contrast %.2f, want at least 3", name, s.Look().Class, got)
			}
		}
		number, _ := colours(Number)
		disc, _ := colours(Badge)
		if got := contrast(t, number, disc); got < 4.5 {
			t.Errorf("%s: numbers have contrast %.2f, want at least 4.5", name, got)
		}
	}
}

func TestNothingIsToldByColourAlone(t *testing.T) {
	live, safe, alarm := Live.Look(), Safe.Look(), Alarm.Look()
	if live.Width < 1.8*safe.Width {
		t.Errorf("Live is %.2f mm wide and Safe %.2f, want a difference that black and white shows", live.Width, safe.Width)
	}
	if alarm.Dash == 0 {
		t.Error("Alarm is not dashed: in black and white it looks like Live")
	}
}

func TestStylesheetAndNightNameTheSameProperties(t *testing.T) {
	sheet := Stylesheet()
	for _, declaration := range strings.Split(strings.TrimSuffix(Night(), ";"), ";") {
		name, _, _ := strings.Cut(declaration, ":")
		if !strings.Contains(sheet, "var("+name+",") {
			t.Errorf("Night sets %s, which Stylesheet never uses", name)
		}
	}
}
