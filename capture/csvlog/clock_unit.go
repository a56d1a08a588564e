package csvlog

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"flywitness/drive"
	"flywitness/finding"
)

// A clock without a unit is read by its steps, and a table of minutes at ten rows a second has the steps of one of seconds at six hundred. The car tells them apart:
// no tyre changes its speed by so much in a second.
const (
	hardest      = 30.0 // m/s², three times what a road tyre does
	gentlest     = 0.3  // m/s², the hardest of a drive at least
	ofTyre       = 15.0 // m/s², and at most
	hardestTold  = 600  // m/s²: where the log or the user told the unit, it is wrong only by a factor of a thousand,
	gentlestTold = 0.03 // m/s², either way; stamps in bunches may look hard
	oftenest     = 2e-3 // s from row to row in the mean, and
	seldomest    = 5.0  // s: a clock of which rows come so is not wrong by that
	changeKmh    = 20.0 // over which it is measured: an odd value does not do it
	changeRows   = 4    // in so many rows at least, all in one direction
	changeMost   = 400  // rows, and no more are looked at for one
	changeFewest = 5    // of them tell,
	changeStep   = 0.5  // of which no step to the next row is more: values that drop out are no change of speed
	minute       = 60.0 // s
)

// settleClock holds the times of a clock without a unit against how hard the car speeds up and slows down.
func (r *rowset) settleClock(l *drive.Log, c *timeColumn) error {
	if len(r.t) == 0 {
		return nil
	}
	if step := (r.t[len(r.t)-1] - r.t[0]) / float64(len(r.t)); c.clock.unit == 0 || !c.assumed && step >= oftenest && step <= seldomest {
		return nil
	}
	a := r.hardestChange()
	switch {
	case !c.assumed && a > 0 && (a > hardestTold || a < gentlestTold):
		return unlikely(l, c, a)
	case !c.assumed || a <= hardest:
		return nil
	}
	if slower := a / minute; c.clock.unit == 1 && slower >= gentlest && slower <= ofTyre {
		for i := range r.t {
			r.t[i] *= minute
		}
		r.back = r.stepsBack()
		l.Warnings = append(l.Warnings, finding.New(finding.ClockInMinutes, finding.Name("file", l.Path), finding.Name("column", c.raw)))
		return nil
	}
	return unlikely(l, c, a)
}

// clockUnits are those in which clocks count, the usual first.
var clockUnits = []string{"s", "ms", "us", "min", "1/100 s", "1/10 s"}

// unlikely is the error of a clock by which no car moves, with the units by which it would.
func unlikely(l *drive.Log, c *timeColumn, a float64) error {
	var ways []string
	for _, name := range clockUnits {
		unit, _ := timeUnit(name)
		if would := a * c.clock.unit / unit; would >= gentlest && would <= hardest {
			ways = append(ways, fmt.Sprintf("--time \"%s:%s\"", c.raw, name))
		}
	}
	if ways == nil {
		ways = []string{fmt.Sprintf("--time \"%s:UNIT\"", c.raw)}
	}
	decimals := 0
	if a < 1 {
		decimals = 2
	}
	return fmt.Errorf("%s: by the times in %q, read as numbers of %s, the car gains or loses %.*f km/h in a second: give their unit, such as %s", l.Path, c.raw, c.unitName(), decimals, 3.6*a,
		strings.Join(ways, " or "))
}

// hardestChange returns the acceleration that a road speed shows several times, m/s²; 0 where it does not tell. Driven wheels that spin speed up harder than any tyre
// lets a car, but not most of the time: where most changes are those of a car, it is no more than hardest.
func (r *rowset) hardestChange() float64 {
	i := slices.IndexFunc(r.cols, func(c *column) bool { return drive.IsRoadSpeed(c.channel) })
	if i < 0 || !slices.IsSorted(r.t) {
		return 0
	}
	rows := r.finiteRows(i)
	v, t := r.v[i], r.t
	if rows != nil {
		v, t = at(v, rows), at(t, rows)
	}
	var all []float64
	for from := 0; from < len(v); {
		to := monotone(v, from)
		if by := math.Abs(v[to] - v[from]); to-from >= changeRows && by >= changeKmh && t[to] > t[from] && largestStep(v[from:to+1]) <= changeStep*by {
			all = append(all, by/3.6/(t[to]-t[from]))
		}
		from = max(to, from+1)
	}
	if len(all) < changeFewest {
		return 0
	}
	slices.Sort(all)
	if usual := all[len(all)/2]; usual <= ofTyre {
		return min(all[len(all)-changeFewest], hardest)
	}
	return all[len(all)-changeFewest]
}

// largestStep is the most that values change from one to the next.
func largestStep(v []float64) (most float64) {
	for i := 1; i < len(v); i++ {
		most = max(most, math.Abs(v[i]-v[i-1]))
	}
	return most
}

// monotone returns the row to which a value goes on in one direction, or by as much as is asked for.
func monotone(v []float64, from int) int {
	to, sign := from, 0.0
	for to+1 < len(v) && to-from < changeMost {
		step := v[to+1] - v[to]
		if step*sign < 0 {
			break
		}
		if step != 0 {
			sign = step
		}
		if to++; to-from >= changeRows && math.Abs(v[to]-v[from]) >= changeKmh {
			break
		}
	}
	return to
}
