package detect

import (
	"math"
	"slices"
	"sync"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
	"flywitness/internal/parts"
	"flywitness/vehicle"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat/distuv"
)

// What tyres and clutch held tells what they may slip at, and what they cannot.

const (
	heldFrom  = 12.0 // km/h; below, steps of road speed are too large
	heldShare = 0.01 // of road speed that a tyre creeps by while it holds
)

// capacity is the largest wheel force over weight and gearing, the clutch's torque but for a factor, that was held
// with the clutch locked.
func (r *Record) capacity() float64 {
	r.measureHeld()
	return r.carried
}

// held is the most wheel force over weight that a locked clutch held in a run, and that all wheels took from the
// car under the brakes.
type held struct{ clutch, brakes float64 }

// brakesHold is the share of the force of all brakes from which the tyres of the driven axle may begin to creep.
const brakesHold = bendsFrom * brakesShow

// grip is the most that the tyres of the driven axle showed that they hold without a slip, and the force that was read
// for it.
func (h held) grip() (least, read float64) {
	if x := brakesHold * h.brakes; x > h.clutch {
		return x, h.brakes
	}
	return h.clutch, h.clutch
}

// measureHeld finds what was held, once.
func (r *Record) measureHeld() {
	if r.held != nil {
		return
	}
	t := r.Track
	r.held, r.carried = make([]held, len(r.Runs)), 1e-6
	var beside sync.WaitGroup
	beside.Go(func() { r.ahead = r.findAhead() })
	parts.Each(len(r.Runs), runsTogether, func(lo, hi int) {
		var memory []float64
		for q := lo; q < hi; q++ {
			r.held[q], memory = r.heldIn(&r.Runs[q], memory)
		}
	})
	beside.Wait()
	for q, run := range r.Runs {
		r.carried = math.Max(r.carried, r.held[q].clutch/t.Model.Gears[run.Index].K)
	}
}

// runsTogether is how many runs are looked at by one goroutine, in the same memory.
const runsTogether = 64

// heldIn finds what was held in a run. It returns the memory it used.
func (r *Record) heldIn(run *motion.Run, memory []float64) (held, []float64) {
	t := r.Track
	fast := func(i int) bool { return t.SpeedKmh[i] > heldFrom }
	force := r.forces(run.Lo, run.Hi, memory)
	h := held{clutch: r.mostHeld(force, run.Lo, func(i int) bool {
		return fast(i) && r.onItsLine(i)
	})}
	floats.Scale(-1, force)
	h.brakes = r.mostHeld(force, run.Lo, fast)
	return h, force
}

// onItsLine tells whether the clutch was locked at sample i, and the engine no further off than creep and a step of
// road speed make it.
func (r *Record) onItsLine(i int) bool {
	t := r.Track
	return t.Clutch[i] == gearstate.Locked && math.Abs(t.Excess[i]) < 1+heldShare*t.SpeedKmh[i]
}

// holdTime is how long (s) a force must be held to count as held.
const holdTime = 0.8

// forces are the wheel forces over weight of samples [lo, hi), in some memory as far as that goes.
func (r *Record) forces(lo, hi int, memory []float64) []float64 {
	out := slices.Grow(memory[:0], hi-lo)[:hi-lo]
	for i := range out {
		out[i] = r.Phi(lo + i)
	}
	return out
}

// mostHeld is the most of the forces from a sample on that was held for holdTime over those samples that count:
// the greatest of the least values over windows of that length.
func (r *Record) mostHeld(force []float64, lo int, counts func(i int) bool) (most float64) {
	t := r.Track.T[lo:]
	first := 0
	for i, x := range force {
		if x < most || !counts(lo+i) { // no window with this value in it holds more
			first = i + 1
			continue
		}
		for first < i && t[i]-t[first+1] >= holdTime {
			first++
		}
		if t[i]-t[first] >= holdTime {
			most = slices.Min(force[first : i+1])
		}
	}
	return most
}

const (
	// of the torque that a clutch carried, at which it may slip another time: hot, or after another engagement
	weaker   = 0.6
	weakerSD = 0.2 // of its logarithm
	alikeSD  = 0.1 // of the logarithm of what a clutch carries that is as hot as before. Common practice, no source
	clearZ   = 8.0 // standard deviations by which a slip stands out that fades
)

// carriedMore: the clutch carried so much more at another time of this drive that it cannot be weak. A clutch that
// fades slips by far: a slip that is hardly seen is one of a clutch at its usual best, but for the slope of the road
// on which its torque is read.
func carriedMore(r *Record, c *Departure) float64 {
	at := c.onsetForce(r)
	usual, sd := weaker, weakerSD
	if c.seen.z < clearZ {
		usual, sd = 1, math.Hypot(alikeSD, vehicle.UsualSlopeSD/at)
	}
	torque := at / r.Track.Model.Gears[c.run.Index].K
	return sure + math.Log(distuv.UnitNormal.CDF(math.Log(torque/(usual*r.capacity()))/sd)+1e-9)
}
