package inertia

import (
	"math"
	"slices"

	"flywitness/analysis/stats"
	"flywitness/finding"
)

// No diagnostic channel shows the foot brake, so it must show by itself: what slows a car off the throttle in
// gear is known in shape (rolling and air drag, and the engine's drag that the free revs have shown), and
// roughly in size. A braked car slows faster than that; the runs that slow least, and alike, are the ones
// without brake.
const (
	brakeWindow   = 0.8 // s over which a rate is taken,
	rateValues    = 4   // and samples at least
	brakeWithin   = 0.3 // of its own usual rate, within which a run's rate may wander: grade, wind, timing
	brakeSparse   = 0.6 // the same where the free revs have too few samples to tell where in a fall the drag is
	brakeBetween  = 1.3 // rates of two clean runs lie within this factor: local slope 0.4 % and a few per cent of drag
	brakeAcross   = 1.5 // the same in another gear, where another share of the drag is the engine's
	brakeCoast    = 1.6 // the same for coast-downs, which weigh less against a slope
	brakeSurely   = 2.5 // times what the guess of an inertia allows: no clean run
	brakeNeutral  = 2.0 // times the guessed road load: no clean coast-down
	brakeAlone    = 1.5 // times the usual inertia, by one standard deviation: a lone run beyond was braked sooner
	keptAfterTrim = 1.0 // s
)

// overrunsOf is the overruns of one gear, trimmed, each with its level: its rate over the one expected of a usual car.
type overrunsOf struct {
	runs  []*Run
	level []float64
}

// trimOverruns trims the braked part off the overruns of one gear and refuses those that were braked
// throughout. Rates are compared with expected, the rate in rpm/s that rolling, air and a usual inertia would
// give at an engine speed.
func trimOverruns(overs []*Run, expected func(rpm float64) float64, perRPM, within float64) (o overrunsOf) {
	for _, r := range overs {
		ratio := trimBraked(r, expected, within)
		if !r.Used || ratio > brakeSurely {
			refuseBrake(r, r.MeanRate*perRPM/3.6)
			continue
		}
		o.runs, o.level = append(o.runs, r), append(o.level, ratio)
	}
	return o
}

// clean returns the overruns that were neither braked nor pushed: level with the lowest that another one of the
// gear bears out, and with common, the same of all gears, in which the car is the same.
func (o overrunsOf) clean(common, perRPM float64) []*Run {
	high := math.Min(brakeBetween*leastAlike(o.level, brakeBetween), brakeAcross*common)
	var out []*Run
	for i, r := range o.runs {
		slowing := r.MeanRate * perRPM / 3.6
		switch {
		case o.level[i] > high:
			refuseBrake(r, slowing)
		case o.level[i] < common/brakeAcross:
			r.refuse(finding.Pushed, finding.Acceleration("slowing", slowing))
		default:
			out = append(out, r)
		}
	}
	return out
}

// perhapsBraked tells whether what a number of overruns show as an inertia, so many times the usual one, is sooner a
// foot that was on the brake throughout. It passes for inertia, and hardly bears on the brake alike another time.
func perhapsBraked(times float64, runs int) bool {
	return times > mostOfUsual || runs < 2 && times > brakeAlone
}

func refuseBrake(r *Run, slowing float64) {
	r.refuse(finding.Braked, finding.Acceleration("slowing", slowing))
}

// leastAlike returns the lowest level that another one bears out, within a factor; the lowest of all when no
// two agree.
func leastAlike(level []float64, factor float64) float64 {
	if len(level) == 0 {
		return 0
	}
	v := slices.Sorted(slices.Values(level))
	for i := 1; i < len(v); i++ {
		if v[i] <= factor*v[i-1] {
			return v[i-1]
		}
	}
	return v[0]
}

// trimBraked keeps the longest stretch of a run whose rate, against the expected one, stays near the lowest
// that the run shows for long, and returns that level. A run of which too little is left is no longer used.
func trimBraked(r *Run, expected func(rpm float64) float64, within float64) float64 {
	ratio := make([]float64, len(r.T))
	for i := range r.T {
		ratio[i] = localRate(r.T, r.RPM, i) / expected(r.RPM[i])
	}
	usual := stats.Quantile(ratio, 0.25)
	low, high, best := 0, 0, 0.0
	for i := 0; i < len(ratio); {
		j := i
		for j < len(ratio) && ratio[j]-usual <= within*usual {
			j++
		}
		if j > i && r.T[j-1]-r.T[i] > best {
			low, high, best = i, j, r.T[j-1]-r.T[i]
		}
		i = max(j, i+1)
	}
	if best < keptAfterTrim || high-low < minKept || r.RPM[low] < overrunSpan*r.RPM[high-1] {
		r.Used = false
		return usual
	}
	r.T, r.RPM = r.T[low:high], r.RPM[low:high]
	r.MeanRate = (r.RPM[0] - r.RPM[len(r.RPM)-1]) / (r.T[len(r.T)-1] - r.T[0])
	return stats.Median(ratio[low:high])
}

// localRate is the fall in rpm/s around sample i: the slope of a line through the samples within half a window,
// at least four.
func localRate(t, n []float64, i int) float64 {
	lo, hi := i, i+1
	for lo > 0 && (t[i]-t[lo-1] <= brakeWindow/2 || hi-lo < 2) {
		lo--
	}
	for hi < len(t) && (t[hi]-t[i] <= brakeWindow/2 || hi-lo < rateValues) {
		hi++
	}
	for lo > 0 && hi-lo < rateValues {
		lo--
	}
	var line stats.Line
	for j := lo; j < hi; j++ {
		line.Add(t[j]-t[i], n[j])
	}
	if line.Spread() <= 0 {
		return 0
	}
	return -line.Slope()
}

// refuseBrakedCoasts refuses the coast-downs that slowed faster than the others of the car, or than any road explains.
func refuseBrakedCoasts(coasts []*Run, guess *rolling) []*Run {
	level := make([]float64, len(coasts))
	for i, r := range coasts {
		k := len(r.T) - 1
		mid := (r.speed[0] + r.speed[k]) / 2
		level[i] = (r.speed[0] - r.speed[k]) / (r.T[k] - r.T[0]) / guess.at(mid)
	}
	limit := min(brakeNeutral, brakeCoast*leastAlike(level, brakeCoast))
	var clean []*Run
	for i, r := range coasts {
		if level[i] > limit {
			k := len(r.T) - 1
			refuseBrake(r, (r.speed[0]-r.speed[k])/3.6/(r.T[k]-r.T[0]))
			continue
		}
		clean = append(clean, r)
	}
	return clean
}

// expectedOverrun is the rate in rpm/s at which a usual car would slow off the throttle in this gear: the
// closed form turned round, with the inertia of a usual car.
func (f *closedForm) expectedOverrun(road *rolling) func(rpm float64) float64 {
	x := f.b.veh.UsualInertia() * f.k * f.k / (f.b.efficiency * f.b.massC)
	return func(rpm float64) float64 {
		coast := road.at(f.scale.perRPM*rpm) / f.scale.perRPM
		n := math.Max(f.revs.Low, math.Min(f.revs.High, rpm))
		return (coast + x*f.revs.Rate(n, math.Exp(f.lnRev))) / (1 + x)
	}
}
