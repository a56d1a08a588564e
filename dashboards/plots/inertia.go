package plots

import (
	"fmt"
	"strings"

	"flywitness/analysis/compare"
	"flywitness/analysis/inertia"
	"flywitness/analysis/stats"
	"flywitness/dashboards/chart"
	"flywitness/figure"
)

// Runs shows the rev-downs of both sides as driven, and brought together: time after the job multiplied by the
// estimated ratio. Where the ratio is right the two sides then lie on one curve.
func Runs(f *compare.Finding) chart.Chart {
	c := chart.Chart{Title: "Revs falling in neutral, before and after", X: chart.Axis{Label: "Time since the start of the window", Unit: "s"},
		Caption: "Above as driven. Below the times after the job are stretched by the measured ratio: if only the inertia changed, both sides then lie on one curve."}
	if f.Fit == nil {
		return c
	}
	ratio := 1.0
	if f.Ratio != nil {
		ratio = f.Ratio.Value
	}
	driven := chart.Panel{Y: chart.Axis{Label: "As driven: engine speed", Unit: "rpm"}}
	together := chart.Panel{Y: chart.Axis{Label: fmt.Sprintf("Brought together (after × %s): engine speed", figure.Significant(ratio, 3)), Unit: "rpm"}}
	for _, r := range f.Fit.Runs {
		start := r.A - r.B*f.Fit.Shape(f.Fit.High)
		l := chart.Line{Name: "before", Role: chart.Before, Mark: chart.Dots, Y: r.Run.RPM}
		stretch := 1.0
		if r.After {
			l.Name, l.Role, stretch = "after", chart.After, ratio
		}
		stretched := l
		for _, t := range r.Run.T {
			l.X = append(l.X, t-start)
			stretched.X = append(stretched.X, (t-start)*stretch)
		}
		driven.Lines, together.Lines = append(driven.Lines, l), append(together.Lines, stretched)
	}
	c.Panels = []chart.Panel{driven, together}
	return c
}

// Kinds shows every run that was used, of one or two sides (nil sides are left out). What takes a second or two and what takes twenty are pictures of their
// own: on one axis the short ones would be a line.
func Kinds(before, after *inertia.Finding) (out []chart.Chart) {
	for _, k := range []struct {
		title string
		kinds map[inertia.Kind]string
		order []inertia.Kind
	}{
		{"Free revs falling", map[inertia.Kind]string{inertia.RevDown: "Standing", inertia.RollingRevDown: "Rolling in neutral"}, []inertia.Kind{inertia.RevDown, inertia.RollingRevDown}},
		{"Free revs rising", map[inertia.Kind]string{inertia.RevUp: "Rising in neutral"}, []inertia.Kind{inertia.RevUp}},
		{"Off the throttle in gear", map[inertia.Kind]string{inertia.Overrun: "Falling in gear"}, []inertia.Kind{inertia.Overrun}},
	} {
		c := chart.Chart{Title: k.title, Still: true, X: chart.Axis{Label: "Time since the start of the run", Unit: "s", Zero: true},
			Caption: "Each row of dots is one run as it was driven. The more inertia, the slower the engine falls and rises."}
		for _, kind := range k.order {
			p := chart.Panel{Y: chart.Axis{Label: k.kinds[kind] + ": engine speed", Unit: "rpm"}}
			p.Lines = append(kindLines(before, kind, sideName("before", before, after), chart.Before), kindLines(after, kind, sideName("after", before, after), chart.After)...)
			if len(p.Lines) > 0 {
				c.Panels = append(c.Panels, p)
			}
		}
		if len(c.Panels) > 0 {
			if len(out) > 0 {
				c.Caption = "" // said once
			}
			out = append(out, c)
		}
	}
	return out
}

// sideName names a side where there are two; one set of logs is of no side, or of the one that its page names.
func sideName(name string, before, after *inertia.Finding) string {
	if before == nil || after == nil {
		return ""
	}
	return name
}

func kindLines(f *inertia.Finding, kind inertia.Kind, name string, role chart.Role) (out []chart.Line) {
	if f == nil {
		return nil
	}
	for _, r := range f.Runs {
		if r.Kind != kind || !r.Used || len(r.T) < 2 || len(r.T) != len(r.RPM) {
			continue
		}
		l := chart.Line{Name: name, Role: role, Mark: chart.Dots}
		for i := 0; i < len(r.T); i += (len(r.T) + runDots - 1) / runDots {
			l.X, l.Y = append(l.X, r.T[i]-r.T[0]), append(l.Y, r.RPM[i])
		}
		out = append(out, l)
	}
	return out
}

// runDots is how many dots of a run are enough to see it.
const runDots = 12

// Residuals shows how far each sample lies from the common shape: what is left must look like noise.
func Residuals(f *compare.Finding) chart.Chart {
	c := chart.Chart{Title: "What the common shape leaves over", X: chart.Axis{Label: "Engine speed", Unit: "rpm"},
		Caption: "Each dot is one sample's distance from the fit. No side, and no part of the speed range, should lie off the line."}
	if f.Fit == nil {
		return c
	}
	p := chart.Panel{Y: chart.Axis{Label: "Residual", Unit: "ms", Zero: true}, Rules: []chart.Rule{{Role: chart.Expected}}}
	for _, r := range f.Fit.Runs {
		l := chart.Line{Name: "before", Role: chart.Before, Mark: chart.Dots, X: r.Run.RPM}
		if r.After {
			l.Name, l.Role = "after", chart.After
		}
		for _, e := range r.Residual {
			l.Y = append(l.Y, 1000*e)
		}
		if len(l.X) == len(l.Y) {
			p.Lines = append(p.Lines, l)
		}
	}
	c.Panels = []chart.Panel{p}
	return c
}

// MethodName says in words what a method does.
func MethodName(name string) string {
	switch name {
	case "overrun":
		return "off-throttle in gear (overrun)"
	case "gear_pulls":
		return "pulls in different gears"
	case "known_part":
		return "parts measured on the bench"
	}
	return name
}

// Methods shows every way to the absolute inertia with its interval, for one or two sides (nil sides are left out).
func Methods(before, after *inertia.Finding, u figure.Units) chart.Chart {
	factor, unit := u.In(1, "kg m^2")
	c := chart.Chart{Title: "Effective rotating inertia, by method", X: chart.Axis{Label: "Inertia with its 95 % interval", Unit: figure.Pretty(unit)},
		Caption: methodsCaption(before, after)}
	p := chart.Panel{}
	add := func(side, label string, r chart.Role, e *stats.Estimate) {
		if e == nil {
			return
		}
		at := -float64(len(p.Whiskers))
		p.Whiskers = append(p.Whiskers, whisker(at, e.Scale(factor), side, r, true))
		p.Y.Ticks = append(p.Y.Ticks, chart.Tick{At: at, Label: label})
	}
	for _, s := range []struct {
		name string
		role chart.Role
		*inertia.Finding
	}{{"before", chart.Before, before}, {"after", chart.After, after}} {
		if s.Finding == nil {
			continue
		}
		label := func(what string) string {
			if name := sideName(s.name, before, after); name != "" {
				return name + ": " + what
			}
			return what
		}
		for _, m := range s.Methods {
			add(sideName(s.name, before, after), label(shortMethod(m.Name)), s.role, m.Inertia)
		}
		if len(s.Methods) > 1 {
			add(sideName(s.name, before, after), label("together"), s.role, s.Inertia)
		}
	}
	rows := float64(len(p.Whiskers))
	if rows == 0 {
		return c
	}
	p.Y.Min, p.Y.Max, p.Height = 0.5-rows, 0.5, 0.14*rows
	c.Panels = []chart.Panel{p}
	return c
}

// methodsCaption says how to read the intervals: within a side they should overlap, from side to side they part where the inertia changed.
func methodsCaption(before, after *inertia.Finding) string {
	several := before != nil && len(before.Methods) > 1 || after != nil && len(after.Methods) > 1
	caption := ""
	if several {
		caption = "Each line is one way to the same quantity, independent of the others. Those of one side agree where they overlap. "
	}
	if before != nil && after != nil {
		caption += "Both sides have the error of the car's mass in common, so a change shows even where their intervals overlap: " +
			"the ratio between the sides is surer than either of them."
	}
	return strings.TrimSpace(caption)
}

func shortMethod(name string) string {
	switch name {
	case "overrun":
		return "overrun"
	case "gear_pulls":
		return "pulls"
	case "known_part":
		return "bench"
	}
	return name
}

func whisker(at float64, e *stats.Estimate, name string, r chart.Role, sideways bool) chart.Whisker {
	return chart.Whisker{At: at, Value: e.Value, Low: e.CI95[0], High: e.CI95[1], Name: name, Role: r, Sideways: sideways}
}

// ByGear shows what the change is worth in each gear, with the claim beside the measurement when one was made.
func ByGear(f *compare.Finding, u figure.Units) chart.Chart {
	c := chart.Chart{Title: "What the change is worth, gear by gear", X: chart.Axis{Label: "Gear"},
		Caption: "Dots with their 95 % intervals. It fades with the square of the gear ratio."}
	if len(f.ByGear) == 0 {
		return c
	}
	type row struct {
		label, metric string
		of            func(compare.ByGear) *stats.Estimate
	}
	for _, r := range []row{
		{"As if the car were lighter by", "kg", func(g compare.ByGear) *stats.Estimate { return g.EquivalentMass }},
		{"Acceleration gained", "%", func(g compare.ByGear) *stats.Estimate { return g.AccelerationGain }},
		{"Power no longer spent on turning parts", "kW", func(g compare.ByGear) *stats.Estimate { return g.EquivalentPower }},
	} {
		factor, unit := u.In(1, r.metric)
		p := chart.Panel{Y: chart.Axis{Label: r.label, Unit: unit, Zero: true}, Height: 0.6}
		for _, g := range f.ByGear {
			if e := r.of(g); e != nil {
				p.Whiskers = append(p.Whiskers, whisker(float64(g.Gear), e.Scale(factor), "measured", chart.After, false))
			}
		}
		if v, ok := claimed(f.Claim, r.metric); ok {
			p.Whiskers = append(p.Whiskers, chart.Whisker{At: f.Claim.Stated["gear"], Value: v * factor, Low: v * factor, High: v * factor,
				Name: "promised", Role: chart.Reference})
		}
		if len(p.Whiskers) > 0 {
			c.Panels = append(c.Panels, p)
		}
	}
	for _, g := range f.ByGear {
		c.X.Ticks = append(c.X.Ticks, chart.Tick{At: float64(g.Gear), Label: fmt.Sprint(g.Gear)})
	}
	n := len(f.ByGear)
	c.X.Min, c.X.Max = float64(f.ByGear[0].Gear)-0.5, float64(f.ByGear[n-1].Gear)+0.5
	return c
}

// claimed returns the promise in the metric unit where it was made in that quantity.
func claimed(c *compare.Claim, metric string) (float64, bool) {
	if c == nil || c.Stated["gear"] == 0 {
		return 0, false
	}
	key := map[string]string{"kg": "equivalent_mass_kg", "%": "acceleration_gain_pct", "kW": "equivalent_power_kw"}[metric]
	v, ok := c.Stated[key]
	return v, ok
}
