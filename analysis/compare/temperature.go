package compare

import (
	"math"

	"flywitness/analysis/inertia"
	"flywitness/analysis/stats"
)

// How the closed-throttle drag falls with temperature, per kelvin: thinner oil. The spread is between engines. Coolant
// says less of the oil than an oil thermometer does: it is warm long before the oil is, and then stays where it is.
// Common practice, no source.
const (
	oilSlope, oilSlopeSD         = 0.004, 0.0015
	coolantSlope, coolantSlopeSD = 0.003, 0.0025
)

// warmth is the temperature correction of a set of runs.
type warmth struct {
	shift      []float64 // what is taken from each run's ln B
	temp       []float64 // C, of each run
	slopeSD    float64
	oil        bool    // of the oil, not the coolant
	difference float64 // mean after minus mean before, K
}

// alikeWarm is the difference of oil or coolant (K) that is not corrected for: thermometers of cars are no better.
const alikeWarm = 5.0

// warmthOf returns the correction for runs that all carry one and the same thermometer; nil when they do not.
func warmthOf(runs []*inertia.Run, after []bool) *warmth {
	try := func(oil bool, slope, sd float64, of func(*inertia.Run) *float64) *warmth {
		w := &warmth{slopeSD: sd, oil: oil}
		var sums [2][]float64
		for i, r := range runs {
			t := of(r)
			if t == nil {
				return nil
			}
			w.temp = append(w.temp, *t)
			sums[side(after[i])] = append(sums[side(after[i])], *t)
		}
		mean := [2]float64{stats.Summarise(sums[0]).Mean, stats.Summarise(sums[1]).Mean}
		w.difference = mean[1] - mean[0]
		for _, t := range w.temp {
			w.shift = append(w.shift, slope*(t-(mean[0]+mean[1])/2))
		}
		return w
	}
	if w := try(true, oilSlope, oilSlopeSD, func(r *inertia.Run) *float64 { return r.OilTemp }); w != nil {
		return w
	}
	w := try(false, coolantSlope, coolantSlopeSD, func(r *inertia.Run) *float64 { return r.Coolant })
	// A warm engine's coolant is held by its thermostat and fan: small differences then mean nothing.
	if w == nil || math.Abs(w.difference) < alikeWarm {
		return nil
	}
	return w
}

// variance is what the unknown slope adds to the variance of ln rho.
func (w *warmth) variance() float64 {
	if w == nil {
		return 0
	}
	return w.slopeSD * w.slopeSD * w.difference * w.difference
}
