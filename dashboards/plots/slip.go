// Package plots turns findings into charts: what is drawn, in which units, and how it is to be read. It computes
// nothing that a finding does not hold.
package plots

import (
	"fmt"
	"math"
	"sort"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/slip"
	"flywitness/dashboards/chart"
	"flywitness/figure"
)

// Seconds shown before and after a pull, so that its beginning and end can be judged too.
const around = 2.0

// Pull shows one pull: engine speed against the speed that the road speed asks for in this gear, slip, and torque
// beside it. log names the log that it is in, "" where there is only one.
func Pull(f *slip.Finding, p slip.Pull, log string, u figure.Units) chart.Chart {
	c := chart.Chart{Title: fmt.Sprintf("Pull in gear %d, %s to %s", p.Gear, chart.Clock(p.Start), chart.Clock(p.End)), X: seconds()}
	if log != "" {
		c.Title += ", " + log
	}
	c.Caption = "Where the clutch holds, the measured engine speed lies on the expected one."
	if p.Input >= len(f.Traces) {
		return c
	}
	w := window(f.Traces[p.Input], p.Start-around, p.End+around)
	rpm := chart.Panel{Y: chart.Axis{Label: "Engine speed", Unit: "rpm"},
		Lines: []chart.Line{
			{Name: "engine speed, measured", Role: chart.Measured, X: w.T, Y: w.RPM},
			{Name: "expected for this road speed and gear", Role: chart.Expected, X: w.T, Y: w.LockedRPM}}}
	if excess := slipping(f, p.Input, w); known(excess) {
		rpm.Areas = []chart.Area{{Name: "slip", Role: chart.SlipRole, X: w.T, Low: w.LockedRPM, High: excess}}
		c.Caption += " The shaded part between them is slip."
	}
	pct := chart.Panel{Y: chart.Axis{Label: "Slip", Unit: "% of engine speed", Zero: true}, Height: 0.6,
		Lines: []chart.Line{{Role: chart.SlipRole, X: w.T, Y: within(w.T, w.SlipPct, p.Start, p.End)}}}
	if d := p.SmallestDetectable; d != nil {
		pct.Rules = append(pct.Rules, chart.Rule{At: *d, Name: "smallest slip that would have shown", Label: figure.Significant(*d, 2) + " %", Role: chart.Reference})
		pct.Y.Min, pct.Y.Max = slipAxis(p, *d, w)
	}
	c.Panels = append(c.Panels, rpm, pct)
	if torque := within(w.T, w.TorqueNm, p.Start, p.End); known(torque) {
		c.Panels = append(c.Panels, torquePanel(f, p, w.T, torque, u))
	}
	for i := range c.Panels {
		c.Panels[i].Bands = []chart.Band{{From: p.Start, To: p.End, Role: chart.Reference}}
	}
	c.Panels[0].Bands[0].Label = "pull"
	return c
}

// torquePanel shows the torque through the clutch with its band from zero up, where it let go, and what the clutch is rated for. What mass, gearing and slope
// add to the error of a pull's torque is a share of it that all moments of the pull have in common.
func torquePanel(f *slip.Finding, p slip.Pull, t, torque []float64, u figure.Units) chart.Panel {
	y, unit := scaled(torque, u, "N m")
	out := chart.Panel{Y: chart.Axis{Label: "Torque through the clutch", Unit: unit, Zero: true}, Height: 0.75,
		Lines: []chart.Line{{Name: "torque", Role: chart.Torque, X: t, Y: y}}}
	if e := p.PeakTorque; e != nil && e.Value > 0 {
		band := chart.Area{Name: "95 % band", Role: chart.Torque, X: t}
		for _, v := range y {
			band.Low, band.High = append(band.Low, v*e.CI95[0]/e.Value), append(band.High, v*e.CI95[1]/e.Value)
		}
		out.Areas = []chart.Area{band}
	}
	factor, _ := u.In(1, "N m")
	for _, e := range f.Events {
		if e.Input == p.Input && isSlip(e) && e.OnsetTorque != nil && e.Start >= p.Start && e.Start <= p.End {
			out.Rules = append(out.Rules, chart.Rule{At: e.Start, Vertical: true, Role: chart.SlipRole, Name: "slip begins", Label: fmt.Sprintf("%.0f %s", e.OnsetTorque.Value*factor, unit)})
		}
	}
	if r := f.TorqueRating; r != nil {
		out.Rules = append(out.Rules, chart.Rule{At: *r * factor, Role: chart.Reference, Label: fmt.Sprintf("rated %.0f", *r*factor)})
	}
	return out
}

// slipAxis keeps noise from filling the picture: it shows at least three times the smallest slip that would have shown.
func slipAxis(p slip.Pull, detectable float64, w slip.Trace) (lo, hi float64) {
	lo, hi = -detectable, math.Max(3*detectable, p.MaxSlip*1.15)
	for i, s := range w.SlipPct {
		if w.T[i] >= p.Start && w.T[i] <= p.End && !math.IsNaN(s) {
			lo, hi = math.Min(lo, s), math.Max(hi, s)
		}
	}
	return lo, hi
}

// slipping is the engine speed where an event that counts as slip was found, NaN elsewhere.
func slipping(f *slip.Finding, input int, w slip.Trace) []float64 {
	y := gaps(len(w.T))
	for _, e := range f.Events {
		if e.Input != input || !isSlip(e) {
			continue
		}
		for i, t := range w.T {
			if t >= e.Start-0.3 && t <= e.End+0.3 {
				y[i] = w.RPM[i]
			}
		}
	}
	return y
}

// Drive shows a whole drive: engine speed, road speed, and gear and clutch state as bands.
func Drive(t slip.Trace, title string, u figure.Units) chart.Chart {
	speed, unit := scaled(t.SpeedKmh, u, "km/h")
	c := chart.Chart{Title: title, X: seconds(),
		Caption: "The strip names the gear wherever the clutch is engaged; a raised block is a slipping clutch, a low one a disengaged clutch or neutral.",
		Panels: []chart.Panel{
			{Y: chart.Axis{Label: "Engine speed", Unit: "rpm", Zero: true}, Lines: []chart.Line{
				{Name: "engine speed, measured", Role: chart.Measured, X: t.T, Y: t.RPM}}},
			{Y: chart.Axis{Label: "Road speed", Unit: unit, Zero: true}, Height: 0.6, Lines: []chart.Line{
				{Name: "road speed", Role: chart.Speed, X: t.T, Y: speed}}},
			strip(t),
		}}
	return c
}

// spansOf draws segments as blocks of three heights, so that the state does not hang on colour.
func spansOf(segments []gearstate.Segment) []chart.Span {
	var out []chart.Span
	for _, s := range segments {
		b := chart.Span{From: s.Start, To: s.End}
		if s.Gear > 0 {
			b.Label = fmt.Sprint(s.Gear)
		}
		switch s.Clutch {
		case gearstate.Locked:
			b.Low, b.High, b.Role, b.Name = 1, 2, chart.LockedRole, "clutch engaged"
		case gearstate.Slipping:
			b.Low, b.High, b.Role, b.Name = 1, 3, chart.SlipRole, "clutch slipping"
		case gearstate.Open:
			b.Low, b.High, b.Role, b.Name, b.Label = 0.25, 0.75, chart.OpenRole, "disengaged or neutral", ""
		default:
			continue
		}
		out = append(out, b)
	}
	return out
}

// ladderBins is the number of bins of the gearing histogram.
const ladderBins = 160

// Ladder shows how long the engine turned at each ratio to the road speed, and the gearing learnt from it.
func Ladder(cal *calibrate.Calibration, traces []slip.Trace, u figure.Units) chart.Chart {
	factor, unit := u.In(1, "rpm per km/h")
	c := chart.Chart{Title: "Gearing learnt from the drive", X: chart.Axis{Label: "Gearing", Unit: unit, Zero: true},
		Caption: "Each peak is a gear. The dotted lines are the gearing that was learnt and used."}
	top := 0.0
	for _, g := range cal.Gears {
		if g.RPMPerKmh == nil {
			continue
		}
		top = math.Max(top, g.RPMPerKmh.Value*1.15)
	}
	if top == 0 {
		return c
	}
	c.X.Min, c.X.Max = 0, top*factor
	var bins [ladderBins]float64
	for _, t := range traces {
		for i := 1; i < len(t.T); i++ {
			if k := int(t.RPM[i] / t.SpeedKmh[i] / top * ladderBins); t.SpeedKmh[i] > 8 && k >= 0 && k < ladderBins {
				bins[k] += math.Min(1, t.T[i]-t.T[i-1])
			}
		}
	}
	p := chart.Panel{Y: chart.Axis{Label: "Time at this gearing", Unit: "s", Zero: true}}
	for k, s := range bins {
		w := top * factor / ladderBins
		if s > 0 {
			p.Bars = append(p.Bars, chart.Bar{From: float64(k) * w, To: float64(k+1) * w, Value: s, Role: chart.Measured})
		}
	}
	for _, g := range cal.Gears {
		if g.RPMPerKmh != nil {
			p.Rules = append(p.Rules, chart.Rule{At: g.RPMPerKmh.Value * factor, Label: fmt.Sprint(g.Gear), Role: chart.Reference, Vertical: true})
		}
	}
	c.Panels = []chart.Panel{p}
	return c
}

func seconds() chart.Axis { return chart.Axis{Label: "Time in the log", Unit: "min:s", Clock: true} }

// window returns the part of a trace between two times.
func window(t slip.Trace, from, to float64) slip.Trace {
	lo := sort.SearchFloat64s(t.T, from)
	hi := lo + sort.Search(len(t.T)-lo, func(i int) bool { return t.T[lo+i] > to })
	return slip.Trace{T: t.T[lo:hi], SpeedKmh: t.SpeedKmh[lo:hi], RPM: t.RPM[lo:hi], LockedRPM: t.LockedRPM[lo:hi],
		SlipPct: t.SlipPct[lo:hi], TorqueNm: t.TorqueNm[lo:hi]}
}

// within keeps y where t lies between from and to, NaN elsewhere.
func within(t, y []float64, from, to float64) []float64 {
	out := gaps(len(t))
	for i := range t {
		if t[i] >= from && t[i] <= to {
			out[i] = y[i]
		}
	}
	return out
}

func gaps(n int) []float64 {
	y := make([]float64, n)
	for i := range y {
		y[i] = math.NaN()
	}
	return y
}

func known(y []float64) bool {
	for _, v := range y {
		if !math.IsNaN(v) {
			return true
		}
	}
	return false
}

// scaled converts values given in the metric unit and returns the unit as it is printed.
func scaled(y []float64, u figure.Units, metric string) ([]float64, string) {
	factor, unit := u.In(1, metric)
	if factor == 1 {
		return y, unit
	}
	out := make([]float64, len(y))
	for i, v := range y {
		out[i] = v * factor
	}
	return out, unit
}
