package web

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

// drawQR draws an address for a screen. It returns an error for a text that no QR code can hold.
func drawQR(text string) (qrPicture, error) {
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
