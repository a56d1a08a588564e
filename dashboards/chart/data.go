package chart

import (
	"math"
	"strconv"
)

// Data is a chart for the page's script: what the still picture shows, with more points to zoom into.
type Data struct {
	X      string      `json:"x"`
	Clock  bool        `json:"clock,omitempty"`
	Range  [2]float64  `json:"range"`
	Panels []dataPanel `json:"panels"`
}

type dataPanel struct {
	Y      string       `json:"y"`
	Height int          `json:"height"`
	Range  [2]float64   `json:"range"`
	Series []dataSeries `json:"series"`
	Bands  []dataBand   `json:"bands,omitempty"`
	Blocks []dataBlock  `json:"blocks,omitempty"`
	Rules  []dataRule   `json:"rules,omitempty"`
	Ticks  []dataTick   `json:"ticks,omitempty"`
}

// colours are on light and on dark paper.
type colours [2]string

type dataSeries struct {
	Name   string    `json:"name"`
	Ink    colours   `json:"ink"`
	Width  float64   `json:"width"`
	Dash   []float64 `json:"dash,omitempty"`
	Dots   bool      `json:"dots,omitempty"`
	Hollow bool      `json:"hollow,omitempty"`
	X      steps     `json:"x"`
	Y      numbers   `json:"y"`
}

// dataBand shades between two series of the panel, by their places in it.
type dataBand struct {
	Low  int     `json:"low"`
	High int     `json:"high"`
	Fill colours `json:"fill"`
}

type dataBlock struct {
	From  float64 `json:"from"`
	To    float64 `json:"to"`
	Low   float64 `json:"low"`
	High  float64 `json:"high"`
	Whole bool    `json:"whole,omitempty"`
	Label string  `json:"label,omitempty"`
	Fill  colours `json:"fill"`
}

type dataRule struct {
	At       float64   `json:"at"`
	Label    string    `json:"label,omitempty"`
	Ink      colours   `json:"ink"`
	Dash     []float64 `json:"dash,omitempty"`
	Vertical bool      `json:"vertical,omitempty"`
}

type dataTick struct {
	At    float64 `json:"at"`
	Label string  `json:"label"`
}

// steps are ascending values written as differences of thousandths, equal ones a thousandth apart since the script joins
// what stands at one x; numbers have four significant digits, NaN is null.
type (
	steps   []float64
	numbers []float64
)

// MarshalJSON writes differences of thousandths.
func (s steps) MarshalJSON() ([]byte, error) {
	b, last := []byte{'['}, int64(0)
	for i, v := range s {
		if i > 0 {
			b = append(b, ',')
		}
		n := int64(math.Round(v * 1000))
		if i > 0 && n <= last {
			n = last + 1
		}
		b, last = strconv.AppendInt(b, n-last, 10), n
	}
	return append(b, ']'), nil
}

// MarshalJSON writes short numbers.
func (n numbers) MarshalJSON() ([]byte, error) {
	b := []byte{'['}
	for i, v := range n {
		if i > 0 {
			b = append(b, ',')
		}
		if math.IsNaN(v) || math.IsInf(v, 0) {
			b = append(b, "null"...)
			continue
		}
		b = strconv.AppendFloat(b, short(v), 'g', -1, 64)
	}
	return append(b, ']'), nil
}

// short rounds to four significant digits, integers of any size excepted.
func short(v float64) float64 {
	if v == math.Trunc(v) || v == 0 {
		return v
	}
	p := math.Pow(10, 3-math.Floor(math.Log10(math.Abs(v))))
	if p >= 1 && !math.IsInf(p, 0) {
		return math.Round(v*p) / p
	}
	return math.Round(v)
}

// Data returns the chart for the page's script. Curves are thinned to that many columns, so that up to four times as many
// points remain to zoom into.
func (c Chart) Data(columns int) Data {
	lo, hi := c.xRange()
	d := Data{X: c.X.Title(), Clock: c.X.Clock, Range: [2]float64{lo, hi}}
	for _, p := range c.Panels {
		d.Panels = append(d.Panels, p.data(lo, hi, columns))
	}
	return d
}

func (p Panel) data(lo, hi float64, columns int) dataPanel {
	ylo, yhi := p.yRange()
	out := dataPanel{Y: p.Y.Title(), Height: int(p.height()) + 40, Range: [2]float64{ylo, yhi}, Series: []dataSeries{}}
	for _, b := range p.Bands {
		out.Blocks = append(out.Blocks, dataBlock{From: b.From, To: b.To, Whole: true, Label: b.Label, Fill: b.Role.tints(bandShare)})
	}
	for _, s := range p.Spans {
		out.Blocks = append(out.Blocks, dataBlock{From: s.From, To: s.To, Low: s.Low, High: s.High, Label: s.Label, Fill: s.Role.tints(blockShare)})
	}
	for _, a := range p.Areas {
		a = a.thin(lo, hi, columns)
		n := len(out.Series)
		out.Series = append(out.Series, edge(a, a.Low, ""), edge(a, a.High, a.Name))
		out.Bands = append(out.Bands, dataBand{Low: n, High: n + 1, Fill: a.Role.tints(areaShare)})
	}
	for _, l := range p.merged() {
		out.Series = append(out.Series, l.data(lo, hi, columns))
	}
	for _, r := range p.Rules {
		out.Rules = append(out.Rules, dataRule{r.At, r.Label, r.Role.colours(), r.Role.dash(), r.Vertical})
	}
	for _, t := range p.Y.Ticks {
		out.Ticks = append(out.Ticks, dataTick(t))
	}
	return out
}

// edge is a border of an area: a curve without width.
func edge(a Area, y []float64, name string) dataSeries {
	return dataSeries{Name: name, Ink: a.Role.colours(), X: a.X, Y: y}
}

// merged puts clouds of one name into one: the legend then has one entry that shows the value under the cursor.
func (p Panel) merged() (out []Line) {
	at := map[string]int{}
	for _, l := range p.Lines {
		if k, ok := at[l.Name]; ok && l.Mark == Dots {
			out[k].X = append(append([]float64(nil), out[k].X...), l.X...)
			out[k].Y = append(append([]float64(nil), out[k].Y...), l.Y...)
			continue
		}
		if l.Mark == Dots {
			at[l.Name] = len(out)
		}
		out = append(out, l)
	}
	return out
}

func (l Line) data(lo, hi float64, columns int) dataSeries {
	k := l.Role.Ink()
	s := dataSeries{Name: l.Name, Ink: l.Role.colours(), Width: float64(k.Width), Dots: l.Mark == Dots, Hollow: l.Role == Before}
	if s.Dots {
		s.X, s.Y = ascending(l.X, l.Y)
		return s
	}
	s.Dash = l.Role.dash()
	s.X, s.Y = thin(l.X, l.Y, lo, hi, columns)
	return s
}

func (r Role) dash() (out []float64) {
	for _, d := range r.Ink().Dash {
		out = append(out, float64(d))
	}
	return out
}

func (r Role) colours() colours {
	k := r.Ink()
	return colours{Hex(k.Light), Hex(k.Dark)}
}

func (r Role) tints(share float64) colours {
	k := r.Ink()
	return colours{Hex(tint(k.Light, Paper.Light, share)), Hex(tint(k.Dark, Paper.Dark, share))}
}
