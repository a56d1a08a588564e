package csvlog

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"

	"flywitness/drive"
	"flywitness/finding"
)

// A heading without a unit leaves open what its numbers are. Engine speed and road speed tell each other's (readings.go), a clock's steps its own (scale.go); the other
// columns are read in their channel's unit where its values can be so, in the one other unit in which they can, and else left out: a pressure in bar or a
// throttle in counts of a converter would pass for an engine that hardly works.

// bareUnit is a unit that a column may be in, and what its values then reach.
type bareUnit struct {
	unit   string  // as --map takes it
	from   float64 // what they reach at least, in it
	pushed float64 // the same of a log in which the engine pushes the car on
	to     float64 // and at most
}

// bareUnits are the units of columns that are written without one, the channel's own first. What a manifold, a pedal and the air reach is common practice, no source.
var bareUnits = map[string][]bareUnit{
	drive.Throttle:           {{"%", 0, hardlyOpen, 105}, {ofOne, 0, 0, shareMost}},
	drive.Pedal:              {{"%", 0, 0, 105}, {ofOne, 0, 0, shareMost}},
	drive.EngineLoad:         {{"%", 0, hardlyOpen, 200}, {ofOne, 0, 0, shareMost}}, // goes beyond 100 where an engine is charged; a pedal is left alone with a cruise control
	drive.EngineTorque:       {{"%", 0, hardlyOpen, 130}, {ofOne, 0, 0, shareMost}},
	drive.DemandedTorque:     {{"%", 0, 0, 130}},
	drive.IntakePressure:     {{"kPa", 5, 45, 400}, {"bar", 0.1, 0.45, 4.5}, {"hPa", 450, 450, 4500}},
	drive.BarometricPressure: {{"kPa", 50, 50, 110}, {"bar", 0.5, 0.5, 1.1}, {"psi", 7, 7, 16}, {"inHg", 17, 17, 33}, {"hPa", 820, 820, 1100}},
	drive.ModuleVoltage:      {{"V", 4, 4, 66}, {"mV", 4000, 4000, 66e3}},
	drive.ClutchSwitch:       {{"", 0, 0, 1}, {"%", 50, 50, 105}},
}

const (
	ofOne       = "100 %" // a share: one is all of it
	shareMost   = 1.0
	shareStep   = 0.1 // that different values of a share lie apart by, at most: control units show per cent in steps of 0.39 or more
	shareFew    = 20  // different values that tell,
	sharePushed = 12  // and those that do where the engine pushes the car on: no throttle and no load stays at 1 % then
	hardlyOpen  = 6.0 // %, above which some throttle, pedal, load and torque goes when the engine pushes a car on
	pushedKmh   = 20.0
	pushedRows  = 10 // that lie so far above the slowest before them
)

// settleBare finds the units of the columns without one.
func settleBare(l *drive.Log, sets []*rowset) {
	pushed := sync.OnceValue(func() bool {
		return pushedOn(quantityOf(sets, drive.VehicleSpeed, drive.GPSSpeed, drive.UndrivenSpeed))
	})
	for _, r := range sets {
		for i, c := range r.cols {
			units := bareUnits[c.channel]
			if c.given { // but a spreadsheet writes 45 % as 0.45
				units = slices.DeleteFunc(slices.Clone(units), func(u bareUnit) bool { return u.unit != ofOne && u.unit != "%" })
			}
			if len(units) > 1 && c.unit == "" && c.conv == identity {
				q := &quantity{set: r, column: i}
				q.settleBare(l, units, !c.given && pushed())
			}
		}
	}
	settleDegrees(l, sets)
}

// settleBare finds the unit of one column.
func (q *quantity) settleBare(l *drive.Log, units []bareUnit, pushed bool) {
	c := q.col()
	if q.top = topOf(q.values()); q.top <= 0 {
		return
	}
	var fit []string
	share := isShare(q.values(), pushed)
	for k, u := range units {
		least := u.from
		if pushed {
			least = u.pushed
		}
		can := q.top >= least && q.top <= u.to
		if u.unit == ofOne {
			can = can && share
		}
		if k == 0 && can && !share {
			q.sayTorque(l)
			return
		}
		if can {
			fit = append(fit, u.unit)
		}
	}
	fit = slices.DeleteFunc(fit, func(unit string) bool { return len(fit) > 1 && unit == units[0].unit }) // a share is per cent too, of a throttle that never opens
	switch {
	case len(fit) == 0 && c.given:
	case len(fit) != 1:
		q.leaveOut(l, units)
	case fit[0] == units[0].unit:
	default:
		q.convert(l, units[0].unit, fit[0])
	}
}

// convert reads the column in another unit than its channel's own.
func (q *quantity) convert(l *drive.Log, own, unit string) {
	c := q.col()
	conv, ok := parseUnit(unit, own)
	if !ok {
		return
	}
	for k, x := range q.values() {
		q.values()[k] = conv.apply(x)
	}
	c.conv, c.unit, c.settled = conv, unit, true
	file, column, channel := finding.Name("file", l.Path), finding.Name("column", c.raw), finding.Name("channel", c.channel)
	switch {
	case unit == ofOne:
		c.conv, c.unit = identity, ""
		l.Warnings = append(l.Warnings, finding.New(finding.ShareAsPercent, file, channel, column))
	case c.channel == drive.ClutchSwitch:
		l.Warnings = append(l.Warnings, finding.New(finding.PedalInPercent, file, channel, column, finding.Number("top", q.top)))
	default:
		l.Warnings = append(l.Warnings, finding.New(finding.UnitFromCar, file, channel, column, finding.Name("own", own), finding.Name("unit", unit)))
	}
}

// sayTorque says that a torque without a unit is read as a share: in a small engine N m are as many.
func (q *quantity) sayTorque(l *drive.Log) {
	c := q.col()
	percent := slices.ContainsFunc(wordsOf(c.raw), func(w string) bool { return w == "percent" || w == "pct" })
	if c.channel == drive.EngineTorque && !c.given && !percent {
		l.Warnings = append(l.Warnings, finding.New(finding.TorqueAsShare, finding.Name("file", l.Path), finding.Name("column", c.raw)))
	}
}

// leaveOut takes the values of a column away, and says in which way they are taken all the same.
func (q *quantity) leaveOut(l *drive.Log, units []bareUnit) {
	c := q.col()
	for k := range q.values() {
		q.values()[k] = math.NaN()
	}
	q.set.noteHoles(q.column)
	c.settled = true
	what, ways := "in "+units[0].unit, []string{units[0].unit}
	switch {
	case c.channel == drive.ClutchSwitch:
		what, ways = "as a switch of 0 and 1", []string{"%"}
	case c.channel == drive.IntakePressure:
		ways = []string{"psi", "inHg"} // one of which it is, by what it reaches
	}
	for k, unit := range ways {
		ways[k] = fmt.Sprintf("--map \"%s=%s:%s\"", c.channel, c.raw, unit)
	}
	l.Warnings = append(l.Warnings, finding.New(finding.ColumnLeftOut, finding.Name("file", l.Path), finding.Name("why", fmt.Sprintf(
		"%s: %q has no unit and reaches %s, which is no %s %s: say its unit, such as %s", l.Path, c.raw, strconv.FormatFloat(math.Round(100*q.top)/100, 'f', -1, 64), c.channel, what, strings.Join(ways, " or ")))))
}

// pushedOn tells whether a car speeds up as only its engine makes it.
func pushedOn(speed *quantity) bool {
	if speed == nil {
		return false
	}
	slowest, rows := math.Inf(1), 0
	for _, v := range speed.values() {
		if v < slowest {
			slowest = v
		}
		if v >= slowest+pushedKmh {
			rows++
		}
	}
	return rows >= pushedRows
}

// isShare tells whether values run from 0 to 1 in steps that no per cent has.
func isShare(v []float64, pushed bool) bool {
	seen := map[float64]bool{}
	for _, x := range v {
		if x < 0 || x > shareMost {
			return false
		}
		if x == x && len(seen) < shareFew {
			seen[x] = true
		}
	}
	values := make([]float64, 0, len(seen))
	for x := range seen {
		values = append(values, x)
	}
	slices.Sort(values)
	apart := math.Inf(1)
	for k := 1; k < len(values); k++ {
		apart = min(apart, values[k]-values[k-1])
	}
	few := shareFew
	if pushed {
		few = sharePushed
	}
	return len(values) >= few && apart < shareStep
}

const (
	coldest = 250.0 // K, and no car is so hot in °C or °F all along
	boiling = 450.0 // K
)

// hottest are what coolant and oil of an engine that lives reach for a while, in °C. In °F a warm one lies above.
var hottest = map[string]float64{drive.CoolantTemp: 150, drive.OilTemp: 180}

// settleDegrees reads temperatures without a unit in K where all of them lie there, and in °F where one is hotter than any in °C: a table writes all of them in one unit.
func settleDegrees(l *drive.Log, sets []*rowset) {
	var bare []*quantity
	hot, kelvin := false, true
	for _, r := range sets {
		for i, c := range r.cols {
			if q := lexiconOf(c.channel); q == nil || q.unit != "C" || len(finite(r.v[i])) == 0 {
				continue
			}
			if c.unit != "" {
				return
			}
			v := slices.DeleteFunc(sampled(r.v[i]), math.IsNaN)
			limit, ok := hottest[c.channel]
			hot = hot || ok && topOf(v) > limit
			kelvin = kelvin && slices.Min(v) >= coldest && topOf(v) <= boiling
			bare = append(bare, &quantity{set: r, column: i})
		}
	}
	unit := "F"
	if kelvin {
		unit = "K"
	}
	if !hot && !kelvin {
		return
	}
	for _, q := range bare {
		q.convert(l, "C", unit)
	}
}
