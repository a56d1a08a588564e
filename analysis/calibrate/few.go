package calibrate

import (
	"math"
	"sort"
)

// Of many road speeds a part tells the same: neighbours are of one moment, and what ten hours leave open of scale and
// delay no longer matters.

// few is which road speeds are looked at: those that are so many seconds apart, of one minute in so many.
type few struct {
	apart float64
	every int
}

const (
	manySamples = 60000 // road speeds of a set, from which fewer of them tell the same,
	// as long as so many are left, of more than an hour and a half: what they leave open of gears and delay is less than
	// what is allowed for anyway (finestLag, finestGear)
	enoughLeft = 20000
	minute     = 60.0 // s: a gear that is driven in for a few of them is seen
)

// fewOf tells which of n road speeds are looked at, over so many s of driving. A slow link of 2.5 values a second is
// learnt from as well.
func fewOf(n int, driven float64) few {
	f := few{apart: 0.09, every: 1}
	switch {
	case n > manySamples:
		f.apart = 0.29
	case n > manySamples/2:
		f.apart = 0.19
	}
	f.every = max(1, min(1+n/manySamples, int(driven/f.apart)/enoughLeft))
	return f
}

// of returns those of a log, whose times rise, the first minute for the first of a set.
func (f few) of(t, v []float64, log int) (fewT, fewV []float64) {
	last := math.Inf(-1)
	for i := 0; i < len(t); i++ {
		x := t[i]
		if f.every > 1 && (int(x/minute)+log)%f.every != 0 {
			i += sort.Search(len(t)-i, func(k int) bool { return int(t[i+k]/minute) != int(x/minute) }) - 1
			continue
		}
		if x-last >= f.apart {
			fewT, fewV = append(fewT, x), append(fewV, v[i])
			last = x
		}
	}
	return fewT, fewV
}
