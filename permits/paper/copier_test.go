package paper

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// need finds a program for a test. Without it the test is skipped with a plain
// message, but in CI it fails: there a missing witness must be noticed.
func need(t *testing.T, program string) string {
	t.Helper()
	path, err := exec.LookPath(program)
	if err == nil {
		return path
	}
	if os.Getenv("CI") == "true" {
		t.Fatalf("%s is not installed, and CI=true asks for it", program)
	}
	t.Skipf("%s is not installed: nothing outside this package looked at the paper", program)
	return ""
}

// render is each page of a PDF as a grey image.
func render(t *testing.T, pdf []byte, dpi int) []*image.Gray {
	t.Helper()
	program := need(t, "pdftoppm")
	dir := t.TempDir()
	in := filepath.Join(dir, "in.pdf")
	if err := os.WriteFile(in, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(program, "-r", fmt.Sprint(dpi), "-gray", in,
		filepath.Join(dir, "page")).CombinedOutput(); err != nil {
		t.Fatalf("pdftoppm: %v: %s", err, out)
	}
	files, err := filepath.Glob(filepath.Join(dir, "page*.pgm"))
	if err != nil || len(files) == 0 {
		t.Fatalf("pdftoppm made %d pages, error %v", len(files), err)
	}
	slices.Sort(files)
	pages := make([]*image.Gray, len(files))
	for i, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		pages[i] = readPGM(t, data)
	}
	return pages
}

// readPGM reads a binary grey map as pdftoppm writes it.
func readPGM(t *testing.T, data []byte) *image.Gray {
	t.Helper()
	var w, h, top int
	r := bytes.NewReader(data)
	if _, err := fmt.Fscanf(r, "P5\n%d %d\n%d\n", &w, &h, &top); err != nil || top != 255 {
		t.Fatalf("read grey map: %v, white is %d", err, top)
	}
	img := image.NewGray(image.Rect(0, 0, w, h))
	copy(img.Pix, data[len(data)-w*h:])
	return img
}

// scan is what zbarimg reads as QR codes from an image, sorted.
func scan(t *testing.T, img *image.Gray) []string {
	t.Helper()
	program := need(t, "zbarimg")
	file := filepath.Join(t.TempDir(), "page.pgm")
	data := append(fmt.Appendf(nil, "P5\n%d %d\n255\n", img.Rect.Dx(), img.Rect.Dy()), img.Pix...)
	if err := os.WriteFile(file, data, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(program, "-q", "--raw", "-Sdisable", "-Sqrcode.enable", file).Output()
	if exit, ok := err.(*exec.ExitError); err != nil && (!ok || exit.ExitCode() != 4) { // 4: nothing found
		t.Fatalf("zbarimg: %v", err)
	}
	codes := strings.Fields(string(out))
	slices.Sort(codes)
	return codes
}

// copier is what a copying machine does to a page.
type copier struct {
	blurPx   int     // radius of a box blur, run twice
	noise    float64 // standard deviation, grey levels
	fadeTo   uint8   // black comes out as this grey before the threshold
	bilevel  bool    // a threshold at mid grey, as a line copy has
	slopeDeg float64 // page laid askew
	specks   int     // black and white specks of 1.5 mm at 200 dpi, at random places
}

// copied is the page after the copier; the same seed gives the same page.
func copied(page *image.Gray, c copier, seed uint64) *image.Gray {
	rng := rand.New(rand.NewPCG(seed, 1))
	out := askew(page, c.slopeDeg)
	for range 2 {
		out = boxBlur(out, c.blurPx)
	}
	for i, v := range out.Pix {
		g := float64(c.fadeTo) + float64(v)*(1-float64(c.fadeTo)/255) + rng.NormFloat64()*c.noise
		if c.bilevel {
			if g > (255+float64(c.fadeTo))/2 {
				g = 255
			} else {
				g = 0
			}
		}
		out.Pix[i] = uint8(min(255, max(0, g)))
	}
	w, h := out.Rect.Dx(), out.Rect.Dy()
	for range c.specks {
		speck(out, rng.IntN(w), rng.IntN(h), 6, uint8(rng.IntN(2)*255))
	}
	return out
}

// askew turns a page about its middle; what comes in from outside is white.
func askew(page *image.Gray, deg float64) *image.Gray {
	out := image.NewGray(page.Rect)
	sin, cos := math.Sincos(deg * math.Pi / 180)
	cx, cy := float64(page.Rect.Dx())/2, float64(page.Rect.Dy())/2
	for y := range page.Rect.Dy() {
		for x := range page.Rect.Dx() {
			dx, dy := float64(x)-cx, float64(y)-cy
			from := image.Pt(int(math.Round(cx+dx*cos-dy*sin)), int(math.Round(cy+dx*sin+dy*cos)))
			v := uint8(255)
			if from.In(page.Rect) {
				v = page.GrayAt(from.X, from.Y).Y
			}
			out.SetGray(x, y, color.Gray{Y: v})
		}
	}
	return out
}

// boxBlur is the mean over a square, by running sums along rows and then columns.
func boxBlur(page *image.Gray, radius int) *image.Gray {
	w, h := page.Rect.Dx(), page.Rect.Dy()
	rows, out := image.NewGray(page.Rect), image.NewGray(page.Rect)
	run := func(from, to *image.Gray, lines, n int, at func(line, i int) int) {
		for line := range lines {
			pix := func(i int) int { return int(from.Pix[at(line, min(n-1, max(0, i)))]) }
			sum := 0
			for i := -radius; i <= radius; i++ {
				sum += pix(i)
			}
			for i := range n {
				to.Pix[at(line, i)] = uint8(sum / (2*radius + 1))
				sum += pix(i+radius+1) - pix(i-radius)
			}
		}
	}
	run(page, rows, h, w, func(line, i int) int { return line*w + i })
	run(rows, out, w, h, func(line, i int) int { return i*w + line })
	return out
}

// speck puts a round spot on the page.
func speck(page *image.Gray, x, y, radius int, v uint8) {
	for dy := -radius; dy <= radius; dy++ {
		for dx := -radius; dx <= radius; dx++ {
			if dx*dx+dy*dy <= radius*radius && image.Pt(x+dx, y+dy).In(page.Rect) {
				page.SetGray(x+dx, y+dy, color.Gray{Y: v})
			}
		}
	}
}

// matrixImage draws modules with their margin at a printed side in mm and dpi, by
// sampling each pixel at 4 × 4 places.
func matrixImage(modules [][]bool, sideMM float64, dpi int) *image.Gray {
	px := int(sideMM / 25.4 * float64(dpi))
	img := image.NewGray(image.Rect(0, 0, px, px))
	n := float64(len(modules) + 2*quietModules)
	for y := range px {
		for x := range px {
			white := 0
			for k := range 16 {
				mx := int((float64(x)+0.125+float64(k%4)/4)/float64(px)*n) - quietModules
				my := int((float64(y)+0.125+float64(k/4)/4)/float64(px)*n) - quietModules
				if mx < 0 || my < 0 || mx >= len(modules) || my >= len(modules) || !modules[my][mx] {
					white++
				}
			}
			img.SetGray(x, y, color.Gray{Y: uint8(white * 255 / 16)})
		}
	}
	return img
}
