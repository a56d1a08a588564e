package inertia

import (
	"fmt"
	"math"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/vehicle"
)

// Measure finds the runs of a set of logs of one side and what they tell of its inertia. tracks (one for each log) and
// cal may be nil or empty: free revs need neither. veh may be nil: then the absolute inertia is nil, with a warning.
func Measure(logs []*drive.Log, tracks []*gearstate.Track, veh *vehicle.Vehicle, cal *calibrate.Calibration, opt Options) (*Finding, []drive.Warning) {
	f := &Finding{Runs: []Run{}, Methods: []Method{}, WhatToDrive: []string{}, Drift: []Drift{}, FootOnClutch: opt.FootOnClutch}
	var warnings []drive.Warning
	var idles []float64
	for i, l := range logs {
		session := i
		if i < len(opt.Session) {
			session = opt.Session[i]
		}
		s := observe(i, session, l, veh)
		if s == nil {
			warnings = append(warnings, warn("no_engine_speed", "%s: too little engine speed to look for runs", l.Path))
			continue
		}
		idles = append(idles, s.idle)
		f.Runs = append(f.Runs, s.freeRevs(opt)...)
	}
	if len(idles) > 0 {
		f.IdleRPM = stats.Median(idles)
	}
	f.settleRates()
	f.Drift = drifts(f.Runs)
	return f, warnings
}

func warn(code, format string, values ...any) drive.Warning {
	return drive.Warning{Code: code, Message: fmt.Sprintf(format, values...)}
}

// FreeRevs returns the used runs of one kind of free rev.
func (f *Finding) FreeRevs(kind Kind) []*Run {
	var out []*Run
	if f == nil {
		return nil
	}
	for i := range f.Runs {
		if r := &f.Runs[i]; r.Used && r.Kind == kind {
			out = append(out, r)
		}
	}
	return out
}

// settleRates refuses runs whose rate of fall stands out from the other runs of their kind, which is how a throttle that
// was not shut shows when nobody recorded it.
func (f *Finding) settleRates() {
	for _, kind := range []Kind{RevDown, RollingRevDown} {
		for range 3 { // an outlier widens the spread that others are judged by
			runs := f.FreeRevs(kind)
			if len(runs) < 4 || !refuseOutlier(runs) {
				break
			}
		}
	}
}

// refuseOutlier refuses the runs furthest from their session's median; it tells whether there were any.
func refuseOutlier(runs []*Run) bool {
	shape, err := ShapeOf(runs)
	if err != nil {
		return false
	}
	y, session := make([]float64, len(runs)), map[int][]float64{}
	for i, r := range runs {
		y[i] = math.Log(shape.Runs[i].B)
		session[r.Session] = append(session[r.Session], y[i])
	}
	any := false
	for i, r := range runs {
		own := session[r.Session]
		if len(own) < 4 {
			continue
		}
		m := stats.Median(own)
		limit := math.Max(4*stats.MADScale*stats.MAD(own, m), math.Max(0.03, 4*math.Sqrt(shape.Runs[i].VarLnB)))
		if d := y[i] - m; math.Abs(d) > limit {
			word := "slower"
			if d < 0 {
				word = "faster"
			}
			r.Used, r.Why = false, WhyOutlier
			r.WhyNot = WhyOutlier.say(100*math.Abs(math.Expm1(-d)), word)
			any = true
		}
	}
	return any
}

// ShapeOf fits the common shape to the kept samples of runs, each log a group of its own timing noise. The degree of the
// shape follows the number of samples: a fall of few samples cannot carry a curved slowness.
func ShapeOf(runs []*Run) (*Shape, error) {
	return fitRuns(runs, func(r *Run) ([]float64, []float64) { return r.T, r.RPM })
}

func fitRuns(runs []*Run, samples func(*Run) ([]float64, []float64)) (*Shape, error) {
	var in []ShapeRun
	low, high := math.Inf(1), 0.0
	var counts []float64
	for _, r := range runs {
		t, n := samples(r)
		in = append(in, ShapeRun{T: t, RPM: n})
		counts = append(counts, float64(len(t)))
		for _, v := range n {
			low, high = math.Min(low, v), math.Max(high, v)
		}
	}
	return FitShape(in, low, high, DegreeFor(counts))
}

// DegreeFor returns the degree of the common shape for runs of so many samples: a parabola in time for few samples, a
// cubic from about ten.
func DegreeFor(samples []float64) int {
	if stats.Median(samples) < 9 {
		return 2
	}
	return 3
}
