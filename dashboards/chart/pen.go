package chart

import (
	"image/color"
	"math"
	"strings"
	"sync"

	"golang.org/x/text/encoding/charmap"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/font/liberation"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
)

// Text sizes in points.
const (
	sizeTick  = 11
	sizeTitle = 11.5
	sizeHead  = 15
)

// pen draws on a canvas in the light colours.
type pen struct {
	draw.Canvas
	anchors bool // let whoever sets the text align it: his typeface may be wider or narrower than ours
	latin   bool // the file knows no characters but those of Windows-1252
}

// Marks in front of a text that a pen with anchors leaves to be aligned; from the private use area of Unicode.
const (
	anchorMiddle = "\ue000"
	anchorEnd    = "\ue001"
)

// letters are read where something is drawn alone: that takes longer than all else that a program does before it starts.
var letters = sync.OnceValue(func() text.Handler { return text.Plain{Fonts: font.NewCache(liberation.Collection())} })

// style has one weight only: the PDF canvas of gonum/plot v0.17 knows no bold face.
func style(size float64, c color.NRGBA) text.Style {
	f := font.Font{Typeface: "Liberation", Variant: "Sans", Size: vg.Length(size)}
	return text.Style{Color: c, Font: f, Handler: letters()}
}

// write puts a line of text with its baseline at y; align is -1 (starts at x), 0 (centred), +1 (ends at x).
func (p *pen) write(st text.Style, x, y vg.Length, align int, s string) {
	if s == "" {
		return
	}
	switch w := st.Width(s); {
	case p.anchors && align == 0:
		s = anchorMiddle + s
	case p.anchors && align > 0:
		s = anchorEnd + s
	case align == 0:
		x -= w / 2
	case align > 0:
		x -= w
	}
	if p.latin {
		s = windows1252(s)
	}
	p.SetColor(st.Color)
	p.FillString(st.Handler.(text.Plain).Fonts.Lookup(st.Font, st.Font.Size), vg.Point{X: x, Y: y}, s)
}

// windows1252 writes a text in the bytes that the fonts of a PDF are indexed by; a character that they lack becomes "?".
func windows1252(s string) string {
	s = strings.ReplaceAll(s, "\u2212", "\u2013")
	out := make([]byte, 0, len(s))
	for _, r := range s {
		b, ok := charmap.Windows1252.EncodeRune(r)
		if !ok {
			b = '?'
		}
		out = append(out, b)
	}
	return string(out)
}

func (p *pen) line(c color.NRGBA, w vg.Length, dashes []vg.Length, pts ...vg.Point) {
	if len(pts) < 2 {
		return
	}
	p.StrokeLines(draw.LineStyle{Color: c, Width: w, Dashes: dashes}, pts)
}

func (p *pen) box(c color.NRGBA, r vg.Rectangle) {
	p.SetColor(c)
	p.Fill(r.Path())
}

func (p *pen) dot(k Ink, size vg.Length, at vg.Point) {
	p.DrawGlyph(draw.GlyphStyle{Color: k.Light, Radius: size, Shape: k.Shape}, at)
}

// cloud draws many small dots as one path: hollow squares, triangles, or octagons that pass for discs, by the role's shape.
func (p *pen) cloud(k Ink, at []vg.Point) {
	corners, radius, turn, hollow := 8, 2.2, 0.5, false
	switch k.Shape.(type) {
	case draw.SquareGlyph:
		corners, radius, hollow = 4, 2.5, true
	case draw.PyramidGlyph:
		corners, radius, turn = 3, 3, 0.75
	}
	if p.anchors && corners == 8 {
		p.rounds(k, at)
		return
	}
	var path vg.Path
	for _, c := range at {
		for i := range corners {
			angle := 2 * math.Pi * (float64(i) + turn) / float64(corners)
			q := vg.Point{X: c.X + vg.Length(radius*math.Cos(angle)), Y: c.Y + vg.Length(radius*math.Sin(angle))}
			if i == 0 {
				path.Move(q)
			} else {
				path.Line(q)
			}
		}
		path.Close()
	}
	if len(path) == 0 {
		return
	}
	if hollow {
		p.SetLineStyle(draw.LineStyle{Color: k.Light, Width: 0.8})
		p.Stroke(path)
		return
	}
	p.SetColor(k.Light)
	p.Fill(path)
}

// roundDot is the width in points by which the stylesheet of the pages knows a stroke that ends round.
const roundDot = 4.4

// rounds draws dots on a page: strokes of no length, whose round ends make a disc. They take a fifth of what an octagon takes.
func (p *pen) rounds(k Ink, at []vg.Point) {
	if len(at) == 0 {
		return
	}
	var path vg.Path
	for _, c := range at {
		path.Move(c)
		path.Line(c)
	}
	p.SetLineStyle(draw.LineStyle{Color: k.Light, Width: roundDot})
	p.Stroke(path)
}

// dotCell is how far dots of one cloud must be apart to be told apart, in points.
const dotCell = 2.5

// sparse leaves out the dots that would lie on another one of their cloud. Dots lie on the paper: none has a negative place.
func sparse(at []vg.Point) []vg.Point {
	column := func(p vg.Point) int { return int(p.X / dotCell) }
	row := func(p vg.Point) int { return int(p.Y / dotCell) }
	columns, rows := 0, 0
	for _, p := range at {
		columns, rows = max(columns, column(p)+1), max(rows, row(p)+1)
	}
	taken := make([]bool, columns*rows)
	out := at[:0]
	for _, p := range at {
		if cell := &taken[row(p)*columns+column(p)]; !*cell {
			*cell = true
			out = append(out, p)
		}
	}
	return out
}

func rect(x0, y0, x1, y1 vg.Length) vg.Rectangle {
	return vg.Rectangle{Min: vg.Point{X: x0, Y: y0}, Max: vg.Point{X: x1, Y: y1}}
}
