package csvlog

import (
	"math"

	"flywitness/drive"
	"flywitness/finding"
)

// Thousands that were taken for whole numbers and decimals: 999 is followed by 1.000.
const (
	thousandsBelow = 20.0  // of those that were, as they are read
	thousandsFrom  = 100.0 // of those that have none
)

// joinThousands puts an engine speed right whose thousands stand before a point: it runs from 998 to 1.003, and no number lies between.
func (q *quantity) joinThousands(l *drive.Log) {
	c := q.col()
	if c.channel != drive.EngineSpeed {
		return
	}
	parted, whole := 0, 0
	for _, x := range q.values() {
		switch {
		case math.IsNaN(x) || x == 0:
		case x >= 1 && x < thousandsBelow && onThousandths(x):
			parted++
		case x >= thousandsFrom && x < 1000 && x == math.Trunc(x):
			whole++
		default:
			return
		}
	}
	if parted == 0 || whole == 0 {
		return
	}
	for k, x := range q.values() {
		if x < thousandsBelow {
			q.values()[k] = math.Round(1000 * x)
		}
	}
	c.settled = true
	l.Warnings = append(l.Warnings, finding.New(finding.ThousandsMark, finding.Name("file", l.Path), finding.Name("column", c.raw)))
}

// onThousandths tells whether a number has three decimals at most.
func onThousandths(x float64) bool { return math.Abs(1000*x-math.Round(1000*x)) < 1e-6 }
