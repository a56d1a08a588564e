package csvlog

import (
	"slices"

	"flywitness/drive"
	"flywitness/finding"
)

// hottest are what coolant and oil of an engine that lives reach for a while, in °C. In °F a warm one lies above.
var hottest = map[string]float64{drive.CoolantTemp: 150, drive.OilTemp: 180}

// fahrenheit reads temperatures without a unit in °F where one of them is hotter than any in °C: a table writes all of them in one unit.
func fahrenheit(l *drive.Log, cols []column) {
	var bare []*drive.Channel
	hot := false
	for _, c := range l.Channels {
		q := lexiconOf(c.Name)
		i := slices.IndexFunc(cols, func(col column) bool { return col.channel == c.Name })
		if q == nil || q.unit != "C" || i < 0 {
			continue
		}
		if cols[i].unit != "" {
			return
		}
		limit, ok := hottest[c.Name]
		hot = hot || ok && topOf(c.V) > limit
		bare = append(bare, c)
	}
	if !hot {
		return
	}
	f, _ := parseUnit("F", "C")
	for _, c := range bare {
		for k := range c.V {
			c.V[k] = f.apply(c.V[k])
		}
		c.Unit = "F"
		l.Warnings = append(l.Warnings, finding.New(finding.UnitFromCar, finding.Name("file", l.Path), finding.Name("channel", c.Name),
			finding.Name("column", c.Source), finding.Name("own", "C"), finding.Name("unit", "F")))
	}
}
