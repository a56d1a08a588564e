package inertia

import (
	"math"

	"flywitness/analysis/calibrate"
)

// speedScale ties displayed speed to engine speed in one gear, learnt from the overruns themselves: it takes the error
// of the speedometer, its delay and the rolling radius out of the coast-downs.
type speedScale struct {
	perRPM float64 // km/h per rpm
	lag    float64 // s
	offset float64 // km/h that the display is low by: 0.5 when it cuts off
	rms    float64 // km/h
}

const (
	longestLag, lagStep = 1.0, 0.05 // s by which road speed may come late, and in which it is looked for
	scaleValues         = 5         // of road speed that tell its scale
)

// learnSpeedScale tries delays from 0 to 1 s and both ways of rounding, each with a line through 0, and keeps the one
// that fits best. ok is false with fewer than five speed samples.
func learnSpeedScale(scenes []*preparedLog, runs []*Run, cal *calibrate.Calibration) (speedScale, bool) {
	best, found := speedScale{rms: math.Inf(1)}, false
	rpms := make([]*series, len(runs))
	for i, r := range runs {
		rpms[i] = &series{r.T, r.RPM}
	}
	offsets := []float64{0, 0.5}
	if cal != nil {
		switch cal.SpeedRounding {
		case "round":
			offsets = offsets[:1]
		case "floor":
			offsets = offsets[1:]
		}
	}
	for _, offset := range offsets {
		for lag := 0.0; lag < longestLag+lagStep/2; lag += lagStep {
			nn, nv, vv, count := 0.0, 0.0, 0.0, 0
			for q, r := range runs {
				rpm := rpms[q]
				sp := scenes[r.Input].speed
				i, j := sp.between(r.Start+lag, r.End+lag)
				for k := i; k < j; k++ {
					n, ok := rpm.at(sp.t[k]-lag, bridged)
					if !ok {
						continue
					}
					v := sp.v[k] + offset
					nn, nv, vv, count = nn+n*n, nv+n*v, vv+v*v, count+1
				}
			}
			if count < scaleValues {
				continue
			}
			c := nv / nn
			if rms := math.Sqrt(math.Max(0, vv-c*nv) / float64(count)); rms < best.rms {
				best, found = speedScale{perRPM: c, lag: lag, offset: offset, rms: rms}, true
			}
		}
	}
	return best, found
}
