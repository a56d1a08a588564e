package plots

import (
	"fmt"
	"math"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/compare"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/slip"
	"flywitness/dashboards/chart"
	"flywitness/figure"
)

// Rays shows engine speed against road speed: each gear is a ray from the origin, and slip is what leaves its ray upwards.
func Rays(cal *calibrate.Calibration, f *slip.Finding, u figure.Units) chart.Chart {
	_, unit := u.In(1, "km/h")
	c := chart.Chart{Title: "Engine speed against road speed", Still: true, X: chart.Axis{Label: "Road speed", Unit: unit, Zero: true},
		Caption: "Each line is a gear as it was learnt from the log. With the clutch engaged every dot lies on one of them; slip leaves its line upwards."}
	if cal == nil || f == nil {
		return c
	}
	engaged := chart.Line{Name: "clutch engaged", Role: chart.LockedRole, Mark: chart.Dots}
	slips := chart.Line{Name: "slip", Role: chart.SlipRole, Mark: chart.Dots}
	for input, t := range f.Traces {
		collect(&engaged, &slips, f, input, t)
	}
	if len(engaged.X) == 0 {
		return c
	}
	fastest, highest := 0.0, 0.0
	for _, l := range []chart.Line{engaged, slips} {
		for i := range l.X {
			fastest, highest = math.Max(fastest, l.X[i]), math.Max(highest, l.Y[i])
		}
	}
	p := chart.Panel{Y: chart.Axis{Label: "Engine speed", Unit: "rpm", Zero: true, Max: 1.04 * highest}, Height: 1.3}
	p.Lines = append(rays(cal, 1.04*fastest, 1.04*highest, u), toUnits(engaged, u))
	if len(slips.X) > 0 {
		p.Lines = append(p.Lines, toUnits(slips, u))
	}
	c.Panels = []chart.Panel{p}
	return c
}

// collect sorts the moments of a trace into those with the clutch engaged and those of slip.
func collect(engaged, slips *chart.Line, f *slip.Finding, input int, t slip.Trace) {
	for _, s := range t.Segments {
		if s.Clutch != gearstate.Locked {
			continue
		}
		w := window(t, s.Start, s.End)
		engaged.X, engaged.Y = append(engaged.X, w.SpeedKmh...), append(engaged.Y, w.RPM...)
	}
	for _, e := range f.Events {
		if e.Input == input && isSlip(e) {
			w := window(t, e.Start, e.End)
			slips.X, slips.Y = append(slips.X, w.SpeedKmh...), append(slips.Y, w.RPM...)
		}
	}
}

// rays are the gears, each as far as the picture goes.
func rays(cal *calibrate.Calibration, fastest, highest float64, u figure.Units) (out []chart.Line) {
	for _, g := range cal.Gears {
		if g.RPMPerKmh == nil || g.RPMPerKmh.Value <= 0 {
			continue
		}
		end := math.Min(fastest, highest/g.RPMPerKmh.Value)
		out = append(out, toUnits(chart.Line{Name: "gears, as learnt", Label: fmt.Sprint(g.Gear), Role: chart.Reference,
			X: []float64{0, end}, Y: []float64{0, end * g.RPMPerKmh.Value}}, u))
	}
	return out
}

func toUnits(l chart.Line, u figure.Units) chart.Line {
	l.X, _ = scaled(l.X, u, "km/h")
	return l
}

// FullLoad shows the engine's torque at full load over engine speed with its band, and what the clutch is rated for (N m; nil: not known).
func FullLoad(curve []compare.TorqueAt, rating *float64, u figure.Units) chart.Chart {
	factor, unit := u.In(1, "N m")
	c := chart.Chart{Title: "The engine's torque at full load", X: chart.Axis{Label: "Engine speed", Unit: "rpm"},
		Caption: "Worked out from how the car accelerates in every full-load pull of both sides. The band holds the true torque with 95 % confidence. " +
			"It is the engine's own, not that of a test bench, and not corrected for weather."}
	if len(curve) < 2 {
		return c
	}
	line := chart.Line{Name: "torque", Role: chart.Torque}
	band := chart.Area{Name: "95 % band", Role: chart.Torque}
	for _, t := range curve {
		if t.Torque == nil {
			continue
		}
		line.X, line.Y = append(line.X, t.RPM), append(line.Y, t.Torque.Value*factor)
		band.Low, band.High = append(band.Low, t.Torque.CI95[0]*factor), append(band.High, t.Torque.CI95[1]*factor)
	}
	band.X = line.X
	p := chart.Panel{Y: chart.Axis{Label: "Torque of the engine", Unit: unit, Zero: true}, Lines: []chart.Line{line}, Areas: []chart.Area{band}}
	if rating != nil {
		p.Rules = append(p.Rules, chart.Rule{At: *rating * factor, Role: chart.Reference, Name: fmt.Sprintf("the clutch's rating, %.0f %s", *rating*factor, unit)})
	}
	c.Panels = []chart.Panel{p}
	return c
}
