package chart

import (
	"bytes"
	"fmt"
	"html"
	"html/template"
	"io"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	_ "gonum.org/v1/plot/vg/vgimg" // the png format
	_ "gonum.org/v1/plot/vg/vgpdf" // the pdf format
	"gonum.org/v1/plot/vg/vgsvg"
)

// Widths of a chart on a page, in points that a page shows as pixels.
const (
	Wide   = 720
	Narrow = 350
)

// Formats lists the file formats that Write knows.
var Formats = []string{"svg", "png", "pdf"}

// The library behind PDF puts the time of day and the order of a map into its files unless it is told not to, and only for all
// files at once.
func init() {
	fpdf.SetDefaultCatalogSort(true)
	fpdf.SetDefaultCreationDate(time.Unix(0, 0).UTC())
	fpdf.SetDefaultModificationDate(time.Unix(0, 0).UTC())
}

// Write writes the charts below each other, with their titles, as one picture of the format (see Formats).
func Write(w io.Writer, format string, charts ...Chart) error {
	var layouts []layout
	height := vg.Length(0)
	for _, c := range charts {
		l := c.layout(Wide, true)
		layouts = append(layouts, l)
		height += l.height + gapPanels
	}
	if len(charts) == 0 {
		return fmt.Errorf("there is nothing to draw")
	}
	paper, err := draw.NewFormattedCanvas(Wide+2*margin, height+2*margin, format)
	if err != nil {
		return fmt.Errorf("a picture cannot be written as %q: use svg, png or pdf", format)
	}
	full := &pen{Canvas: draw.NewCanvas(paper, Wide+2*margin, height+2*margin)}
	full.box(Paper.Light, full.Rectangle)
	top := height + margin
	for i, c := range charts {
		paper.Push()
		paper.Translate(vg.Point{X: margin, Y: top - layouts[i].height})
		c.draw(&pen{Canvas: draw.NewCanvas(paper, layouts[i].width, layouts[i].height), latin: format == "pdf"}, layouts[i])
		paper.Pop()
		top -= layouts[i].height + gapPanels
	}
	_, err = paper.WriteTo(w)
	return err
}

const margin = 12

// Inline returns the chart as an SVG element for a page: no legend (see Pictures), no background, no style attribute (a strict content security policy forbids
// them), no font, no size but the view box; the page's stylesheet colours it by the fill and stroke attributes.
func (c Chart) Inline(width float64) template.HTML {
	l := c.layout(vg.Length(width), false)
	return template.HTML(fmt.Sprintf(`<svg viewBox="0 0 %g %g" role="img" aria-label="%s">`,
		l.width.Points(), l.height.Points(), html.EscapeString(c.Title)) + inline(l.width, l.height, func(p *pen) { c.draw(p, l) }))
}

// inline returns what is drawn on a paper of that size as the inside and the end of an SVG element.
func inline(width, height vg.Length, draws func(*pen)) string {
	out := vgsvg.New(width, height)
	draws(&pen{Canvas: draw.NewCanvas(out, width, height), anchors: true})
	var b bytes.Buffer
	if _, err := out.WriteTo(&b); err != nil { // a bytes.Buffer takes everything
		panic(err)
	}
	body := b.String()
	if i := strings.Index(body, "<g "); i >= 0 {
		body = body[i:]
	}
	body = strings.ReplaceAll(body, "\n\tstyle=", " style=")
	body = rewrite(body, ` style="`, `"`, presentation)
	body = rewrite(body, ` d="`, `"`, compact)
	return rewrite(body, "<text ", "</text>", anchor)
}

// rewrite replaces every part of an SVG from begin to the first end behind it. The texts in it hold no quotes and no brackets:
// they are escaped. Regular expressions take half of the time of a page for it.
func rewrite(body, begin, end string, with func(string) string) string {
	var b strings.Builder
	for {
		i := strings.Index(body, begin)
		if i < 0 {
			break
		}
		n := strings.Index(body[i+len(begin):], end)
		if n < 0 {
			break
		}
		n += i + len(begin) + len(end)
		b.WriteString(body[:i])
		b.WriteString(with(body[i:n]))
		body = body[n:]
	}
	b.WriteString(body)
	return b.String()
}

// anchor turns the mark in front of a text into an attribute.
func anchor(text string) string {
	for mark, place := range map[string]string{anchorEnd: "end", anchorMiddle: "middle"} {
		if head, rest, ok := strings.Cut(text, ">"+mark); ok {
			return `<text text-anchor="` + place + `" ` + strings.TrimPrefix(head, "<text ") + ">" + rest
		}
	}
	return text
}

// presentation turns a style attribute into presentation attributes, without the ones that the page decides. A font
// shorthand of more than one word keeps only its weight and size.
func presentation(style string) string {
	style = strings.TrimSuffix(strings.TrimPrefix(style, ` style="`), `"`)
	var b strings.Builder
	for _, d := range strings.Split(style, ";") {
		name, value, ok := strings.Cut(d, ":")
		if !ok || name == "font-family" || name == "font-variant" || name == "font-style" ||
			name == "font-weight" && value == "normal" {
			continue
		}
		fmt.Fprintf(&b, ` %s="%s"`, name, value)
	}
	return b.String()
}
