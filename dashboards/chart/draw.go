package chart

import (
	"math"

	"gonum.org/v1/plot/vg"
)

// draw puts the chart onto the paper.
func (c Chart) draw(p *pen, l layout) {
	top := l.height - 4
	if l.head {
		p.write(style(sizeHead, Text.Light), 2, top-sizeHead, -1, c.Title)
		top -= rowHead
	}
	for _, row := range l.legend {
		x := vg.Length(2)
		for _, k := range row {
			k.glyph(p, k.role.Ink(), x, top-rowLegend/2)
			p.write(style(sizeTick, Text.Light), x+26, top-rowLegend/2-4, -1, k.name)
			x += keyWidth(k)
		}
		top -= rowLegend
	}
	for _, pl := range l.panels {
		c.drawPanel(p, l, pl)
	}
	c.drawXAxis(p, l)
}

func (c Chart) drawPanel(p *pen, l layout, pl place) {
	p.write(style(sizeTitle, Quiet.Light), 2, pl.title, -1, pl.Y.Title())
	for _, b := range pl.Bands {
		l.drawBand(p, pl, b)
	}
	for _, t := range pl.Y.ticks(pl.y.lo, pl.y.hi, pl.height()/28) {
		if !pl.y.inside(t.At) {
			continue
		}
		y := pl.y.at(t.At)
		if len(pl.Y.Ticks) == 0 {
			p.line(Grid.Light, 0.8, nil, vg.Point{X: l.left, Y: y}, vg.Point{X: l.right, Y: y})
		}
		p.write(style(sizeTick, Quiet.Light), l.left-6, y-4, 1, t.Label)
	}
	for _, s := range pl.Spans {
		l.drawSpan(p, pl, s)
	}
	for _, a := range pl.Areas {
		l.drawArea(p, pl, a)
	}
	for _, b := range pl.Bars {
		l.drawBar(p, pl, b)
	}
	var labels []vg.Rectangle
	for _, r := range pl.Rules {
		l.drawRule(p, pl, r, &labels)
	}
	for _, s := range pl.Lines {
		l.drawLine(p, pl, s)
	}
	for _, w := range pl.Whiskers {
		l.drawWhisker(p, pl, w)
	}
	p.line(Quiet.Light, 0.8, nil, vg.Point{X: l.left, Y: pl.y.p0}, vg.Point{X: l.right, Y: pl.y.p0})
}

func (c Chart) drawXAxis(p *pen, l layout) {
	if len(l.panels) == 0 {
		return
	}
	base := l.panels[len(l.panels)-1].y.p0
	for _, t := range c.X.ticks(l.x.lo, l.x.hi, (l.right-l.left)/60) {
		if !l.x.inside(t.At) {
			continue
		}
		x := l.x.at(t.At)
		p.line(Quiet.Light, 0.8, nil, vg.Point{X: x, Y: base}, vg.Point{X: x, Y: base - 4})
		st := style(sizeTick, Quiet.Light)
		half := st.Width(t.Label) * wider / 2
		p.write(st, min(x, l.width-half), base-rowTicks, 0, t.Label)
	}
	p.write(style(sizeTitle, Quiet.Light), l.right, base-rowTicks-rowTitle+2, 1, c.X.Title())
}

func (l layout) drawBand(p *pen, pl place, b Band) {
	if b.To < l.x.lo || b.From > l.x.hi {
		return
	}
	k := b.Role.Ink()
	x0, x1 := l.x.clamp(b.From), l.x.clamp(b.To)
	p.box(tint(k.Light, Paper.Light, bandShare), rect(x0, pl.y.p0, x1, pl.y.p1))
	st := style(sizeTick, k.Light)
	if st.Width(b.Label)*1.1 < x1-x0 {
		p.write(st, (x0+x1)/2, pl.y.p1-12, 0, b.Label)
	}
}

func (l layout) drawSpan(p *pen, pl place, s Span) {
	if s.To < l.x.lo || s.From > l.x.hi {
		return
	}
	k := s.Role.Ink()
	x0, x1 := l.x.clamp(s.From), l.x.clamp(s.To)
	y0, y1 := pl.y.clamp(s.Low), pl.y.clamp(s.High)
	p.box(tint(k.Light, Paper.Light, blockShare), rect(x0, y0, vg.Length(math.Max(float64(x1), float64(x0+0.7))), y1))
	st := style(sizeTick-1, Text.Light)
	if st.Width(s.Label)*1.1+2 < x1-x0 && y1-y0 > sizeTick {
		p.write(st, (x0+x1)/2, (y0+y1)/2-4, 0, s.Label)
	}
}

func (l layout) drawBar(p *pen, pl place, b Bar) {
	k := b.Role.Ink()
	x0, x1 := l.x.clamp(b.From), l.x.clamp(b.To)
	p.box(tint(k.Light, Paper.Light, blockShare), rect(x0, pl.y.clamp(0), x1, pl.y.clamp(b.Value)))
}

func (l layout) drawRule(p *pen, pl place, r Rule, labels *[]vg.Rectangle) {
	k := r.Role.Ink()
	st := style(sizeTick, k.Light)
	if r.Vertical {
		if !l.x.inside(r.At) {
			return
		}
		x, width := l.x.at(r.At), st.Width(r.Label)*1.1
		p.line(k.Light, k.Width, k.Dash, vg.Point{X: x, Y: pl.y.p0}, vg.Point{X: x, Y: pl.y.p1})
		if x+6+width > l.right {
			p.write(st, x-4, lower(labels, x-4-width, pl.y.p1-10, width), 1, r.Label)
		} else {
			p.write(st, x+4, lower(labels, x+4, pl.y.p1-10, width), -1, r.Label)
		}
		return
	}
	if !pl.y.inside(r.At) {
		return
	}
	y := pl.y.at(r.At)
	p.line(k.Light, k.Width, k.Dash, vg.Point{X: l.left, Y: y}, vg.Point{X: l.right, Y: y})
	p.write(st, l.right, y+4, 1, r.Label)
}

// lower returns the baseline for a label from x on: as high as no other label is in its way.
func lower(labels *[]vg.Rectangle, x, y, width vg.Length) vg.Length {
	for i := 0; i < len(*labels); i++ {
		if o := (*labels)[i]; x < o.Max.X && x+width > o.Min.X && y < o.Max.Y && y+sizeTick > o.Min.Y {
			y, i = o.Min.Y-sizeTick-1, -1
		}
	}
	*labels = append(*labels, rect(x, y, x+width, y+sizeTick))
	return y
}

// drawLine draws a curve in its unbroken stretches, or the dots. Points outside the axes are clipped.
func (l layout) drawLine(p *pen, pl place, s Line) {
	k := s.Role.Ink()
	if s.Mark == Dots {
		at := make([]vg.Point, 0, len(s.X))
		for i := range s.X {
			if l.x.inside(s.X[i]) && pl.y.inside(s.Y[i]) {
				at = append(at, vg.Point{X: l.x.at(s.X[i]), Y: pl.y.at(s.Y[i])})
			}
		}
		p.cloud(k, sparse(at))
		return
	}
	x, y := thin(s.X, s.Y, l.x.lo, l.x.hi, int(l.right-l.left))
	view := *p
	view.Rectangle = rect(l.left, pl.y.p0, l.right, pl.y.p1)
	var run []vg.Point
	flush := func() {
		for _, part := range view.ClipLinesXY(run) {
			p.line(k.Light, k.Width, k.Dash, part...)
		}
		run = run[:0]
	}
	for i := range x {
		if math.IsNaN(y[i]) {
			flush()
			continue
		}
		run = append(run, vg.Point{X: l.x.at(x[i]), Y: pl.y.at(y[i])})
	}
	flush()
	if n := len(x); n > 0 && s.Label != "" {
		p.write(style(sizeTick, k.Light), l.x.clamp(x[n-1])-8, pl.y.clamp(y[n-1])-sizeTick, 1, s.Label)
	}
}

// drawArea fills each stretch in which both edges are known.
func (l layout) drawArea(p *pen, pl place, a Area) {
	a = a.thin(l.x.lo, l.x.hi, int(l.right-l.left))
	k := a.Role.Ink()
	var low, high []vg.Point
	flush := func() {
		if len(low) > 1 {
			ring := append([]vg.Point(nil), low...)
			for i := len(high) - 1; i >= 0; i-- {
				ring = append(ring, high[i])
			}
			p.FillPolygon(tint(k.Light, Paper.Light, areaShare), ring)
		}
		low, high = low[:0], high[:0]
	}
	for i := range a.X {
		if math.IsNaN(a.Low[i]) || math.IsNaN(a.High[i]) || !l.x.inside(a.X[i]) {
			flush()
			continue
		}
		x := l.x.at(a.X[i])
		low = append(low, vg.Point{X: x, Y: pl.y.clamp(a.Low[i])})
		high = append(high, vg.Point{X: x, Y: pl.y.clamp(a.High[i])})
	}
	flush()
}

func (l layout) drawWhisker(p *pen, pl place, w Whisker) {
	k := w.Role.Ink()
	at := func(v, off vg.Length) vg.Point { return vg.Point{X: v, Y: off} }
	if w.Sideways {
		y := pl.y.at(w.At)
		lo, hi := l.x.clamp(w.Low), l.x.clamp(w.High)
		p.line(k.Light, 1.3, nil, at(lo, y), at(hi, y))
		p.line(k.Light, 1.3, nil, at(lo, y-4), at(lo, y+4))
		p.line(k.Light, 1.3, nil, at(hi, y-4), at(hi, y+4))
		p.dot(k, 3.6, at(l.x.clamp(w.Value), y))
		return
	}
	x := l.x.at(w.At)
	if w.Low == w.High { // a value without an interval
		p.line(k.Light, 1.5, nil, at(x-12, pl.y.clamp(w.Value)), at(x+12, pl.y.clamp(w.Value)))
		return
	}
	lo, hi := pl.y.clamp(w.Low), pl.y.clamp(w.High)
	p.line(k.Light, 1.3, nil, at(x, lo), at(x, hi))
	p.line(k.Light, 1.3, nil, at(x-4, lo), at(x+4, lo))
	p.line(k.Light, 1.3, nil, at(x-4, hi), at(x+4, hi))
	p.dot(k, 3.6, at(x, pl.y.clamp(w.Value)))
}
