package main

import (
	"compress/gzip"
	"io"
	"os"
	"testing"
	"time"
)

// axeSource reads the accessibility checker: axe-core 4.14.1, as it is published (licence beside it).
func axeSource(t *testing.T) string {
	t.Helper()
	file, err := os.Open("testdata/axe/axe.min.js.gz")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	in, err := gzip.NewReader(file)
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(in)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

// TestEveryScreenPassesTheAccessibilityRules holds every screen, on a phone and at a desk, by day and by night, to the
// rules of an outside checker (axe-core: WCAG 2 and best practices).
func TestEveryScreenPassesTheAccessibilityRules(t *testing.T) {
	s, screens := sceneOfScreens(t)
	source := axeSource(t)
	s.eachScreen(t, screens, []string{"day", "night"}, func(t *testing.T, h *hands, _ string) {
		ask[bool](h, source+"; window.axeFound = null; axe.run(document).then((r) => { window.axeFound = "+
			"r.violations.flatMap((v) => v.nodes.map((n) => v.id + ' at ' + n.target.join(' ') + ': ' + v.help)); }, "+
			"(e) => { window.axeFound = ['axe: ' + e]; }); true")
		for range 300 {
			if ask[bool](h, "window.axeFound !== null") {
				break
			}
			time.Sleep(20 * time.Millisecond)
		}
		for _, fault := range ask[[]string](h, "window.axeFound ?? ['axe gave no answer']") {
			t.Error(fault)
		}
	})
}
