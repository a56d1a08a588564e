package plots

import (
	"math"

	"flywitness/analysis/compare"
	"flywitness/analysis/drag"
	"flywitness/analysis/stats"
	"flywitness/dashboards/chart"
)

// Held shows what held the engine in neutral on both sides, the change of inertia with and without the drag that it
// tells, and the ladder where one was driven. Without a hold there is no picture.
func Held(f *compare.Finding) (out []chart.Chart) {
	if f == nil || f.Drag == nil {
		return nil
	}
	for _, c := range []chart.Chart{heldFlow(f.Drag), heldRatio(f.Drag), heldLadder(f.Drag.Trust.Ladder)} {
		if len(c.Panels) > 0 {
			out = append(out, c)
		}
	}
	return out
}

// heldFlow shows every hold that counts, the flow against the engine speed at which it was held.
func heldFlow(d *drag.Finding) chart.Chart {
	c := chart.Chart{Title: "What held the engine in neutral", Still: true, X: chart.Axis{Label: "Engine speed", Unit: "rpm"},
		Caption: "Each dot is one hold. Where the dots after the job lie lower, the engine had less drag that day, and its free revs fell more slowly for that alone."}
	p := chart.Panel{Y: chart.Axis{Label: "Flow", Unit: d.FlowUnit}}
	for _, side := range []struct {
		name  string
		role  chart.Role
		holds []drag.Hold
	}{{"before", chart.Before, d.Before}, {"after", chart.After, d.After}} {
		l := chart.Line{Name: side.name, Role: side.role, Mark: chart.Dots}
		for _, h := range side.holds {
			if h.Used && h.Flow != nil {
				l.X, l.Y = append(l.X, h.RPM), append(l.Y, *h.Flow)
			}
		}
		if len(l.X) > 0 {
			p.Lines = append(p.Lines, l)
		}
	}
	if len(p.Lines) == 2 {
		c.Panels = []chart.Panel{p}
	}
	return c
}

// heldRatio sets the change of inertia without the correction beside that with it.
func heldRatio(d *drag.Finding) chart.Chart {
	c := chart.Chart{Title: "The change of inertia, as driven and with the drag taken out", Still: true,
		X:       chart.Axis{Label: "Change of inertia", Unit: "%", Zero: true},
		Caption: "Each bar is a 95 % interval. The one that decides is named; the other stands beside it."}
	p := chart.Panel{Y: chart.Axis{Min: -0.5, Max: 1.5}, Rules: []chart.Rule{{Role: chart.Expected, Vertical: true}}}
	for i, row := range []struct {
		name string
		e    *stats.Estimate
		role chart.Role
	}{{"uncorrected", d.Uncorrected, chart.Before}, {"corrected", d.Corrected, chart.After}} {
		if row.e == nil {
			continue
		}
		name := row.name
		if d.Decides == row.name {
			name += ", decides"
		}
		change := func(ratio float64) float64 { return 100 * (1/ratio - 1) }
		at := float64(1 - i)
		p.Whiskers = append(p.Whiskers, chart.Whisker{At: at, Value: change(row.e.Value), Low: change(row.e.CI95[1]), High: change(row.e.CI95[0]),
			Name: name, Role: row.role, Sideways: true})
		p.Y.Ticks = append(p.Y.Ticks, chart.Tick{At: at, Label: name})
	}
	if len(p.Whiskers) == 2 {
		c.Panels = []chart.Panel{p}
	}
	return c
}

// heldLadder shows the drag of a ladder's falls as driven and after correction: works the correction, the second lies level.
func heldLadder(l *drag.Ladder) chart.Chart {
	c := chart.Chart{Title: "The ladder: drag of the falls while it changed", Still: true, X: chart.Axis{Label: "Oil", Unit: "°C"},
		Caption: "Each dot is one free rev, against the last ones. With the drag that the held engine tells taken out, the dots lie level if the correction works on this car."}
	if l == nil || len(l.Rungs) == 0 {
		return c
	}
	plain := chart.Line{Name: "as driven", Role: chart.Before, Mark: chart.Dots}
	corrected := chart.Line{Name: "with the drag taken out", Role: chart.After, Mark: chart.Dots}
	for i, r := range l.Rungs {
		x := float64(i + 1)
		switch {
		case r.Oil != nil:
			x = *r.Oil
		case r.Coolant != nil:
			x, c.X.Label = *r.Coolant, "Coolant"
		default:
			c.X = chart.Axis{Label: "Free rev"}
		}
		if math.IsNaN(r.DragPct) || math.IsNaN(r.AfterPct) {
			continue
		}
		plain.X, plain.Y = append(plain.X, x), append(plain.Y, r.DragPct)
		corrected.X, corrected.Y = append(corrected.X, x), append(corrected.Y, r.AfterPct)
	}
	c.Panels = []chart.Panel{{Y: chart.Axis{Label: "Drag", Unit: "%", Zero: true}, Lines: []chart.Line{plain, corrected}, Rules: []chart.Rule{{Role: chart.Expected}}}}
	return c
}
