package report

import (
	"fmt"
	"math"
	"path"
	"path/filepath"
	"strings"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/compare"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/inertia"
	"flywitness/analysis/slip"
	"flywitness/analysis/stats"
	"flywitness/dashboards/chart"
	"flywitness/dashboards/plots"
	"flywitness/dashboards/text"
	"flywitness/figure"
)

// none stands where a value cannot be had.
const none = "–"

func value(e *stats.Estimate) float64 {
	if e == nil {
		return 0
	}
	return e.Value
}

func (b *builder) estimate(e *stats.Estimate, metric string) string {
	if e == nil {
		return none
	}
	return figure.Pretty(b.u.Estimate(e, metric))
}

// uncertain writes an estimate with its standard deviation and without its interval: 242 ± 16 N m.
func (b *builder) uncertain(e *stats.Estimate, metric string) string {
	if e == nil {
		return none
	}
	return figure.Pretty(b.u.Uncertain(e, metric))
}

func (b *builder) heat(j *float64) string {
	if j == nil {
		return none
	}
	v, unit := b.u.In(*j/1000, "kJ")
	return figure.Significant(v, 2) + " " + unit
}

func percent(v *float64) string {
	if v == nil {
		return none
	}
	return figure.Significant(*v, 2) + " %"
}

// logName is the name of a log without its folder and ending: monday.
func (b *builder) logName(input int, side string) string {
	name := path.Base(filepath.ToSlash(b.inputName(input, side)))
	return strings.TrimSuffix(strings.TrimSuffix(name, ".gz"), ".csv")
}

func stretch(start, end float64) string { return chart.Clock(start) + "–" + chart.Clock(end) }

func (b *builder) pullTable(f *slip.Finding, side string) table {
	t := table{Title: "Every pull", Head: []string{"log", "time", "gear", "seen", "most slip", "would have shown", "peak torque", "torque held", "heat in the clutch"}}
	for _, p := range f.Pulls {
		seen := text.PullVerdict(p.Verdict)
		if p.Verdict == slip.Inconclusive && len(p.Reason) > 0 {
			seen += ": " + p.Reason.In(b.u)
		}
		t.Rows = append(t.Rows, []string{b.logName(p.Input, side), stretch(p.Start, p.End), fmt.Sprint(p.Gear), seen, percent(&p.MaxSlip), percent(p.SmallestDetectable),
			b.uncertain(p.PeakTorque, "N m"), b.uncertain(p.HeldTorque, "N m"), b.heat(p.Heat)})
	}
	return t
}

func (b *builder) eventTable(f *slip.Finding, side string) table {
	t := table{Title: "Moments of slip, and what only looks like it", Head: []string{"log", "time", "gear", "what it is", "peak", "mean", "torque at its start", "heat", "confidence"}}
	for _, e := range f.Events {
		t.Rows = append(t.Rows, []string{b.logName(e.Input, side), stretch(e.Start, e.End), fmt.Sprint(e.Gear), text.EventKind(e.Kind),
			fmt.Sprintf("%s, %.0f rpm", percent(&e.PeakSlip), e.PeakSlipRPM), percent(&e.MeanSlip), b.uncertain(e.OnsetTorque, "N m"), b.heat(e.Energy),
			fmt.Sprintf("%.0f %%", 100*e.Confidence)})
	}
	return t
}

func (b *builder) engagementTable(f *slip.Finding) table {
	t := table{Title: "Letting the clutch in", Head: []string{"time", "what", "gear", "took", "heat"}}
	for _, e := range f.Engagements {
		t.Rows = append(t.Rows, []string{chart.Clock(e.Start), string(e.Kind), fmt.Sprint(e.Gear), fmt.Sprintf("%.1f s", e.Duration), b.heat(e.Energy)})
	}
	const most = 40
	if len(t.Rows) > most {
		t.Title += fmt.Sprintf(", the first %d of %d", most, len(t.Rows))
		t.Rows = t.Rows[:most]
	}
	return t
}

// pullSamples is the table behind the picture of a pull: some twenty evenly spaced samples.
func (b *builder) pullSamples(f *slip.Finding, p slip.Pull) *table {
	if p.Input >= len(f.Traces) {
		return nil
	}
	_, speedUnit := b.u.In(0, "km/h")
	_, torqueUnit := b.u.In(0, "N m")
	t := &table{Head: []string{"time, s", "road speed, " + speedUnit, "engine, rpm", "expected, rpm", "slip, %", "torque, " + torqueUnit}}
	tr := f.Traces[p.Input]
	first, last := len(tr.T), 0
	for i, s := range tr.T {
		if s >= p.Start && s <= p.End {
			first, last = min(first, i), i
		}
	}
	for i := first; i <= last; i += max(1, (last-first)/20) {
		speed, _ := b.u.In(tr.SpeedKmh[i], "km/h")
		torque, _ := b.u.In(tr.TorqueNm[i], "N m")
		t.Rows = append(t.Rows, []string{cell(tr.T[i], 2), cell(speed, 1), cell(tr.RPM[i], 0), cell(tr.LockedRPM[i], 0), cell(tr.SlipPct[i], 1), cell(torque, 0)})
	}
	return t
}

func cell(v float64, decimals int) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return none
	}
	return figure.Round(v, decimals)
}

// stateTable sums up the strip of gears: how long each gear was engaged and how long the clutch slipped in it.
func stateTable(tr slip.Trace) *table {
	t := &table{Head: []string{"gear", "clutch", "seconds", "times"}}
	type key struct {
		gear  int
		state gearstate.Clutch
	}
	total, times, top := map[key]float64{}, map[key]int{}, 0
	for _, s := range tr.Segments {
		k := key{s.Gear, s.Clutch}
		total[k] += s.End - s.Start
		times[k]++
		top = max(top, s.Gear)
	}
	for g := 0; g <= top; g++ {
		for _, state := range []gearstate.Clutch{gearstate.Locked, gearstate.Slipping, gearstate.Open, gearstate.Unknown} {
			k := key{g, state}
			if times[k] == 0 {
				continue
			}
			name := fmt.Sprint(g)
			if g == 0 {
				name = "none"
			}
			t.Rows = append(t.Rows, []string{name, clutchWord(state), fmt.Sprintf("%.1f", total[k]), fmt.Sprint(times[k])})
		}
	}
	return t
}

func clutchWord(c gearstate.Clutch) string {
	switch c {
	case gearstate.Locked:
		return "engaged"
	case gearstate.Slipping:
		return "slipping"
	case gearstate.Open:
		return "disengaged or neutral"
	}
	return "cannot tell"
}

// gained writes what is gained, and what is lost in words.
func (b *builder) gained(e *stats.Estimate, metric, lost string) string {
	if e != nil && e.Value < 0 {
		return lost + b.estimate(e.Scale(-1), metric)
	}
	return b.estimate(e, metric)
}

// plain writes a number without a deviation to two digits, in the reader's units.
func (b *builder) plain(x float64, metric string) string {
	value, unit := b.u.In(x, metric)
	return figure.Pretty(figure.WithUnit(figure.Significant(value, 2), unit))
}

func (b *builder) gearTable(c *compare.Finding) *table {
	t := &table{Head: []string{"gear", "as if lighter by", "acceleration gained", "power", "at"}}
	for _, g := range c.ByGear {
		t.Rows = append(t.Rows, []string{fmt.Sprint(g.Gear), b.gained(g.EquivalentMass, "kg", "heavier by "), b.gained(g.AccelerationGain, "%", "loses "),
			b.gained(g.EquivalentPower, "kW", "loses "), fmt.Sprintf("%.0f rpm, %s", g.AtRPM, b.plain(g.AtAcceleration, "m/s^2"))})
	}
	return t
}

func (b *builder) methodTable(c *compare.Finding) *table {
	t := &table{Head: []string{"side", "method", "inertia"}}
	for _, s := range []struct {
		name string
		f    *inertia.Finding
	}{{"before", c.Before}, {"after", c.After}} {
		if s.f == nil {
			continue
		}
		for _, m := range s.f.Methods {
			t.Rows = append(t.Rows, []string{s.name, plots.MethodName(m.Name), b.estimate(m.Inertia, "kg m^2")})
		}
		t.Rows = append(t.Rows, []string{s.name, "together", b.estimate(s.f.Inertia, "kg m^2")})
	}
	return t
}

// airTable is the pulls in standard air; its notes stand as rows of their own.
func (b *builder) airTable() table {
	a := text.StandardAir(b.r.StandardAir, b.u)
	if a == nil {
		return table{}
	}
	t := table{Title: a.Title, Head: a.Head, Rows: a.Rows}
	for _, note := range a.Notes {
		t.Rows = append(t.Rows, []string{note})
	}
	return t
}

func (b *builder) drivabilityTable(c *compare.Finding) table {
	d := c.Drivability
	t := table{Title: "What it cost in everyday driving", Head: []string{"", "before", "after"}}
	if c.SlipBefore == nil || c.SlipAfter == nil {
		return t // one side has no price
	}
	for _, x := range []struct {
		text, name, unit string
		before, after    *stats.Estimate
	}{
		{"idle wanders by (one standard deviation)", "idle_sd_rpm", "rpm", d.IdleSDBefore, d.IdleSDAfter},
		{"revs fall between shifts", "shift_rev_fall_rpm_s", "rpm/s", d.ShiftRevFallBefore, d.ShiftRevFallAfter},
		{"setting off: clutch let in within", "launch_s", "s", d.LaunchBefore, d.LaunchAfter},
	} {
		row := []string{x.text, b.estimate(x.before, x.unit), b.estimate(x.after, x.unit)}
		for i, side := range []string{"_before", "_after"} {
			if why := d.Reasons[x.name+side]; why != "" {
				row[i+1] = none + " (" + why + ")"
			}
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func (b *builder) runTable(f *inertia.Finding, title, side string) table {
	t := table{Title: title, Head: []string{"log", "time", "what", "gear", "mean rate, rpm/s", "used"}}
	for _, r := range f.Runs {
		used, g := "yes", none
		if !r.Used {
			used = "no: " + r.WhyNot.In(b.u)
		}
		if r.Gear > 0 {
			g = fmt.Sprint(r.Gear)
		}
		t.Rows = append(t.Rows, []string{b.logName(r.Input, side), stretch(r.Start, r.End), text.RunKind(r.Kind), g, fmt.Sprintf("%.0f", r.MeanRate), used})
	}
	return t
}

// driftTable shows whether the drag moved over the runs of a session: an engine that was still warming up tells lies.
func (b *builder) driftTable(before, after *inertia.Finding) table {
	t := table{Title: "Drift of the engine's drag over a session", Head: []string{"side", "session", "runs", "first run to last", "by chance alone", "taken as"}}
	for _, s := range []struct {
		name string
		f    *inertia.Finding
	}{{"before", before}, {"after", after}} {
		if s.f == nil {
			continue
		}
		for _, d := range s.f.Drift {
			p, taken := none, "no drift"
			if d.P != nil {
				p = fmt.Sprintf("p = %s", figure.Significant(*d.P, 2))
			}
			if d.Confirmed {
				taken = "drift"
			}
			t.Rows = append(t.Rows, []string{s.name, fmt.Sprint(d.Session + 1), fmt.Sprint(d.Runs), fmt.Sprintf("%+.1f %%", d.Total), p, taken})
		}
	}
	if after == nil {
		for i := range t.Rows {
			t.Rows[i] = t.Rows[i][1:]
		}
		t.Head = t.Head[1:]
	}
	return t
}

func (b *builder) ladderTable(c *calibrate.Calibration) table {
	t := table{Title: "Gearing", Head: []string{"gear", "engine speed for road speed", "seen for"}}
	for _, g := range c.Gears {
		t.Rows = append(t.Rows, []string{fmt.Sprint(g.Gear), b.estimate(g.RPMPerKmh, "rpm per km/h"), fmt.Sprintf("%.0f s", g.Seconds)})
	}
	if c.SpeedLag != nil {
		t.Rows = append(t.Rows, []string{"", "road speed comes late by " + b.estimate(c.SpeedLag, "s"), ""})
	}
	return t
}
