package screens

import (
	"fmt"
	"strings"

	"github.com/skip2/go-qrcode"
)

// qrPicture is a QR code as one path of squares on a field of Side by Side units, its white margin included.
type qrPicture struct {
	Side int
	Path string
	Text string // what it says
}

// quietZone is the white margin that a reader needs, in modules (ISO/IEC 18004, from memory).
const quietZone = 4

// DrawQR draws an address for a screen. It returns an error for a text that no QR code can hold.
func DrawQR(text string) (qrPicture, error) {
	code, err := qrcode.New(text, qrcode.Medium)
	if err != nil {
		return qrPicture{}, fmt.Errorf("draw the QR code of %q: %w", text, err)
	}
	code.DisableBorder = true
	rows := code.Bitmap()
	var path strings.Builder
	for y, row := range rows {
		for x := 0; x < len(row); {
			run := x
			for run < len(row) && row[run] {
				run++
			}
			if run > x {
				fmt.Fprintf(&path, "M%d %dh%dv1h-%dz", x+quietZone, y+quietZone, run-x, run-x)
			}
			x = max(run, x+1)
		}
	}
	return qrPicture{Side: len(rows) + 2*quietZone, Path: path.String(), Text: text}, nil
}

// Pgm draws the picture from its path, as a browser would, with so many dots a module.
func (q qrPicture) Pgm(scale int) []byte {
	dark := make([][]bool, q.Side)
	for i := range dark {
		dark[i] = make([]bool, q.Side)
	}
	for _, run := range strings.Split(strings.TrimPrefix(q.Path, "M"), "M") {
		var x, y, w, back int
		if n, err := fmt.Sscanf(run, "%d %dh%dv1h%dz", &x, &y, &w, &back); n != 4 || err != nil || back != -w {
			panic("a run that is no rectangle: " + run)
		}
		for i := range w {
			dark[y][x+i] = true
		}
	}
	out := fmt.Appendf(nil, "P5 %d %d 255\n", q.Side*scale, q.Side*scale)
	for y := range q.Side * scale {
		for x := range q.Side * scale {
			shade := byte(255)
			if dark[y/scale][x/scale] {
				shade = 0
			}
			out = append(out, shade)
		}
	}
	return out
}
