package paper

import (
	"fmt"
	"math"
	"strings"

	qrcode "github.com/skip2/go-qrcode"
)

// quietModules is the white margin that a reader needs around the code (ISO/IEC 18004,
// from memory: four modules).
const quietModules = 4

// qrModules is the code for content, true where it is black, without the margin.
//
// Level: Q (skip2's High, a quarter of the words may be lost), raised to H where that
// needs no larger symbol. At a given printed side a higher level means smaller modules.
// Measured with zbarimg on 60 simulated line copies each, side 36 mm, an address of 42
// characters: at a blur of 0.25 mm L, M and Q are read 60 times, H 58; at 0.36 mm 47,
// 52, 54 and 27; with six specks of 1.5 mm 58, 59, 59 and 55. Q costs no larger symbol
// than M, H does and loses by it. TestLevelQOutlastsHOnCopies repeats part of this.
func qrModules(content string) ([][]bool, error) {
	if strings.TrimSpace(content) == "" {
		return nil, fmt.Errorf("%w: the QR code has no address", ErrIncomplete)
	}
	code, err := qrcode.New(content, qrcode.High)
	if err != nil {
		return nil, fmt.Errorf("make QR code: %w", err)
	}
	if firmer, err := qrcode.New(content, qrcode.Highest); err == nil && firmer.VersionNumber == code.VersionNumber {
		code = firmer
	}
	code.DisableBorder = true
	return code.Bitmap(), nil
}

// dotMM is a dot of a 300 dpi printer. Modules are whole dots and begin on one, so that
// all come out alike; larger dots than 600 dpi has would cost size for nothing.
const dotMM = 25.4 / 300

// snap is the dot nearest to v mm.
func snap(v float64) float64 { return math.Round(v/dotMM) * dotMM }

// drawQR draws the code with its white margin into a square of side mm at x, y. All
// runs are one path with one fill, so that no renderer leaves hair lines between them.
func (p *sheet) drawQR(x, y, side float64, content string) error {
	modules, err := qrModules(content)
	if err != nil {
		return err
	}
	cells := float64(len(modules) + 2*quietModules)
	module := math.Floor(side/cells/dotMM) * dotMM
	x, y = snap(x+(side-module*cells)/2), snap(y+(side-module*cells)/2)
	side = module * cells
	p.pdf.SetFillColor(255, 255, 255)
	p.pdf.Rect(x, y, side, side, "F")
	p.pdf.SetFillColor(0, 0, 0)
	var path strings.Builder
	at := func(i int) float64 { return float64(i+quietModules) * module }
	for row, line := range modules {
		for from := 0; from < len(line); from++ {
			if !line[from] {
				continue
			}
			to := from
			for to < len(line) && line[to] {
				to++
			}
			// PDF counts from the lower left corner in points.
			fmt.Fprintf(&path, "%.3f %.3f %.3f %.3f re\n", (x+at(from))/mmPerPt, (pageH-y-at(row+1))/mmPerPt,
				float64(to-from)*module/mmPerPt, module/mmPerPt)
			from = to
		}
	}
	p.pdf.RawWriteStr(path.String() + "f")
	return nil
}

// checkCode refuses a code that can't be read aloud from the paper (2 to 24 letters A-Z
// and digits, spaces and hyphens between them) or that isn't the one in the address:
// the phone and the voice would then reach two tags.
func checkCode(what, code, url string) error {
	bare := strings.NewReplacer(" ", "", "-", "").Replace(code)
	switch {
	case strings.TrimSpace(url) == "" || bare == "":
		return fmt.Errorf("%w: %s has no code or no address", ErrIncomplete, what)
	case len(bare) < 2 || len(bare) > 24 || strings.Trim(bare, "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789") != "":
		return fmt.Errorf("%w: %s has the code %q, which can't be read aloud", ErrIncomplete, what, code)
	case !strings.Contains(strings.ReplaceAll(strings.ToUpper(url), "-", ""), bare):
		return fmt.Errorf("%w: %s has the code %q, and another in its address", ErrIncomplete, what, code)
	}
	return nil
}

// groupCode is a tag's code in groups of four for reading aloud, its check character
// after a hyphen: "7K3M Q2XD 9PTR-4". What separates groups in code is replaced.
func groupCode(code string) string {
	runes := []rune(strings.Map(func(r rune) rune {
		if r == ' ' || r == '-' {
			return -1
		}
		return r
	}, code))
	if len(runes) < 2 {
		return string(runes)
	}
	var b strings.Builder
	body := runes[:len(runes)-1]
	for i, r := range body {
		if i > 0 && i%4 == 0 {
			b.WriteByte(' ')
		}
		b.WriteRune(r)
	}
	return b.String() + "-" + string(runes[len(runes)-1])
}
