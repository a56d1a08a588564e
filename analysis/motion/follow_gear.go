package motion

import (
	"math"
	"slices"

	"flywitness/analysis/gearstate"
)

// A driver who keeps his foot down does not change gear. When an engine runs far away from a slipping clutch,
// its speed alone looks like that of an open clutch; the foot, and the gear that is in when the clutch holds
// again, tell that it is not.
const (
	FootDown  = 0.5 // load fraction
	Lapse     = 0.35
	Passing   = 0.7 // s for which the engine may seem locked to another gear on its way
	afterLift = 2.5 // s from the lift until the clutch holds again
)

// followGear returns the track with such stretches labelled slipping in their gear. The track given is changed only
// where it is spent: nobody needs it any more.
func followGear(t *gearstate.Track, spent bool) *gearstate.Track {
	all := lapses(t)
	if len(all) == 0 {
		return t
	}
	if !spent {
		own := *t
		own.Gear, own.Clutch, own.Excess = slices.Clone(t.Gear), slices.Clone(t.Clutch), slices.Clone(t.Excess)
		t = &own
	}
	for _, l := range all {
		relabel(t, l)
	}
	return t
}

// lapse is such a stretch of samples [lo, hi).
type lapse struct{ lo, hi, gear int }

// lapses finds the stretches of a track.
func lapses(t *gearstate.Track) (all []lapse) {
	for i := 1; i < t.Len(); i++ {
		gear := int(t.Gear[i-1])
		if gear == 0 || int(t.Gear[i]) == gear {
			continue
		}
		end, ok := samePlace(t, i, gear)
		if !ok {
			continue
		}
		all = append(all, lapse{i, end, gear})
		i = end
	}
	return all
}

const (
	lapseValues   = 1.2 // intervals of a lapse: one value
	passingValues = 2.2 // intervals of passing a gear: two values
	pushTime      = 0.4 // s of slip in which a push can be told,
	pushShare     = 0.6 // and of the force before: a change of gear takes it away, a clutch that slips carries most of it
)

// samePlace tells whether the stretch from sample i on is still slip in gear: the foot down from its start, the
// engine above the expected speed throughout, and at its end the clutch locked again in gear. Where the car was
// pushed on while the engine ran away, as no car is in a gear change, the engine may pass the ratio of a lower
// gear for any time, and the lift alone ends it. end is the first sample after it.
func samePlace(t *gearstate.Track, i, gear int) (end int, ok bool) {
	k := t.Model.Gears[t.Model.Index(gear)].K
	allowed := math.Max(Lapse, lapseValues*t.Model.Period)
	pushed := pushedOn(t, i, gear)
	down, lifted := i, -1
	other := math.NaN() // since when another gear seems to be in
	stood := false      // it seemed so for longer than an engine passes one
	for j := i; j < t.Len(); j++ {
		if t.Clutch[j] == gearstate.Locked && int(t.Gear[j]) == gear {
			return j, j > i
		}
		e := t.RPM[j]/k - t.SpeedKmh[j]
		if math.IsNaN(e) || e < -1-2*t.Model.LevelSD(t.SpeedKmh[j], t.Accel[j]) {
			if stood && lifted < 0 && e < 0 && t.Load[j] < FootDown {
				lifted = down + 1 // it fell as soon as the foot came up, sooner than a lapse lasts
			}
			return lifted, pushed && lifted > i
		}
		switch {
		case t.Clutch[j] != gearstate.Locked:
			other = math.NaN()
		case math.IsNaN(other):
			other = t.T[j]
		case t.T[j]-other > math.Max(Passing, passingValues*t.Model.Period):
			if !pushed || lifted >= 0 {
				return 0, false
			}
			stood = true
		}
		switch {
		case lifted >= 0:
			if t.T[j]-t.T[down] > afterLift {
				return lifted, pushed
			}
		case t.Load[j] >= FootDown:
			down = j
		case t.T[j]-t.T[down] > allowed:
			// he lifted as the engine ran away: a gear change that was thought better of
			if t.T[down]-t.T[i-1] < allowed && !pushed {
				return 0, false
			}
			lifted = down + 1
		}
	}
	if lifted < 0 { // the foot is still down where the log ends
		return t.Len(), pushed
	}
	return lifted, pushed && lifted > i
}

// pushedOn tells whether the car was still pushed while the engine ran away from the clutch in gear before
// sample i, for at least 0.4 s.
func pushedOn(t *gearstate.Track, i, gear int) bool {
	start := i
	for start > 0 && int(t.Gear[start-1]) == gear && t.Clutch[start-1] == gearstate.Slipping {
		start--
	}
	if start == i || t.T[i-1]-t.T[start] < pushTime {
		return false
	}
	mean := func(lo, hi float64) float64 {
		sum, n := 0.0, 0.0
		for k := max(0, start-60); k < i; k++ {
			if t.T[k] >= lo && t.T[k] < hi && (t.T[k] >= t.T[start] || int(t.Gear[k]) == gear) {
				sum, n = sum+gearstate.PhiFromAcceleration(t.Accel[k], t.SpeedKmh[k]), n+1
			}
		}
		return sum / n
	}
	return mean(t.T[start]+0.2, t.T[i]) > pushShare*mean(t.T[start]-1.2, t.T[start])
}

// relabel writes the samples of a lapse as slipping in its gear.
func relabel(t *gearstate.Track, l lapse) {
	m := &t.Model
	k := m.Gears[m.Index(l.gear)].K
	for i := l.lo; i < l.hi; i++ {
		phi := m.Force.Phi(t.Load[i], k, gearstate.PhiFromAcceleration(t.Accel[i], t.SpeedKmh[i]))
		t.Gear[i], t.Clutch[i] = int8(l.gear), gearstate.Slipping
		t.Excess[i] = t.RPM[i]/k - t.SpeedKmh[i]*(1+m.Creep*phi)
	}
}
