// Package chart describes a chart once and renders it twice: as a still picture (SVG, PNG, PDF, drawn by gonum/plot)
// and as data for a zoomable one in the browser. It computes nothing but where a value lands on the paper.
package chart

import "math"

// Chart is one or more panels above each other that share the horizontal axis.
type Chart struct {
	ID      string // a short name, unique within a page: letters, digits and dashes
	Title   string
	Caption string // how to read it, in a sentence or two; also the text for those who cannot see it
	X       Axis
	Panels  []Panel
	Still   bool // a picture of many dots, with nothing to zoom into
}

// Axis is a quantity along one edge. Min and Max are used where Min < Max; otherwise the data decides.
type Axis struct {
	Label, Unit string
	Min, Max    float64
	Zero        bool   // zero belongs to the picture
	Ticks       []Tick // named places instead of numbers
	Decimals    int    // at least so many decimals on the ticks
	Clock       bool   // seconds, written as minutes and seconds
}

// Tick is a named place on an axis.
type Tick struct {
	At    float64
	Label string
}

// Title returns the label with its unit, as it is written beside the axis.
func (a Axis) Title() string {
	if a.Unit == "" {
		return a.Label
	}
	return a.Label + ", " + a.Unit
}

// Panel is one drawing area. Height is its share relative to the other panels; 0 counts as 1.
type Panel struct {
	Y        Axis
	Height   float64
	Bands    []Band    // behind everything
	Areas    []Area    // between two curves
	Bars     []Bar     // histogram
	Lines    []Line    // curves and clouds
	Whiskers []Whisker // values with their 95 % intervals
	Rules    []Rule    // reference lines
	Spans    []Span    // states over time, for a strip panel
}

// Mark is how a Line is drawn.
type Mark uint8

// The marks. A curve has the dash of its role, a dot the shape of its role, so colour never stands alone.
const (
	Curve Mark = iota
	Dots
)

// Line is a curve or a cloud of dots. X and Y have equal length; NaN in Y is a gap. Lines of equal Name share one entry
// in the legend; an empty Name has none.
type Line struct {
	Name string
	// Label is written at the last point of a curve.
	Label string
	Role  Role
	Mark  Mark
	X, Y  []float64
}

// Area is the surface between Low and High over X; a NaN in either leaves it out there.
type Area struct {
	Name         string
	Role         Role
	X, Low, High []float64
}

// Band shades a stretch of the horizontal axis over the full height.
type Band struct {
	From, To float64
	Name     string // legend entry
	Label    string // written at its top
	Role     Role
}

// Span is a state that held over a stretch of the horizontal axis: drawn as a block between Low and High of the panel
// (data units of its vertical axis), with a label where there is room.
type Span struct {
	From, To, Low, High float64
	Name, Label         string
	Role                Role
}

// Bar is one bin of a histogram.
type Bar struct {
	From, To, Value float64
	Name            string
	Role            Role
}

// Whisker is a value with an interval at a place on the other axis.
type Whisker struct {
	At, Value, Low, High float64
	Name                 string
	Role                 Role
	Sideways             bool // the value runs along the horizontal axis, At along the vertical one
}

// Rule is a reference line across the panel.
type Rule struct {
	At       float64
	Name     string // legend entry
	Label    string // written at it: short, for it stands inside the panel
	Role     Role
	Vertical bool
}

// Zoomable tells whether there is a curve to zoom into; the others stay still pictures.
func (c Chart) Zoomable() bool {
	for _, p := range c.Panels {
		for _, l := range p.Lines {
			if !c.Still && len(l.X) > 1 && len(c.X.Ticks) == 0 && len(p.Y.Ticks) == 0 {
				return true
			}
		}
	}
	return false
}

// span is a growing range; empty while lo > hi.
type span struct{ lo, hi float64 }

func emptySpan() span { return span{math.Inf(1), math.Inf(-1)} }

func (s *span) add(vs ...float64) {
	lo, hi := s.lo, s.hi
	for _, v := range vs {
		if math.Abs(v) <= math.MaxFloat64 { // neither NaN nor infinite
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	s.lo, s.hi = lo, hi
}

// xRange returns the horizontal range of all panels.
func (c Chart) xRange() (lo, hi float64) {
	s, air := emptySpan(), 0.0
	for _, p := range c.Panels {
		p.spanX(&s)
		if p.spotty() {
			air = 0.03
		}
	}
	return c.X.settle(s, air)
}

// spotty tells whether marks of some width stand at the ends of the horizontal axis.
func (p Panel) spotty() bool {
	for _, w := range p.Whiskers {
		if w.Sideways {
			return true
		}
	}
	return len(p.Lines) > 0 && p.Lines[0].Mark == Dots
}

func (p Panel) spanX(s *span) {
	for _, l := range p.Lines {
		s.add(l.X...)
	}
	for _, a := range p.Areas {
		s.add(a.X...)
	}
	for _, b := range p.Bars {
		s.add(b.From, b.To)
	}
	for _, b := range p.Spans {
		s.add(b.From, b.To)
	}
	for _, w := range p.Whiskers {
		if w.Sideways {
			s.add(w.Value, w.Low, w.High)
		} else {
			s.add(w.At)
		}
	}
	for _, r := range p.Rules {
		if r.Vertical {
			s.add(r.At)
		}
	}
}

// yRange returns the vertical range of a panel, with a little air.
func (p Panel) yRange() (lo, hi float64) {
	s := emptySpan()
	for _, l := range p.Lines {
		s.add(l.Y...)
	}
	for _, a := range p.Areas {
		s.add(a.Low...)
		s.add(a.High...)
	}
	for _, b := range p.Bars {
		s.add(0, b.Value)
	}
	for _, w := range p.Whiskers {
		if w.Sideways {
			s.add(w.At)
		} else {
			s.add(w.Value, w.Low, w.High)
		}
	}
	for _, r := range p.Rules {
		if !r.Vertical {
			s.add(r.At)
		}
	}
	return p.Y.settle(s, 0.06)
}

// settle turns a range seen in the data into the range drawn; air is the share added at each free end.
func (a Axis) settle(s span, air float64) (lo, hi float64) {
	for _, t := range a.Ticks {
		s.add(t.At)
	}
	if a.Zero {
		s.add(0)
	}
	if a.Min < a.Max {
		return a.Min, a.Max
	}
	if s.lo > s.hi {
		return 0, 1
	}
	if s.lo == s.hi {
		d := math.Max(math.Abs(s.lo)*0.05, 0.5)
		return s.lo - d, s.hi + d
	}
	d := (s.hi - s.lo) * air
	lo, hi = s.lo-d, s.hi+d
	if a.Zero && s.lo == 0 {
		lo = 0
	}
	if a.Zero && s.hi == 0 {
		hi = 0
	}
	return lo, hi
}
