package torquecurve

import (
	"math"
	"sort"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/drive"
	"flywitness/vehicle"
)

// foot tells from one channel of a log when the engine was at full load.
type foot struct {
	t, v []float64
	from float64 // and above is full
	load bool    // the channel tells the load itself, not the foot
}

const (
	fullShare    = 0.93 // of the way from closed to the most that the log shows
	fullAtMost   = 75.0 // %; a channel that never reaches it has not seen full load
	stale        = 1.3  // s for which a value stands
	fewestOfFoot = 20   // values of a channel that tell its scale
	leastTravel  = 20.0 // %; a channel that moves less is dead
)

// ofItsFull are the channels that stand in per cent of their own full load.
var ofItsFull = map[string]bool{drive.EngineLoad: true, drive.Pedal: true, drive.Throttle: true}

// footOf is the best channel of a log that tells full load; nil without one that was ever there.
func footOf(l *drive.Log, veh *vehicle.Vehicle) *foot {
	for _, name := range gearstate.LoadChannels(veh) {
		if !ofItsFull[name] {
			continue
		}
		t, v := gearstate.Usable(l.Channel(name), -200, 2000)
		if len(t) < fewestOfFoot || stats.MedianStep(t) > stale {
			continue
		}
		closed, top := stats.Quantile(v, 0.02), stats.Quantile(v, 0.998)
		if top < fullAtMost || top-closed < leastTravel {
			continue
		}
		return &foot{t: t, v: v, from: closed + fullShare*(top-closed), load: name == drive.EngineLoad}
	}
	return nil
}

// open tells whether the engine was at full load at a time; of no channel it always is.
func (f *foot) open(at float64) bool {
	if f == nil {
		return true
	}
	i := sort.SearchFloat64s(f.t, at)
	for _, j := range []int{i - 1, i} {
		if j < 0 || j >= len(f.t) || math.Abs(f.t[j]-at) > stale {
			continue
		}
		if f.v[j] < f.from {
			return false
		}
	}
	return i > 0 && at-f.t[i-1] <= stale || i < len(f.t) && f.t[i]-at <= stale
}

// settling is how long full load must have lasted before it counts.
func (f *foot) settling() float64 {
	if f != nil && f.load {
		return settled
	}
	return settledFoot
}
