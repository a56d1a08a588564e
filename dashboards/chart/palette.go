package chart

import (
	"image/color"

	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Role is what a mark stands for. It fixes colour, dash and dot shape together: who cannot tell the colours apart still
// tells the marks apart.
type Role uint8

// The roles.
const (
	Measured   Role = iota // engine speed as logged
	Expected               // engine speed that the road speed asks for in this gear
	SlipRole               // slip, shaded
	Torque                 // torque through the clutch
	Speed                  // road speed
	Before                 // the side before the job
	After                  // the side after the job
	Reference              // a claim, a limit, a learnt constant
	Excluded               // seen but not used
	LockedRole             // clutch engaged and locked
	OpenRole               // clutch disengaged, or neutral
	roleCount
)

// Ink is one role on light and on dark paper. Dash is in points; nil is a solid line.
type Ink struct {
	Light, Dark color.NRGBA
	Width       vg.Length
	Dash        []vg.Length
	Shape       draw.GlyphDrawer
}

// The page's own colours, as #rrggbb, light and dark: the stylesheets take them from here.
var (
	Paper = Pair{rgb(0xfb, 0xfa, 0xf6), rgb(0x14, 0x18, 0x1b)}
	Text  = Pair{rgb(0x22, 0x2a, 0x30), rgb(0xe4, 0xe2, 0xdb)}
	Quiet = Pair{rgb(0x5a, 0x63, 0x6a), rgb(0xa3, 0xa9, 0xac)} // axis numbers, captions
	Grid  = Pair{rgb(0xe2, 0xdf, 0xd6), rgb(0x2b, 0x32, 0x37)}
)

// Pair is a colour on light and on dark paper.
type Pair struct{ Light, Dark color.NRGBA }

// Chosen so that every ink has a contrast of at least 4.5 to its paper (WCAG 2 asks 3 of graphics, 4.5 of text) and that inks which
// meet in one chart stay apart under the three kinds of colour blindness; palette_test.go checks both.
var inks = [roleCount]Ink{
	Measured:   {rgb(0x0f, 0x57, 0x6e), rgb(0x76, 0xc3, 0xdb), 1.5, nil, draw.CircleGlyph{}},
	Expected:   {rgb(0x22, 0x2a, 0x30), rgb(0xe4, 0xe2, 0xdb), 1, dash(5, 3), draw.RingGlyph{}},
	SlipRole:   {rgb(0xbb, 0x2d, 0x44), rgb(0xfb, 0x8f, 0x72), 1, nil, draw.PyramidGlyph{}},
	Torque:     {rgb(0x5b, 0x46, 0x97), rgb(0xb9, 0xa8, 0xee), 1.4, nil, draw.CircleGlyph{}},
	Speed:      {rgb(0x5d, 0x66, 0x1a), rgb(0xbf, 0xc6, 0x6b), 1.2, nil, draw.CircleGlyph{}},
	Before:     {rgb(0x9a, 0x4d, 0x0e), rgb(0xe8, 0xa3, 0x5e), 1.3, dash(6, 2.5), draw.SquareGlyph{}},
	After:      {rgb(0x0f, 0x57, 0x6e), rgb(0x76, 0xc3, 0xdb), 1.3, nil, draw.CircleGlyph{}},
	Reference:  {rgb(0x5a, 0x63, 0x6a), rgb(0xa3, 0xa9, 0xac), 1, dash(1.5, 2.5), draw.CrossGlyph{}},
	Excluded:   {rgb(0x6c, 0x73, 0x78), rgb(0x93, 0x9a, 0x9e), 0.8, dash(2, 2), draw.CrossGlyph{}},
	LockedRole: {rgb(0x3c, 0x6f, 0x80), rgb(0x8c, 0xb7, 0xc4), 1, nil, draw.BoxGlyph{}},
	OpenRole:   {rgb(0x6c, 0x73, 0x78), rgb(0x93, 0x9a, 0x9e), 1, nil, draw.BoxGlyph{}},
}

// Ink returns how a role is drawn.
func (r Role) Ink() Ink {
	if r >= roleCount {
		r = Reference
	}
	return inks[r]
}

func rgb(r, g, b uint8) color.NRGBA { return color.NRGBA{R: r, G: g, B: b, A: 0xff} }

func dash(on, off vg.Length) []vg.Length { return []vg.Length{on, off} }

// tint lays a colour thinly over the paper: an opaque colour, so that print and screen agree.
func tint(c, paper color.NRGBA, share float64) color.NRGBA {
	mix := func(a, b uint8) uint8 { return uint8(float64(a)*share + float64(b)*(1-share) + 0.5) }
	return rgb(mix(c.R, paper.R), mix(c.G, paper.G), mix(c.B, paper.B))
}

// The shares used: of a shaded area, of a band behind the curves, of a block in a strip.
const (
	areaShare  = 0.30
	bandShare  = 0.13
	blockShare = 0.45
)

// Recolouring is one colour of the light picture and what it becomes on dark paper and on white, printed paper, as #rrggbb.
type Recolouring struct{ Light, Dark, Print string }

// Recolourings lists every colour that a light SVG can contain, for the stylesheet of a dark page.
func Recolourings() []Recolouring {
	var out []Recolouring
	seen := map[string]bool{}
	add := func(light, dark, print color.NRGBA) {
		if h := Hex(light); !seen[h] {
			seen[h] = true
			out = append(out, Recolouring{h, Hex(dark), Hex(print)})
		}
	}
	white := rgb(0xff, 0xff, 0xff)
	add(Paper.Light, Paper.Dark, white)
	for _, p := range []Pair{Text, Quiet, Grid} {
		add(p.Light, p.Dark, p.Light)
	}
	for _, k := range inks {
		add(k.Light, k.Dark, k.Light)
		for _, s := range []float64{areaShare, bandShare, blockShare} {
			add(tint(k.Light, Paper.Light, s), tint(k.Dark, Paper.Dark, s), tint(k.Light, white, s))
		}
	}
	return out
}

// Hex returns a colour as #RRGGBB, as vgsvg writes it.
func Hex(c color.NRGBA) string {
	const d = "0123456789ABCDEF"
	return string([]byte{'#', d[c.R>>4], d[c.R&15], d[c.G>>4], d[c.G&15], d[c.B>>4], d[c.B&15]})
}
