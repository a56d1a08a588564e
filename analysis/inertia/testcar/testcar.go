// Package testcar is a deliberately plain car for tests of the inertia methods: two states, an engine of any
// drag shape, and a logger whose faults are switched on one by one, so that a test can ask for exactly the
// fault it is about.
package testcar

import (
	"math"
	"math/rand/v2"
)

// Car is an engine, a gearbox and a body. SI units; the zero value of a field switches that feature off.
type Car struct {
	Inertia  float64                       // kg m^2, all that turns with the crankshaft
	Drag     func(w float64) float64       // N m at w rad/s, throttle shut
	Torque   func(w, open float64) float64 // N m indicated, before drag; nil: 300 N m times the opening
	Idle     float64                       // rad/s
	Limit    float64                       // rad/s, fuel cut above; 0: none
	Decay    float64                       // s, time constant with which torque leaves after a lift
	HangTime float64                       // s the throttle stays where HangOpen says after a lift
	HangOpen float64                       // opening during the hang
	Resume   float64                       // rad/s below which fuel comes back on a closed throttle
	ResumeNm float64                       // torque that comes back

	Mass, Radius, WheelMass float64 // kg, m, kg (wheel inertia over radius squared)
	Ratio                   []float64
	Efficiency              float64
	F0, F1, F2, Grade       float64
}

// Phase is what the driver does for a while. Gear 0 is neutral with the foot off the clutch. A phase ends after
// Time, or earlier when engine speed passes Until (upward for an open throttle, downward for a shut one).
type Phase struct {
	Time  float64
	Until float64 // rad/s; 0: never
	Gear  int
	Open  float64 // throttle, 0-1
	Drag  float64 // factor on the drag in this phase; 0: as before
}

// Sample is the true state at an instant.
type Sample struct{ T, W, V, Open, Pedal float64 }

const step = 0.002 // s

// Drive integrates the car through phases from rest (or speed v m/s) at idle and returns its states every 2 ms.
func (c *Car) Drive(v float64, phases []Phase) []Sample {
	long := 0.0
	for _, p := range phases {
		long += p.Time
	}
	out := make([]Sample, 0, int(long/step)+len(phases)+1)
	w, t, shut, ind := c.Idle, 0.0, math.Inf(1), 0.0
	factor, held := 1.0, 0.0
	for _, p := range phases {
		if p.Drag > 0 {
			factor = p.Drag
		}
		if p.Open > 0 {
			shut, held = math.Inf(1), p.Open
		} else if math.IsInf(shut, 1) {
			shut = t
		}
		if p.Gear > 0 && v > 0.5 {
			w = v * c.Ratio[p.Gear-1] / c.Radius
		}
		start := w
		for end := t + p.Time; t < end; t += step {
			open := p.Open
			if p.Open == 0 && t-shut < c.HangTime && held > 0 {
				open = c.HangOpen
			}
			want := c.torque(w, open)
			if open == 0 && c.Decay > 0 {
				ind *= math.Exp(-step / c.Decay)
				want = math.Max(want, ind)
			} else {
				ind = want
			}
			net := want - factor*c.Drag(w)
			if w <= c.Idle && net < 0 && p.Gear == 0 {
				net = (c.Idle - w) * c.Inertia / 0.15 // an idle controller that never lets it die
			}
			dw, dv := 0.0, 0.0
			load := c.F0 + c.F1*v + c.F2*v*v + c.Mass*9.81*c.Grade
			if v <= 0 {
				load = 0
			}
			if p.Gear == 0 {
				dw = net / c.Inertia
				if c.Mass > 0 {
					dv = -load / (c.Mass + c.WheelMass)
				}
			} else {
				k := c.Ratio[p.Gear-1] / c.Radius
				eta := c.Efficiency
				mass := c.Mass + c.WheelMass
				// Power flows to the wheels when the engine's torque beats its own inertia; else from them.
				if dv = (eta*k*net - load) / (mass + eta*k*k*c.Inertia); net-c.Inertia*k*dv < 0 {
					dv = (k*net/eta - load) / (mass + k*k*c.Inertia/eta)
				}
				dw = k * dv
			}
			out = append(out, Sample{t, w, v, open, p.Open})
			w, v = math.Max(0, w+dw*step), math.Max(0, v+dv*step)
			if p.Until > 0 && ((start < p.Until && w >= p.Until) || (start > p.Until && w <= p.Until)) {
				t += step
				break
			}
		}
	}
	return out
}

func (c *Car) torque(w, open float64) float64 {
	switch {
	case c.Limit > 0 && w > c.Limit:
		return 0
	case open == 0 && c.Resume > 0 && w < c.Resume:
		return c.ResumeNm
	case open == 0:
		return 0
	case c.Torque == nil:
		return 300 * open
	}
	return c.Torque(w, open)
}

// Jitter draws run-to-run factors of standard deviation sd about 1.
func Jitter(rng *rand.Rand, sd float64) float64 { return math.Exp(sd * rng.NormFloat64()) }

// RPM is one rpm in rad/s.
const RPM = math.Pi / 30
