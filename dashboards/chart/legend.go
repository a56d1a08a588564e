package chart

import (
	"fmt"
	"html"
	"html/template"
	"strings"

	"gonum.org/v1/plot/vg"
)

// key is an entry of the legend.
type key struct {
	name  string
	role  Role
	glyph func(p *pen, k Ink, x, y vg.Length)
}

func keyCurve(p *pen, k Ink, x, y vg.Length) {
	p.line(k.Light, k.Width+0.4, k.Dash, vg.Point{X: x, Y: y}, vg.Point{X: x + 20, Y: y})
}

// keyDots shows three of a cloud, drawn as the cloud is.
func keyDots(p *pen, k Ink, x, y vg.Length) {
	p.cloud(k, []vg.Point{{X: x + 3, Y: y}, {X: x + 10, Y: y}, {X: x + 17, Y: y}})
}

func keyBox(share float64) func(*pen, Ink, vg.Length, vg.Length) {
	return func(p *pen, k Ink, x, y vg.Length) {
		p.box(tint(k.Light, Paper.Light, share), rect(x, y-4.5, x+20, y+4.5))
		p.line(k.Light, 0.8, nil, vg.Point{X: x, Y: y - 4.5}, vg.Point{X: x + 20, Y: y - 4.5})
	}
}

func keyWhisker(p *pen, k Ink, x, y vg.Length) {
	p.line(k.Light, 1.2, nil, vg.Point{X: x, Y: y}, vg.Point{X: x + 20, Y: y})
	p.dot(k, 3, vg.Point{X: x + 10, Y: y})
}

// keys lists the named things of all panels, each name once, in the order they were described.
func (c Chart) keys() []key {
	var out []key
	seen := map[string]bool{}
	add := func(name string, r Role, g func(*pen, Ink, vg.Length, vg.Length)) {
		if name != "" && !seen[name] {
			seen[name] = true
			out = append(out, key{name, r, g})
		}
	}
	for _, p := range c.Panels {
		for _, l := range p.Lines {
			if l.Mark == Dots {
				add(l.Name, l.Role, keyDots)
			} else {
				add(l.Name, l.Role, keyCurve)
			}
		}
		for _, a := range p.Areas {
			add(a.Name, a.Role, keyBox(areaShare))
		}
		for _, b := range p.Bars {
			add(b.Name, b.Role, keyBox(blockShare))
		}
		for _, b := range p.Bands {
			add(b.Name, b.Role, keyBox(bandShare))
		}
		for _, s := range p.Spans {
			add(s.Name, s.Role, keyBox(blockShare))
		}
		for _, w := range p.Whiskers {
			add(w.Name, w.Role, keyWhisker)
		}
		for _, r := range p.Rules {
			add(r.Name, r.Role, keyCurve)
		}
	}
	return out
}

// flow breaks the legend into rows no wider than the paper.
func flow(keys []key, width vg.Length) (rows [][]key) {
	var used vg.Length
	for _, k := range keys {
		w := keyWidth(k)
		if len(rows) == 0 || used+w > width {
			rows, used = append(rows, nil), 0
		}
		rows[len(rows)-1] = append(rows[len(rows)-1], k)
		used += w
	}
	return rows
}

// keyWidth leaves a tenth more than the text needs: a browser may set it in a wider face.
func keyWidth(k key) vg.Length {
	return 20 + 6 + style(sizeTick, Text.Light).Width(k.name)*1.1 + 16
}

// Pictures returns the chart as a page shows it: the legend, written in the page's own type so that it breaks as the page does, and the still picture at
// both widths, of which the stylesheet shows one.
func (c Chart) Pictures() template.HTML {
	return c.legend() + template.HTML(`<div class="still"><div class="wide">`) + c.Inline(Wide) +
		template.HTML(`</div><div class="narrow">`) + c.Inline(Narrow) + template.HTML(`</div></div>`)
}

// Size of a mark in a legend on a page, in points.
const keyHigh, keyWide = 12, 22

// legend writes the named marks of the chart as a list; "" where there is nothing to tell apart.
func (c Chart) legend() template.HTML {
	keys := c.keys()
	if len(keys) == 0 {
		return ""
	}
	var b strings.Builder
	b.WriteString(`<ul class="keys">`)
	for _, k := range keys {
		mark := inline(keyWide, keyHigh, func(p *pen) { k.glyph(p, k.role.Ink(), 1, keyHigh/2) })
		fmt.Fprintf(&b, `<li><svg viewBox="0 0 %d %d" aria-hidden="true">%s%s</li>`, keyWide, keyHigh, mark, html.EscapeString(k.name))
	}
	b.WriteString(`</ul>`)
	return template.HTML(b.String())
}
