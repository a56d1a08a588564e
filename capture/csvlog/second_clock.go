package csvlog

import (
	"math"
	"slices"

	"flywitness/finding"
	"flywitness/internal/order"
)

// A second column of times tells whether the first one counts what it seems to: seconds that are tenths, a crystal that is off. Which of the two
// is right it does not tell.
const (
	clockSpan    = 5.0  // s of the table's head, at least
	clockStamps  = 5    // different times in it
	clockApart   = 0.02 // of the span: less is lost among the errors of a car's mass
	clockReading = 2.0  // steps of both columns that the ends of the span are uncertain by
)

// compareClocks warns where another column of times runs otherwise than the one that was chosen.
func (p *plan) compareClocks(cands []timeCandidate, d *dialect, sample [][]string, name string) {
	c := &p.clocks[0]
	mine := c.clock.seconds(sample[c.index])
	for _, o := range cands {
		if o.index == c.index || o.index == c.date || o.distinct < clockStamps || c.also != nil {
			continue
		}
		other := &plan{}
		if other.addClock(o.heading, -1, "", d, sample, name) != nil {
			continue
		}
		a, b, ok := bothSpans(mine, other.clocks[0].clock.seconds(sample[o.index]))
		if ok {
			p.warn(finding.ClocksDisagree, name, finding.Name("column", c.raw), finding.Name("other", o.raw), finding.Duration("span", a), finding.Duration("span_other", b))
		}
	}
}

// seconds reads cells one after another, NaN where there is no time.
func (c *clock) seconds(cells []string) []float64 {
	out, on := make([]float64, len(cells)), make([]day, len(cells))
	for i, s := range cells {
		var ok bool
		if out[i], on[i], ok = c.read([]byte(s), nil); !ok {
			out[i] = math.NaN()
		}
	}
	if c.unit == 0 {
		new(calendar).place(out, on)
	}
	return out
}

// bothSpans returns how long the same rows last by two clocks; apart where that differs by more than their steps explain.
func bothSpans(a, b []float64) (spanA, spanB float64, apart bool) {
	var x, y []float64
	for i := range a {
		if !math.IsNaN(a[i]) && !math.IsNaN(b[i]) {
			x, y = append(x, a[i]), append(y, b[i])
		}
	}
	if len(x) < clockStamps || !slices.IsSorted(x) || !slices.IsSorted(y) {
		return 0, 0, false
	}
	spanA, spanB = x[len(x)-1]-x[0], y[len(y)-1]-y[0]
	unsure := clockReading * (order.MedianStep(x) + order.MedianStep(y))
	return spanA, spanB, min(spanA, spanB) > 0 && max(spanA, spanB) >= clockSpan && math.Abs(spanA-spanB) > unsure+clockApart*max(spanA, spanB)
}
