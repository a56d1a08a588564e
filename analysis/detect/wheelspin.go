package detect

import (
	"math"

	"flywitness/analysis/gearstate"
)

// Driven wheels that spin look like a clutch that slips wherever road speed is not theirs. What the tyres were seen to hold tells where they may spin.

// spinning: the driven wheels slip instead of the clutch. They can be seen only where the speed is not theirs, and only when they pushed about as
// hard as the tyres were seen to hold in this drive at most. A slip in a high gear, at a force that a lower gear carried without any, is the clutch.
func spinning(r *Record, c *Departure) float64 {
	switch {
	case c.run.Gear == 1:
		return -sure
	case !r.Track.Model.MayCreep:
		return sure
	case c.run.Gear == 2:
		return -sure
	}
	return isSure(r.push(c.run, c.Start-0.7, c.Start+0.7) <= r.spinForce())
}

// spinForce is the wheel force over weight above which a driven axle may spin.
func (r *Record) spinForce() float64 { return math.Max(spinFrom, 0.9*r.grip()) }

// spinFrom is the wheel force over weight below which a driven axle does not spin even in the wet: half of the weight on it, and a grip of 0.45.
const spinFrom = 0.22

// grip is the largest wheel force over weight that was held for half a second with the clutch locked and no slip.
func (r *Record) grip() float64 {
	if r.held.most > 0 {
		return r.held.most
	}
	t := r.Track
	r.held.most = spinFrom
	for _, run := range r.Runs {
		r.held.end()
		for i := run.Lo; i < run.Hi; i++ {
			locked := t.Clutch[i] == gearstate.Locked && t.SpeedKmh[i] > 12 && math.Abs(t.Excess[i]) < 1+0.01*t.SpeedKmh[i]
			r.held.push(t.T[i], r.Phi[i], locked)
		}
	}
	return r.held.most
}

// holdTime is how long (s) a force must be held to count as held.
const holdTime = 0.5

// hold finds the most that a value was held for holdTime.
type hold struct {
	most       float64
	low, since float64 // of the present Stretch; low is 0 before it began
}

// push takes the next value; counts is false where it does not belong to a Stretch.
func (h *hold) push(t, x float64, counts bool) {
	if !counts || x < h.most {
		h.end()
		return
	}
	if h.low == 0 {
		h.low, h.since = x, t
	}
	h.low = math.Min(h.low, x)
	if t-h.since >= holdTime {
		h.most = h.low
	}
}

// end ends a Stretch.
func (h *hold) end() { h.low = 0 }
