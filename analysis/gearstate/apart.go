package gearstate

import (
	"math"
	"sort"

	"flywitness/analysis/stats"
)

// Road speed and engine speed are polled in turn, and one is delayed besides: their values do not stand at the same
// moments.

// apart is how far (s) from the moment of a road speed, its lag removed, the next value of engine speed stands:
// half of the samples are nearer.
func (s *Signals) apart(lag float64) float64 {
	var all []float64
	stride := 1 + len(s.SpeedT)/enough
	for i, j := 0, 0; i < len(s.SpeedT); i += stride {
		at := s.SpeedT[i] - lag
		for j+stride < len(s.RPMT) && s.RPMT[j+stride] < at {
			j += stride
		}
		j += sort.SearchFloat64s(s.RPMT[j:min(len(s.RPMT), j+stride+1)], at)
		if j > 0 && j < len(s.RPMT) {
			all = append(all, math.Min(at-s.RPMT[j-1], s.RPMT[j]-at))
		}
	}
	if len(all) == 0 {
		return 0
	}
	return stats.Median(all)
}

const (
	oftener = 2.0 // times as often engine speed comes as road speed that shows what lies between two road speeds
	// s between those at most: over more, a change of gear bends the line from one to the other by as much as a slip is
	mostDrawn = 1.5

	straightBy   = 0.03 // rpm from the line between its neighbours, which a value written in hundredths lies on,
	straightMove = 5.0  // where those are so many rpm apart and more,
	straightMost = 0.4  // and the share of values beyond which a logger drew the lines
)

// straight tells whether a logger drew lines between engine speeds: most of them lie on those of their neighbours.
func straight(v []float64) bool {
	on, all := 0, 0
	for i := 1; i+1 < len(v); i++ {
		if math.Abs(v[i+1]-v[i-1]) < straightMove {
			continue
		}
		if all++; math.Abs(v[i+1]+v[i-1]-2*v[i]) <= straightBy {
			on++
		}
	}
	return float64(on) > straightMost*float64(all)
}

// AtEngine returns the signals with Apart known. Where engine speed stands so far apart from road speed that a
// change of gear lies between the two, or comes oftener than it on a slow link, road speed is read at the moments of
// engine speed, on a straight line between its own values: between two of them an engine runs from gear to gear, or
// away from one, while the speed of a car hardly changes.
func (s Signals) AtEngine(lag float64) Signals {
	s.Apart = s.apart(lag)
	slow := stats.MedianStep(s.SpeedT)
	switch {
	case slow > SlowLink && slow <= mostDrawn && slow >= oftener*stats.MedianStep(s.RPMT) && !straight(s.RPM):
		s.Drawn = slow
	case s.Apart < SlowLink:
		return s
	}
	gap := SignalGap(slow)
	var t, v []float64
	for _, x := range s.RPMT {
		x += lag
		i := sort.SearchFloat64s(s.SpeedT, x)
		if i == 0 || i == len(s.SpeedT) || s.SpeedT[i]-s.SpeedT[i-1] > gap {
			continue
		}
		w := (x - s.SpeedT[i-1]) / (s.SpeedT[i] - s.SpeedT[i-1])
		t, v = append(t, x), append(v, (1-w)*s.Speed[i-1]+w*s.Speed[i])
	}
	s.SpeedT, s.Speed, s.Accel = t, v, nil
	return s
}
