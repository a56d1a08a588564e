package chart

import (
	"fmt"
	"math"
	"strconv"

	"gonum.org/v1/plot/vg"
)

// panelHeight is the height of a panel of share 1, in points; a strip may have less than half of it.
const panelHeight = 170

// Heights of the rows around the drawing areas, in points.
const (
	rowHead   = 24
	rowLegend = 18
	rowTitle  = 18
	rowTicks  = 16
	gapPanels = 14
)

// scale lays a range of values onto a range of the paper.
type scale struct {
	lo, hi float64
	p0, p1 vg.Length
}

func (s scale) at(v float64) vg.Length {
	return s.p0 + vg.Length((v-s.lo)/(s.hi-s.lo))*(s.p1-s.p0)
}

// clamp is for marks that may end outside the picture, such as intervals.
func (s scale) clamp(v float64) vg.Length { return s.at(math.Max(s.lo, math.Min(s.hi, v))) }

func (s scale) inside(v float64) bool { return v >= s.lo && v <= s.hi }

// layout is where everything of a chart lies.
type layout struct {
	width, height vg.Length
	head          bool
	legend        [][]key
	left, right   vg.Length
	x             scale
	panels        []place
}

// place is a panel's drawing area and its scale; y.p0 is the lower edge.
type place struct {
	Panel
	y     scale
	title vg.Length // baseline of the axis title
}

func (c Chart) layout(width vg.Length, head bool) layout {
	l := layout{width: width, head: head, right: width - 10}
	lo, hi := c.xRange()
	if head { // a page writes the legend in its own type
		l.legend = flow(c.keys(), width-4)
	}
	for _, p := range c.Panels {
		l.left = vg.Length(math.Max(float64(l.left), float64(p.labelWidth())))
	}
	l.left += 8
	l.x = scale{lo, hi, l.left, l.right}
	down := vg.Length(4)
	if head {
		down += rowHead
	}
	down += vg.Length(len(l.legend)) * rowLegend
	tops := make([]vg.Length, len(c.Panels))
	for i, p := range c.Panels {
		if p.Y.Title() != "" {
			down += rowTitle
		}
		tops[i] = down
		down += p.height() + gapPanels
	}
	down += rowTicks - gapPanels
	if c.X.Title() != "" {
		down += rowTitle
	}
	l.height = down + 4
	for i, p := range c.Panels {
		ylo, yhi := p.yRange()
		top := l.height - tops[i]
		l.panels = append(l.panels, place{p, scale{ylo, yhi, top - p.height(), top}, top + 7})
	}
	return l
}

func (p Panel) height() vg.Length {
	if p.Height == 0 {
		return panelHeight
	}
	return vg.Length(p.Height) * panelHeight
}

// wider is the room that a browser's typeface may take over ours.
const wider = 1.2

func (p Panel) labelWidth() (w vg.Length) {
	lo, hi := p.yRange()
	st := style(sizeTick, Quiet.Light)
	for _, t := range p.Y.ticks(lo, hi, p.height()/28) {
		w = vg.Length(math.Max(float64(w), float64(st.Width(t.Label))*wider))
	}
	return w
}

// ticks returns the axis's own ticks, or round numbers, about as many as asked for.
func (a Axis) ticks(lo, hi float64, wanted vg.Length) []Tick {
	if len(a.Ticks) > 0 {
		return a.Ticks
	}
	step := niceStep((hi - lo) / math.Max(1, float64(wanted)))
	if a.Clock {
		step = clockStep((hi - lo) / math.Max(1, float64(wanted)))
	}
	decimals := max(a.Decimals, int(math.Max(0, math.Ceil(-math.Log10(step)-1e-9))))
	var out []Tick
	for k := math.Ceil(lo/step - 1e-9); k*step <= hi+step*1e-9; k++ {
		v := k * step
		if k == 0 {
			v = 0
		}
		label := minus(strconv.FormatFloat(v, 'f', decimals, 64))
		if a.Clock {
			label = Clock(v)
		}
		out = append(out, Tick{v, label})
	}
	return out
}

// Clock writes seconds as minutes and seconds, as a reader finds them in a log: 3:07.
func Clock(s float64) string {
	sign := ""
	if s < -0.5 {
		sign, s = "\u2212", -s
	}
	n := int(s + 0.5)
	return fmt.Sprintf("%s%d:%02d", sign, n/60, n%60)
}

// clockStep returns the smallest step of whole seconds or minutes that is not below v.
func clockStep(v float64) float64 {
	for _, s := range []float64{1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800} {
		if s >= v {
			return s
		}
	}
	return 3600 * niceStep(v/3600)
}

// niceStep returns the smallest of 1, 2, 5 times a power of ten that is not below v.
func niceStep(v float64) float64 {
	if !(v > 0) || math.IsInf(v, 0) {
		return 1
	}
	e := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{1, 2, 5} {
		if m*e >= v*(1-1e-9) {
			return m * e
		}
	}
	return 10 * e
}

// minus writes a true minus sign.
func minus(s string) string {
	if len(s) > 0 && s[0] == '-' {
		return "\u2212" + s[1:]
	}
	return s
}
