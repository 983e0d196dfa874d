package web

import (
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/jba/templatecheck"

	"stillwatch/templates"
	"stillwatch/web/sample"
	"stillwatch/web/screens"
	"stillwatch/web/site"
	"stillwatch/web/static"
)

// TestEveryTemplateFitsItsPage finds a misspelt field also in a branch that no canned page takes.
func TestEveryTemplateFitsItsPage(t *testing.T) {
	s := testScreens(t)
	for name, page := range screens.Pages {
		if err := templatecheck.CheckHTML(s.Set[name], page); err != nil {
			t.Errorf("screen %s: %v", name, err)
		}
	}
}

func testScreens(t *testing.T) *screens.Set {
	t.Helper()
	a, err := site.LoadAssets(false)
	if err != nil {
		t.Fatal(err)
	}
	s, err := screens.Load(nil, a.URL)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestEveryScreenHasItsFileAndCannedPage keeps the table of screens, the folder of templates and the canned pages
// equal.
func TestEveryScreenHasItsFileAndCannedPage(t *testing.T) {
	list, err := sample.List()
	if err != nil {
		t.Fatal(err)
	}
	canned := map[string]bool{}
	for _, p := range list {
		canned[p.Screen] = true
	}
	files, err := fs.Glob(templates.FS, "screens/*.html")
	if err != nil {
		t.Fatal(err)
	}
	if len(files) != len(screens.Pages) {
		t.Errorf("there are %d screen templates, want %d as in the table", len(files), len(screens.Pages))
	}
	for _, f := range files {
		name := strings.TrimSuffix(filepath.Base(f), ".html")
		if _, ok := screens.Pages[name]; !ok {
			t.Errorf("template %s is not in the table of screens", f)
		}
		if !canned[name] {
			t.Errorf("screen %s has no canned page", name)
		}
	}
}

var (
	idPattern  = regexp.MustCompile(`\sid="([^"]*)"`)
	forPattern = regexp.MustCompile(`\s(?:for|aria-describedby|aria-labelledby)="([^"]*)"`)
	fieldTag   = regexp.MustCompile(`<(?:input|select|textarea)\b[^>]*>`)
	inlineBits = regexp.MustCompile(`(?i)<script(?:>|\s[^>]*[^r]>[^<])|\sstyle="|\son[a-z]+="|<style`)
	refPattern = regexp.MustCompile(`(?:href|src|action)="(https?:)?//`)
)

// TestCannedPagesAreSoundAndAlikeInEveryPalette looks at every canned page by day as a browser and a screen reader
// would, and wants the pages of the other palettes to be the same but for the palette's class, the scheme of the
// browser's own parts, the pressed button and the forms' own ids. Of the style sheets it wants the palette's class to
// set colours alone. So what holds of a page by day, but for its colours, holds of it by night.
func TestCannedPagesAreSoundAndAlikeInEveryPalette(t *testing.T) {
	if testing.Short() {
		t.Skip("pages are made and read by one goroutine: run without -short")
	}
	dir := t.TempDir()
	if err := sample.Write(dir); err != nil {
		t.Fatal(err)
	}
	read := func(name string) string {
		text, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		return string(text)
	}
	files, _ := filepath.Glob(filepath.Join(dir, "day-*.html"))
	if len(files) < 30 {
		t.Errorf("there are %d pages, want 30 at least", len(files))
	}
	for _, f := range files {
		name := filepath.Base(f)
		text := read(name)
		checkPage(t, name, shownAtFirst(text))
		for _, later := range laterPart.FindAllString(text, -1) { // takes the place of a part of the page
			checkFields(t, name, later)
		}
		day := paletteParts.ReplaceAllString(text, "")
		for _, palette := range []string{"dusk", "night"} {
			other := palette + strings.TrimPrefix(name, "day")
			if paletteParts.ReplaceAllString(read(other), "") != day {
				t.Errorf("%s differs from %s in more than its palette", other, name)
			}
		}
	}
	sheets, err := fs.Glob(static.FS, "*.css")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range sheets {
		text, err := fs.ReadFile(static.FS, name)
		if err != nil {
			t.Fatal(err)
		}
		if rest := paletteBlock.ReplaceAllString(string(text), ""); strings.Contains(rest, ".p-") {
			t.Errorf("%s sets something else than colours by palette", name)
		}
	}
}

var (
	paletteParts = regexp.MustCompile(
		`class="p-(day|dusk|night)"|content="(light|dark)"| aria-pressed="true"|name="act_id" value="[^"]+"`)
	paletteBlock = regexp.MustCompile(
		`(?m)^\.p-(day|dusk|night) \{(\s*--[a-z-]+: #[0-9a-f]{6};|\s*color-scheme: (light|dark);)*\s*\}$`)
)

var laterPart = regexp.MustCompile(`(?s)<template\b.*?</template>`)

// shownAtFirst is a page without what its scripts bring in later.
func shownAtFirst(body string) string { return laterPart.ReplaceAllString(body, "") }

// checkFields looks at the fields of a page, or of a part of one.
func checkFields(t *testing.T, name, body string) {
	t.Helper()
	ids := map[string]bool{}
	for _, m := range idPattern.FindAllStringSubmatch(body, -1) {
		if ids[m[1]] && !strings.HasPrefix(m[1], "dg-") {
			t.Errorf("%s: id %q stands twice", name, m[1])
		}
		ids[m[1]] = true
	}
	for _, m := range forPattern.FindAllStringSubmatch(body, -1) {
		for _, id := range strings.Fields(m[1]) {
			if !ids[id] {
				t.Errorf("%s: label or description names id %q, which is not on the page", name, id)
			}
		}
	}
	for _, tag := range fieldTag.FindAllString(body, -1) {
		hidden, boxed := strings.Contains(tag, `type="hidden"`), strings.Contains(tag, `type="radio"`) ||
			strings.Contains(tag, `type="checkbox"`)
		if !hidden && !boxed && !strings.Contains(tag, ` id="`) {
			t.Errorf("%s: a field has no id and so no label: %s", name, tag)
		}
	}
}

func checkPage(t *testing.T, name, body string) {
	t.Helper()
	checkFields(t, name, body)
	if m := inlineBits.FindString(body); m != "" {
		t.Errorf("%s: inline script or style, which the policy forbids: %q", name, m)
	}
	if m := refPattern.FindString(body); m != "" {
		t.Errorf("%s: refers to another site: %q", name, m)
	}
	for _, want := range []string{"<h1", `lang="en"`, "the flag state's rules", `id="main"`} {
		if !strings.Contains(body, want) {
			t.Errorf("%s: lacks %s", name, want)
		}
	}
	for _, bad := range []string{"&lt;nil&gt;", "%!", "ZgotmplZ", "NaN", "Jan 0001", "<no value>"} {
		if strings.Contains(body, bad) {
			t.Errorf("%s: shows %q", name, bad)
		}
	}
	if strings.Count(body, "<h1") != 1 {
		t.Errorf("%s: has %d headings of the first rank, want 1", name, strings.Count(body, "<h1"))
	}
}

var (
	palettePattern = regexp.MustCompile(`(?s)\.p-(\w+) \{(.*?)\}`)
	colourPattern  = regexp.MustCompile(`--([\w-]+): (#[0-9a-f]{6})`)
)

// TestEveryPaletteIsLegible computes the contrast of every pair that carries words (WCAG 2.2, 1.4.3: 4.5:1) or that
// marks a field's edge (1.4.11: 3:1, not asked of the faintest lines).
func TestEveryPaletteIsLegible(t *testing.T) {
	css, err := fs.ReadFile(static.FS, "palette.css")
	if err != nil {
		t.Fatal(err)
	}
	found := palettePattern.FindAllStringSubmatch(string(css), -1)
	if len(found) != len(screens.Palettes) {
		t.Fatalf("palette.css has %d palettes, want %d", len(found), len(screens.Palettes))
	}
	for _, m := range found {
		colour := map[string]string{"": m[1]}
		for _, c := range colourPattern.FindAllStringSubmatch(m[2], -1) {
			colour[c[1]] = c[2]
		}
		for _, ground := range []string{"ground", "panel", "sunk"} {
			for _, words := range []string{"ink", "quiet", "blue", "orange", "alarm"} {
				wantContrast(t, colour, words, ground, 4.5)
			}
		}
		for _, pair := range [][2]string{{"on-blue", "blue"}, {"on-orange", "orange"}, {"on-alarm", "alarm"},
			{"ink", "blue-wash"}, {"ink", "orange-wash"}, {"ink", "alarm-wash"},
			{"blue", "blue-wash"}, {"orange", "orange-wash"}, {"alarm", "alarm-wash"}, {"quiet", "orange-wash"},
			{"quiet", "alarm-wash"}, {"ink", "soft"}, {"quiet", "blue-wash"}} {
			wantContrast(t, colour, pair[0], pair[1], 4.5)
		}
		for _, mark := range []string{"focus", "edge"} {
			wantContrast(t, colour, mark, "ground", 3)
			wantContrast(t, colour, mark, "panel", 3)
		}
	}
}

func wantContrast(t *testing.T, colour map[string]string, a, b string, want float64) {
	t.Helper()
	if colour[a] == "" || colour[b] == "" {
		t.Errorf("palette %s lacks --%s or --%s", colour[""], a, b)
		return
	}
	if got := contrast(colour[a], colour[b]); got < want {
		t.Errorf("palette %s: contrast of --%s on --%s is %.2f, want %.1f at least", colour[""], a, b, got, want)
	}
}

// contrast is the contrast ratio of WCAG 2.2 of two colours "#rrggbb".
func contrast(a, b string) float64 {
	x, y := luminance(a), luminance(b)
	if x < y {
		x, y = y, x
	}
	return (x + 0.05) / (y + 0.05)
}

func luminance(c string) float64 {
	sum := 0.0
	for i, weight := range []float64{0.2126, 0.7152, 0.0722} {
		n, _ := strconv.ParseUint(c[1+2*i:3+2*i], 16, 8)
		v := float64(n) / 255
		if v <= 0.04045 {
			v /= 12.92
		} else {
			v = math.Pow((v+0.055)/1.055, 2.4)
		}
		sum += weight * v
	}
	return sum
}
