package plots

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"flywitness/analysis/slip"
	"flywitness/dashboards/chart"
	"flywitness/drive"
	"flywitness/figure"
)

// Most other channels that get a panel of their own.
const otherPanels = 8

// Log shows every channel of a log, each on its own time stamps, with gear and slip bands where a finding (nil allowed)
// tells them.
func Log(l *drive.Log, f *slip.Finding, u figure.Units) chart.Chart {
	c := chart.Chart{ID: "drive", Title: "The drive", X: seconds(),
		Caption: "Every channel with its own time stamps. Shaded stretches are slip; the strip names the gear wherever the clutch is engaged, a raised block is a slipping clutch, a low one a disengaged clutch or neutral."}
	var t slip.Trace
	if f != nil && len(f.Traces) > 0 {
		t = f.Traces[0]
	}
	if e := l.Channel(drive.EngineSpeed); e != nil {
		p := chart.Panel{Y: chart.Axis{Label: "Engine speed", Unit: "rpm", Zero: true}, Bands: slipBands(f),
			Lines: []chart.Line{{Name: "engine speed, measured", Role: chart.Measured, X: e.T, Y: e.V}}}
		if len(t.T) > 0 {
			p.Lines = append(p.Lines, chart.Line{Name: "expected for this road speed and gear", Role: chart.Expected, X: t.T, Y: t.LockedRPM})
		}
		c.Panels = append(c.Panels, p)
	}
	if p := speeds(l, u); len(p.Lines) > 0 {
		c.Panels = append(c.Panels, p)
	}
	if len(t.Segments) > 0 {
		c.Panels = append(c.Panels, strip(t))
	}
	for _, ch := range l.Channels {
		if len(c.Panels) == otherPanels+3 {
			break
		}
		switch ch.Name {
		case drive.EngineSpeed, drive.VehicleSpeed, drive.GPSSpeed, drive.UndrivenSpeed, drive.Latency:
		default:
			if ch.Len() > 1 {
				label, unit := named(ch.Name)
				c.Panels = append(c.Panels, chart.Panel{Y: chart.Axis{Label: label, Unit: unit}, Height: 0.45,
					Lines: []chart.Line{{Role: chart.Torque, X: ch.T, Y: ch.V}}})
			}
		}
	}
	return c
}

func speeds(l *drive.Log, u figure.Units) chart.Panel {
	_, unit := u.In(1, "km/h")
	p := chart.Panel{Y: chart.Axis{Label: "Road speed", Unit: unit, Zero: true}, Height: 0.7}
	for _, s := range []struct {
		channel, name string
		role          chart.Role
	}{{drive.VehicleSpeed, "the car's own", chart.Speed}, {drive.GPSSpeed, "over ground", chart.Before}, {drive.UndrivenSpeed, "undriven wheels", chart.Expected}} {
		if c := l.Channel(s.channel); c != nil && c.Len() > 1 {
			y, _ := scaled(c.V, u, "km/h")
			p.Lines = append(p.Lines, chart.Line{Name: "road speed, " + s.name, Role: s.role, X: c.T, Y: y})
		}
	}
	return p
}

// slipBands shades the events that count as slip.
func slipBands(f *slip.Finding) (out []chart.Band) {
	if f == nil {
		return nil
	}
	for _, e := range f.Events {
		if isSlip(e) {
			out = append(out, chart.Band{From: e.Start, To: e.End, Name: "slip", Label: "slip", Role: chart.SlipRole})
		}
	}
	return out
}

// strip is the panel of gear and clutch state.
func strip(t slip.Trace) chart.Panel {
	return chart.Panel{Y: chart.Axis{Label: "Gear and clutch", Min: 0, Max: 3, Ticks: []chart.Tick{{At: 0.5, Label: "open"}, {At: 1.5, Label: "engaged"}, {At: 2.5, Label: "slips"}}},
		Height: 0.36, Spans: spansOf(t.Segments)}
}

// named returns what people call a channel, and its unit as it is printed. A name that is not in the list speaks for itself.
func named(channel string) (label, unit string) {
	if d, ok := drive.Define(channel); ok {
		return d.Label, strings.Replace(d.Unit, "C", "°C", 1)
	}
	if channel == "" {
		return "?", ""
	}
	label = strings.ReplaceAll(channel, "_", " ")
	r, n := utf8.DecodeRuneInString(label)
	return string(unicode.ToUpper(r)) + label[n:], ""
}
