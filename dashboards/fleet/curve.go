package fleet

import (
	"math"
	"time"

	"flywitness/analysis/fleet"
	"flywitness/analysis/stats"
	"flywitness/dashboards/chart"
	"flywitness/figure"
)

// series is one quantity over the jobs of a vehicle.
type series struct {
	name string
	role chart.Role
	of   func(fleet.Entry) *stats.Estimate
}

// curve shows torque and inertia of a vehicle over its jobs, each value with its 95 % interval. No line goes across
// the work on the car.
func curve(v fleet.Vehicle, u figure.Units) chart.Chart {
	c := chart.Chart{Title: "Torque, slip and inertia of " + v.Vehicle + " over its jobs", X: dates(v.History)}
	torque := panel(v.History, u, "N m", "Torque", []series{
		{"held without slip", chart.Torque, func(e fleet.Entry) *stats.Estimate { return e.Held }},
		{"slip began", chart.SlipRole, func(e fleet.Entry) *stats.Estimate { return e.Onset }}})
	if r := v.Last.Rating; r != nil && len(torque.Whiskers) > 0 {
		rating, _ := u.In(*r, "N m")
		torque.Rules = append(torque.Rules, chart.Rule{At: rating, Label: "rating", Role: chart.Reference})
	}
	inertia := panel(v.History, u, "kg m^2", "Inertia", []series{
		{"before the work", chart.Before, of(fleet.Before)}, {"after the work", chart.After, of(fleet.After)}})
	for _, p := range []chart.Panel{torque, slipPanel(v.History), inertia} {
		if len(p.Whiskers) > 0 {
			c.Panels = append(c.Panels, p)
		}
	}
	return c
}

// slipPanel shows the most slip of each job. Where none was seen the bar reaches up to the slip that would have been seen.
func slipPanel(list []fleet.Entry) chart.Panel {
	p := chart.Panel{Y: chart.Axis{Label: "Slip", Unit: "%"}, Height: 0.6}
	for _, e := range list {
		switch {
		case e.MostSlip != nil:
			p.Whiskers = append(p.Whiskers, chart.Whisker{At: at(e.Time), Value: *e.MostSlip, Low: *e.MostSlip, High: *e.MostSlip,
				Name: "most slip", Role: chart.SlipRole})
		case e.Slip == "holds" && e.Smallest != nil:
			p.Whiskers = append(p.Whiskers, chart.Whisker{At: at(e.Time), Value: 0, Low: 0, High: *e.Smallest,
				Name: "none seen, up to what would have been", Role: chart.After})
		}
	}
	return p
}

func of(side string) func(fleet.Entry) *stats.Estimate {
	return func(e fleet.Entry) *stats.Estimate {
		if e.Side != side {
			return nil
		}
		return e.Inertia
	}
}

func panel(list []fleet.Entry, u figure.Units, metric, label string, all []series) chart.Panel {
	factor, unit := u.In(1, metric)
	p := chart.Panel{Y: chart.Axis{Label: label, Unit: figure.Pretty(unit)}, Height: 0.6}
	for _, s := range all {
		line := chart.Line{Role: s.role, Mark: chart.Curve}
		for i, e := range list {
			if i > 0 && e.Side == fleet.After && list[i-1].Side == fleet.Before {
				line.X, line.Y = append(line.X, at(e.Time)), append(line.Y, math.NaN())
			}
			if x := s.of(e).Scale(factor); x != nil {
				line.X, line.Y = append(line.X, at(e.Time)), append(line.Y, x.Value)
				p.Whiskers = append(p.Whiskers, chart.Whisker{At: at(e.Time), Value: x.Value, Low: x.CI95[0], High: x.CI95[1],
					Name: s.name, Role: s.role})
			}
		}
		if len(line.X) > 1 {
			p.Lines = append(p.Lines, line)
		}
	}
	return p
}

// at is a time on the axis, in days.
func at(t time.Time) float64 { return t.Sub(time.Unix(0, 0)).Hours() / 24 }

// dates is the axis of time: the first and the last job, and the middle between them where there is room.
func dates(list []fleet.Entry) chart.Axis {
	first, last := list[0].Time, list[len(list)-1].Time
	air := math.Max(1, 0.06*(at(last)-at(first)))
	a := chart.Axis{Label: "Day of the last recording", Min: at(first) - air, Max: at(last) + air}
	a.Ticks = []chart.Tick{{At: at(first), Label: day(first)}}
	if days := at(last) - at(first); days >= 2 {
		middle := first.Add(last.Sub(first) / 2)
		a.Ticks = append(a.Ticks, chart.Tick{At: at(middle), Label: day(middle)}, chart.Tick{At: at(last), Label: day(last)})
	}
	return a
}
