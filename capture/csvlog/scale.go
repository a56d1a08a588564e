package csvlog

import (
	"slices"

	"flywitness/internal/order"
)

// scale is how a number tells the time: in units of so many seconds, and epoch is what it says for 1970-01-01, 0 where it counts from there or from
// a start of its own.
type scale struct{ unit, epoch float64 }

// epochs are the counts from a fixed day that computers keep (from memory): from 1970 in s, ms, us and ns, and of 100 ns from the year 1 and from 1601.
var epochs = []scale{{1, 0}, {1e-3, 0}, {1e-6, 0}, {1e-9, 0}, {1e-7, 621355968e9}, {1e-7, 116444736e9}}

// spreadsheet is the scale of spreadsheets, whose day 0 is 1899-12-30.
var spreadsheet = scale{86400, 25569}

const (
	year2000, year2100 = 9.46e8, 4.1e9 // s since 1970: logs are from between
	rarest             = 3600.0        // s from row to row, at most
	slowestRow         = 5.0           // s, the same of a log in days: with longer steps they are minutes
	spreadsheetLeast   = 20000         // days: the year 1954, and no drive lasts as long
)

// epochOf returns the scale on which a number lies in the years in which logs are written.
func epochOf(v float64) (scale, bool) {
	i := slices.IndexFunc(epochs, func(e scale) bool { at := (v - e.epoch) * e.unit; return at >= year2000 && at <= year2100 })
	if i < 0 {
		return scale{}, false
	}
	return epochs[i], true
}

// guessScale finds the scale of a numeric clock without a unit from its values: epochs by their size, the rest by a step that a logger can have. step
// is 0 where nothing had to be guessed.
func guessScale(values []float64) (s scale, step float64) {
	sorted := slices.Clone(values) // rows may stand in any order
	slices.Sort(sorted)
	step = order.MedianStep(sorted)
	if e, ok := epochOf(values[0]); ok && !(step*e.unit > rarest) {
		return e, 0
	}
	switch {
	case step < slowestRow/spreadsheet.unit:
		return daysFrom(values[0]), step
	case step > 5e6:
		return scale{unit: 1e-9}, step
	case step > 5000:
		return scale{unit: 1e-6}, step
	case step > 4:
		return scale{unit: 1e-3}, step
	}
	return scale{unit: 1}, 0
}

// daysFrom is the scale of days, which spreadsheets count from a day of their own.
func daysFrom(first float64) scale {
	if first > spreadsheetLeast {
		return spreadsheet
	}
	return scale{unit: spreadsheet.unit}
}
