package plots

import (
	"fmt"
	"math"

	"flywitness/analysis/detect"
	"flywitness/analysis/slip"
	"flywitness/dashboards/chart"
	"flywitness/figure"
)

// Side is one state of a clutch: before the job, after it, or the only one there is.
type Side struct {
	Name string // before | after | ""
	*slip.Finding
}

func (s Side) role() chart.Role {
	if s.Name == "before" {
		return chart.Before
	}
	return chart.After
}

// word puts a name in front of the side's own, or alone where there is one side.
func (s Side) word(what string) string {
	if s.Name == "" {
		return what
	}
	return s.Name + ": " + what
}

// Capacity shows slip against the torque through the clutch, of one or two sides in one picture: what each carried, where it let go, what it is rated for
// and what was promised (N m; nil: nothing was).
func Capacity(sides []Side, promised *float64, u figure.Units) chart.Chart {
	factor, unit := u.In(1, "N m")
	c := chart.Chart{Title: "Slip against the torque through the clutch", Still: true, X: chart.Axis{Label: "Torque through the clutch", Unit: unit},
		Caption: "Every dot is a moment of a pull. A clutch that holds stays on the line of no slip; one that lets go leaves it upwards. " +
			"The bars hold the true torque with 95 % confidence."}
	dots := chart.Panel{Y: chart.Axis{Label: "Slip", Unit: "% of engine speed", Zero: true}, Height: 0.75}
	found := chart.Panel{Y: chart.Axis{}}
	for _, s := range sides {
		l := chart.Line{Name: s.word("pulls"), Role: s.role(), Mark: chart.Dots}
		l.X, l.Y = carried(s.Finding)
		l.X, _ = scaled(l.X, u, "N m")
		if len(l.X) > 0 {
			dots.Lines = append(dots.Lines, l)
		}
		addFound(&found, s, factor)
		if r := s.TorqueRating; r != nil {
			dots.Rules = append(dots.Rules, chart.Rule{At: *r * factor, Vertical: true, Role: s.role(), Name: fmt.Sprintf("rated for %.0f %s", *r*factor, unit), Label: "rated"})
		}
	}
	if len(dots.Lines) == 0 {
		return c
	}
	if promised != nil {
		dots.Rules = append(dots.Rules, chart.Rule{At: *promised * factor, Vertical: true, Role: chart.Expected, Name: fmt.Sprintf("promised %.0f %s", *promised*factor, unit), Label: "promised"})
	}
	dots.Y.Min, dots.Y.Max = slipRange(dots.Lines)
	c.Panels = []chart.Panel{dots}
	if n := len(found.Whiskers); n > 0 {
		found.Y.Min, found.Y.Max, found.Height = -float64(n)+0.5, 0.5, 0.12*float64(n)
		for _, r := range dots.Rules {
			r.Label = ""
			found.Rules = append(found.Rules, r)
		}
		c.Panels = append(c.Panels, found)
	}
	return c
}

// leastSlip is the slip in % that the axis shows at least: the noise of a clutch that holds must look as small as it is.
const leastSlip = 10

// slipRange is the range of the axis of slip.
func slipRange(lines []chart.Line) (lo, hi float64) {
	lo, hi = -0.1*leastSlip, leastSlip
	for _, l := range lines {
		for _, y := range l.Y {
			lo, hi = math.Min(lo, 1.06*y), math.Max(hi, 1.06*y)
		}
	}
	return lo, hi
}

// addFound adds the torque at which a side lets go and the one that it carried, each a row of its own.
func addFound(p *chart.Panel, s Side, factor float64) {
	row := func(label string, w chart.Whisker) {
		p.Whiskers = append(p.Whiskers, w)
		p.Y.Ticks = append(p.Y.Ticks, chart.Tick{At: w.At, Label: s.word(label)})
	}
	if e := s.HighestTorqueHeld; e != nil {
		row("carried", whisker(-float64(len(p.Whiskers)), e.Scale(factor), "", s.role(), true))
	}
	if e := s.OnsetTorque; e != nil && s.Verdict == slip.Slips {
		row("lets go at", whisker(-float64(len(p.Whiskers)), e.Scale(factor), "", s.role(), true))
	}
}

// carried lists the moments of all pulls at which both torque (N m) and slip (%) are known. What was found to be something else than slip is left out.
func carried(f *slip.Finding) (torque, pct []float64) {
	for _, p := range f.Pulls {
		if p.Input >= len(f.Traces) {
			continue
		}
		w := window(f.Traces[p.Input], p.Start, p.End)
		for i, t := range w.T {
			if x, y := w.TorqueNm[i], w.SlipPct[i]; !math.IsNaN(x) && !math.IsNaN(y) && x > 0 && !elsewise(f, p.Input, t) {
				torque, pct = append(torque, x), append(pct, y)
			}
		}
	}
	return torque, pct
}

// elsewise tells whether a moment lies in an event that does not count as slip.
func elsewise(f *slip.Finding, input int, t float64) bool {
	for _, e := range f.Events {
		if e.Input == input && !isSlip(e) && t >= e.Start && t <= e.End {
			return true
		}
	}
	return false
}

func isSlip(e slip.Event) bool { return e.Kind == "" || e.Kind == detect.KindSlip }
