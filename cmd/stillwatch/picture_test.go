package main

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"slices"
)

// smaller writes a picture of a page anew with its 256 most frequent colours, which is enough for words and lines and
// makes it a third as large.
func smaller(picture []byte) ([]byte, error) {
	img, err := png.Decode(bytes.NewReader(picture))
	if err != nil {
		return nil, err
	}
	b := img.Bounds()
	count := map[color.RGBA]int{}
	at := func(x, y int) color.RGBA { return color.RGBAModel.Convert(img.At(x, y)).(color.RGBA) }
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			count[at(x, y)]++
		}
	}
	colours := make([]color.RGBA, 0, len(count))
	for c := range count {
		colours = append(colours, c)
	}
	slices.SortFunc(colours, func(a, b color.RGBA) int { return count[b] - count[a] })
	var palette color.Palette
	for _, c := range colours[:min(256, len(colours))] {
		palette = append(palette, c)
	}
	nearest := map[color.RGBA]uint8{}
	for _, c := range colours {
		nearest[c] = uint8(palette.Index(c))
	}
	out := image.NewPaletted(b, palette)
	for y := b.Min.Y; y < b.Max.Y; y++ {
		for x := b.Min.X; x < b.Max.X; x++ {
			out.SetColorIndex(x, y, nearest[at(x, y)])
		}
	}
	var small bytes.Buffer
	err = (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&small, out)
	return small.Bytes(), err
}
