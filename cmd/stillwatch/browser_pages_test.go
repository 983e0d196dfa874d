package main

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"

	"stillwatch/web/sample"
)

// foldedMost is how long a page may be with every fold shut, in screens of a phone. A page that is one list of what
// happened is as long as its list.
const foldedMost = 3.0

var listPages = map[string]bool{"log": true, "entry": true}

// TestEveryPageIsShortLegibleAndAccessible holds every screen with made-up data, on a phone and at a desk, in every
// palette, to the rules of an outside checker (axe-core: WCAG 2 and best practices), to our own (look.js: labels,
// targets for a glove, width, contrast), and on the phone to a length.
func TestEveryPageIsShortLegibleAndAccessible(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	if err := sample.Write(dir); err != nil {
		t.Fatal(err)
	}
	pages, err := filepath.Glob(filepath.Join(dir, "day-*.html"))
	if err != nil || len(pages) < 50 {
		t.Fatalf("%d pages, %v; want every screen", len(pages), err)
	}
	look, err := os.ReadFile("testdata/look.js")
	if err != nil {
		t.Fatal(err)
	}
	server := httptest.NewServer(http.FileServer(http.Dir(dir)))
	t.Cleanup(server.Close)
	ship := &testShip{t: t, base: server.URL}
	browser, axe := startBrowser(t), axeSource(t)
	for _, size := range []screenSize{phone, desk} {
		h := ship.hands(t, browser, size)
		for _, page := range pages {
			name := strings.TrimSuffix(strings.TrimPrefix(filepath.Base(page), "day-"), ".html")
			h.answered("open "+name, chromedp.Navigate(server.URL+"/"+filepath.Base(page)))
			if tall := ask[[]float64](h, pageLengths)[1]; size.touch && !listPages[name] && tall > foldedMost {
				t.Errorf("%s: %.2f screens long with every fold shut, want at most %.0f", name, tall, foldedMost)
			}
			ask[bool](h, `(document.querySelectorAll("details:not(.menu)").forEach((d) => d.open = true), true); `+axe+"; true")
			palettes := []string{"day", "night"} // on a phone
			if !size.touch {
				palettes = []string{"dusk"}
			}
			for _, palette := range palettes {
				h.wears(palette)
				rules := axeColours
				if size.touch && palette == "day" {
					rules = "{}"
				}
				faults := h.axeFaults(rules)
				if size.touch {
					faults = append(faults, ask[[]string](h, fmt.Sprintf("(%s)(true)", look))...)
				}
				for _, fault := range faults {
					t.Errorf("%s, %s, %s: %s", name, size.name, palette, fault)
				}
			}
		}
	}
}

// TestPaletteIsChosenByItsButton presses each palette's button on both sizes, signed in and not, and wants the page
// that follows to wear it.
func TestPaletteIsChosenByItsButton(t *testing.T) {
	t.Parallel()
	s := setSail(t)
	browser := startBrowser(t)
	for _, size := range []screenSize{phone, desk} {
		for _, who := range []string{"", "tove"} {
			h := s.device(t, browser, who, size)
			for _, palette := range []string{"dusk", "night", "day"} {
				if h.dims(palette); ask[string](h, "document.documentElement.className") != "p-"+palette {
					t.Errorf("the page of %q on a %s does not wear %s after its button was pressed", who, size.name, palette)
				}
			}
		}
	}
}
