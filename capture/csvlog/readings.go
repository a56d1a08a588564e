package csvlog

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"flywitness/drive"
	"flywitness/finding"
	"flywitness/internal/order"
)

// A column without a unit is read in its channel's own. Where no car can be so (a top speed of 12,800 km/h, a longest gear of 100 rpm per km/h), the column holds
// something else: metres a second, hundredths of a km/h, quarters of a revolution. It is read so where that alone makes a car of it, and else asked for.

// readings are the units in which recorders and receivers write engine speed and road speed; the first is the channel's own, and the usual come first.
var readings = map[string][]string{
	drive.EngineSpeed:  {"rpm", "0.25 rpm", "1000 rpm", "100 rpm", "10 rpm", "rev/s", "0.1 rpm", "0.01 rpm", "rad/s"},
	drive.VehicleSpeed: {"km/h", "mph", "m/s", "kn", "0.01 km/h", "cm/s", "0.1 km/h", "0.01 mph", "0.1 mph", "ft/s", "mm/s", "1/128 km/h", "1/256 km/h"},
}

// Bounds of what a column can be.
const (
	topShare    = 0.998 // of all values lie below the top: fewer are faults
	topKmh      = 300.0 // of a road car,
	topKmhSure  = 400.0 // and what none reaches
	leastTopKmh = 15.0  // of a log that is worth reading
	leastTopRPM = 1000.0
	topRPM      = 9000.0
	slowShare   = 0.05  // of an engine's speeds lie below that at which it
	runsLeast   = 400.0 // still turns, rpm
	topRPMSure  = 12000.0
)

// quantity is a column of engine speed or road speed.
type quantity struct {
	set    *rowset
	column int
	open   bool    // its unit is not settled
	top    float64 // what its values reach, as they are read
	slow   float64 // how slow an engine that runs turns
}

// settleReadings takes marks for "no value" out of engine speed and road speed, and reads a column without a unit in the one that makes a car of both.
func settleReadings(l *drive.Log, sets []*rowset) error {
	engine, speed := quantityOf(sets, drive.EngineSpeed), quantityOf(sets, drive.VehicleSpeed, drive.GPSSpeed, drive.UndrivenSpeed)
	for _, q := range []*quantity{engine, speed} {
		if q == nil {
			continue
		}
		q.dropMarks()
		q.joinThousands(l)
		q.turnSign(l)
	}
	if engine != nil && speed != nil {
		if err := cmp.Or(engine.still(l, speed), speed.still(l, engine)); err != nil {
			return err
		}
		if err := settleTogether(l, engine, speed); err != nil {
			return err
		}
		settleSecond(l, sets, speed)
	}
	for _, r := range sets {
		r.dropSideMarks()
	}
	settleBare(l, sets)
	for _, r := range sets {
		r.dropAbsurd()
	}
	return nil
}

// still is the error of a column with words that nobody knows in its heading that never changes while the other does: a limit, a rated speed, something else that has
// a speed.
func (q *quantity) still(l *drive.Log, other *quantity) error {
	if !q.col().unsure || varies(q.values()) || !varies(other.values()) {
		return nil
	}
	return fmt.Errorf("%s: %q is %s all the time while %q changes, so it hardly is %s: name another column, or say that it is with --map \"%s=%s\"", l.Path, q.col().raw,
		shown(topOf(q.values())), other.col().raw, q.col().channel, q.col().channel, q.col().raw)
}

// varies tells whether values differ.
func varies(v []float64) bool {
	v = slices.DeleteFunc(sampled(v), math.IsNaN)
	return len(v) > 0 && slices.Max(v) > slices.Min(v)
}

// settleTogether finds in which units two columns are those of one car.
func settleTogether(l *drive.Log, engine, speed *quantity) error {
	gears := heldGears(pairsOf(engine, speed))
	if !engine.open && !speed.open {
		gears.doubt(l, engine, speed)
		return nil
	}
	engine.top, speed.top, engine.slow = topOf(engine.values()), topOf(speed.values()), slowOf(engine.values())
	if engine.top <= 0 || speed.top <= 0 || !gears.impossible(engine.top, speed.top) {
		return nil
	}
	fit := fitting(engine, speed, gears)
	switch {
	case len(fit) == 1 && gears.told():
		engine.readIn(l, fit[0].engine)
		speed.readIn(l, fit[0].speed)
		return nil
	case len(fit) == 0 && engine.mostlyUsable() && speed.mostlyUsable():
		gears.doubt(l, engine, speed) // what cannot be is left out
		return nil
	case speed.top <= topKmhSure && engine.top < neverRuns:
		return nil // it has its own refusal
	}
	var ways []string
	add := func(q *quantity, unit string) {
		if way := q.way(unit); q.open && unit != q.units()[0] && !slices.Contains(ways, way) {
			ways = append(ways, way)
		}
	}
	for _, f := range fit {
		add(speed, f.speed)
		add(engine, f.engine)
	}
	if len(ways) == 0 {
		for _, q := range []*quantity{speed, engine} {
			if q.open {
				ways = append(ways, fmt.Sprintf("--map \"%s=%s:UNIT\"", q.col().channel, q.col().raw))
			}
		}
	}
	return fmt.Errorf("%s: %q (up to %s) and %q (up to %s) are not %s and %s of one car: give the unit, such as %s", l.Path, engine.col().raw, shown(engine.top),
		speed.col().raw, shown(speed.top), engine.units()[0], speed.units()[0], strings.Join(ways, " or "))
}

// sameSpeed is by how much two speeds of one car differ, at most: the slip of tyres, the error of a display.
const sameSpeed = 1.12

// settleSecond reads a second road speed without a unit in the one in which it is that of the first.
func settleSecond(l *drive.Log, sets []*rowset, first *quantity) {
	for _, channel := range []string{drive.GPSSpeed, drive.UndrivenSpeed} {
		q := quantityOf(sets, channel)
		if q == nil || !q.open || q.col() == first.col() {
			continue
		}
		var ratios []float64
		for a, b := range pairsOf(first, q) {
			ratios = append(ratios, a/b)
		}
		if len(ratios) < heldFewest {
			continue
		}
		apart := order.Median(ratios)
		var fit []string
		for _, unit := range q.units() {
			if off := apart / q.factor(unit); off < sameSpeed && off > 1/sameSpeed {
				fit = append(fit, unit)
			}
		}
		if len(fit) == 1 {
			q.readIn(l, fit[0])
		}
	}
}

// shown is a number as a message shows it.
func shown(x float64) string {
	const most = 1e7
	if math.Abs(x) >= most {
		return "millions"
	}
	return fmt.Sprintf("%.0f", x)
}

// reading is a unit of each.
type reading struct{ engine, speed string }

// fitting returns the readings that make a car of both. As few units as possible are other than they seem, the road speed's first: engine speed has one that all use.
func fitting(engine, speed *quantity, g gears) (fit []reading) {
	for _, units := range [][2][]string{{engine.units()[:1], speed.units()}, {engine.units(), speed.units()[:1]}, {engine.units(), speed.units()}} {
		for _, e := range units[0] {
			for _, s := range units[1] {
				ef, sf := engine.factor(e), speed.factor(s)
				if ef*engine.slow >= runsLeast && g.scaled(ef/sf).usual(ef*engine.top, sf*speed.top) {
					fit = append(fit, reading{e, s})
				}
			}
		}
		if len(fit) > 0 {
			return fit
		}
	}
	return nil
}

// mostlyUsable tells whether a car can have most of the values as they are.
func (q *quantity) mostlyUsable() bool {
	n, bad := 0, 0
	for _, x := range q.values() {
		if !math.IsNaN(x) {
			n++
			if absurd(q.col(), x) {
				bad++
			}
		}
	}
	return 2*bad < n
}

// quantityOf is the first of some channels that is there, nil without one.
func quantityOf(sets []*rowset, channels ...string) *quantity {
	for _, channel := range channels {
		for _, r := range sets {
			if i := r.column(channel); i >= 0 {
				c := r.cols[i]
				return &quantity{set: r, column: i, open: c.conv == identity && (c.assumed || channel == drive.EngineSpeed && c.unit == "")}
			}
		}
	}
	return nil
}

func (q *quantity) col() *column      { return q.set.cols[q.column] }
func (q *quantity) values() []float64 { return q.set.v[q.column] }

// units are those in which the column may be read: as it is, where its unit is settled.
func (q *quantity) units() []string {
	all := readings[drive.VehicleSpeed]
	if q.col().channel == drive.EngineSpeed {
		all = readings[drive.EngineSpeed]
	}
	if !q.open {
		return all[:1]
	}
	return all
}

// factor is how many of the channel's unit one of another is.
func (q *quantity) factor(unit string) float64 {
	c, _ := parseUnit(unit, q.units()[0])
	return c.factor
}

// way is the option that gives a unit, and what the column then reaches.
func (q *quantity) way(unit string) string {
	return fmt.Sprintf("--map \"%s=%s:%s\" (up to %.0f %s)", q.col().channel, q.col().raw, unit, q.factor(unit)*q.top, q.units()[0])
}

// readIn reads the column in another unit than the channel's own.
func (q *quantity) readIn(l *drive.Log, unit string) {
	c, factor := q.col(), q.factor(unit)
	if factor == 1 {
		return
	}
	for k := range q.values() {
		q.values()[k] *= factor
	}
	c.conv, c.unit, c.assumed, c.settled = conversion{factor: factor}, unit, false, true
	dropAssumed(l, c.channel)
	l.Warnings = append(l.Warnings, finding.New(finding.UnitFromCar, finding.Name("file", l.Path), finding.Name("channel", c.channel),
		finding.Name("column", c.raw), finding.Name("own", q.units()[:1][0]), finding.Name("unit", unit)))
}

// dropAssumed takes back that the unit of a channel had to be assumed.
func dropAssumed(l *drive.Log, channel string) {
	l.Warnings = slices.DeleteFunc(l.Warnings, func(w drive.Warning) bool {
		name, _ := w.Value("channel")
		return w.Code == finding.AssumedUnit && name.Text() == channel
	})
}

// turnSign takes the sign off a road speed that counts backwards all the way: its sensor was mounted the other way round.
func (q *quantity) turnSign(l *drive.Log) {
	c := q.col()
	if !drive.IsRoadSpeed(c.channel) || positive(q.values()) {
		return
	}
	turned := make([]float64, len(q.values()))
	for k, x := range q.values() {
		turned[k] = math.Abs(x)
	}
	if topOf(turned) == 0 {
		return
	}
	q.set.v[q.column], c.settled = turned, true
	l.Warnings = append(l.Warnings, finding.New(finding.SpeedBackwards, finding.Name("file", l.Path), finding.Name("channel", c.channel), finding.Name("column", c.raw)))
}

// positive tells whether values reach above nothing but for faults: whether topOf them does.
func positive(v []float64) bool {
	n, above := 0, 0
	for _, x := range v {
		if x > 0 {
			above++
		}
		if x == x {
			n++
		}
	}
	return n > 0 && n-above <= int(topShare*float64(n-1))
}

// topOf is what values reach but for faults, 0 where there are none.
func topOf(v []float64) float64 {
	v = sampled(v)
	if len(v) == 0 {
		return 0
	}
	return order.Kth(v, int(topShare*float64(len(v)-1)))
}

// sampled returns values from all over a column, a long one's not all.
func sampled(v []float64) []float64 {
	apart := 1 + len(v)/pairsLooked
	out := make([]float64, 0, len(v)/apart+1)
	for i := 0; i < len(v); i += apart {
		if !math.IsNaN(v[i]) {
			out = append(out, v[i])
		}
	}
	return out
}

// slowOf is what few of the values above zero lie below.
func slowOf(v []float64) float64 {
	v = slices.DeleteFunc(sampled(v), func(x float64) bool { return x <= 0 })
	if len(v) == 0 {
		return 0
	}
	return order.Kth(v, int(slowShare*float64(len(v)-1)))
}
