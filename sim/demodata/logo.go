package main

import (
	"bytes"
	"image"
	"image/color"
	"image/png"
	"math"
)

// logo draws the sign of the invented workshop: a ring of eight blocks around a hub, on clear ground.
func logo() (string, error) {
	const size, fine = 120, 4
	ink := color.NRGBA{R: 0x2f, G: 0x3e, B: 0x46}
	out := image.NewNRGBA(image.Rect(0, 0, size, size))
	for y := range size {
		for x := range size {
			n := 0
			for k := range fine * fine {
				n += inked(float64(x)+float64(k%fine)/fine-size/2, float64(y)+float64(k/fine)/fine-size/2)
			}
			ink.A = uint8(255 * n / (fine * fine))
			out.SetNRGBA(x, y, ink)
		}
	}
	var b bytes.Buffer
	err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, out)
	return b.String(), err
}

// inked is 1 where there is ink, by the distance from the middle.
func inked(x, y float64) int {
	r := math.Hypot(x, y)
	block := math.Mod(math.Atan2(y, x)/(math.Pi/4)+8, 1)
	if r < 14 || r > 20 && r < 25 || r > 34 && r < 57 && block > 0.16 {
		return 1
	}
	return 0
}
