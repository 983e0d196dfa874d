package web

import (
	"fmt"
	"strings"
	"testing"
)

// pgm draws the picture from its path, as a browser would, with so many dots a module.
func (q qrPicture) pgm(scale int) []byte {
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

func TestTextThatNoQRHoldsIsAnError(t *testing.T) {
	if _, err := drawQR(strings.Repeat("long ", 2000)); err == nil {
		t.Error("drawQR of 10000 characters = nil error, want one")
	}
}
