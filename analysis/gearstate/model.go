package gearstate

import (
	"math"
	"sync/atomic"

	"flywitness/drive"
	"flywitness/internal/parts"
	"flywitness/vehicle"
)

// Model is what the decoder knows of a car and of its log before it looks at a sample: the gear ladder and how the two
// signals belong together. calibrate.Calibration makes one.
type Model struct {
	SpeedChannel string    // channel that road speed is read from
	Gears        []Gearing // first gear first; empty: nothing can be decoded

	Lag, LagSD float64 // s by which the speed channel is late behind engine speed
	Offset     float64 // km/h to add to a displayed speed: half a step that was cut off, less what a dial adds
	Growth     float64 // of a dial that grows with speed: a displayed speed s lacks Growth s^2/100 km/h
	Complete   bool    // the gears are those of a vehicle file that the log bears out: the car has no other
	Step       float64 // km/h between two displayed speeds, 0 when it is fine enough not to matter
	RPMStep    float64 // rpm, the same of engine speed
	Refresh    float64 // s between two refreshes of a speed that is polled more often, 0 when every sample is fresh
	Averaged   float64 // s over which the logger averaged what it wrote, 0 when it did not
	Drawn      float64 // s between the road speeds that others were read between, on lines; 0 where none were
	TimingSD   float64 // s, of one time stamp
	Period     float64 // s, median interval of the slower of the two channels
	Idle       float64 // rpm

	MayCreep       bool    // road speed is not known to be that of the driven wheels
	DrivenNats     float64 // by which it is likelier to be than not, from the creep that the log shows
	Creep, CreepSD float64 // tyre creep per unit of wheel force over weight; 0 where a file says driven wheels
	Doubt          Doubt   // of this log's own scale; nil when it was not learnt
	Load           LoadScale
	Force          ForceMap
}

// Live is the model of road speeds as they come: what lies between two of them is not known before the second one.
func (m Model) Live() Model {
	if m.Drawn > 0 {
		m.Period, m.Drawn = m.Drawn, 0
	}
	return m
}

// Gearing is one rung of the ladder.
type Gearing struct {
	Number int     // 1 is first
	K, SD  float64 // rpm per km/h of true (offset removed) road speed, locked, without creep; SD at V0
	V0     float64 // km/h at which it was learnt, in the mean; 0 when it was not
}

// LoadScale turns the channel that tells how hard the engine works into a fraction: 0 foot off, 1 full load.
type LoadScale struct {
	Channel      string // "" when the log has none
	Closed, Full float64
}

// Known tells whether there is a scale.
func (s LoadScale) Known() bool { return s.Channel != "" && s.Full > s.Closed }

// Fraction returns the load fraction of a raw value, within leastLoad .. mostLoad; NaN when there is no scale.
func (s LoadScale) Fraction(v float64) float64 {
	if !s.Known() {
		return math.NaN()
	}
	switch x := (v - s.Closed) / (s.Full - s.Closed); {
	case x < leastLoad:
		return leastLoad
	case x > mostLoad:
		return mostLoad
	default:
		return x
	}
}

// Beyond its learnt scale a load says no more than that it is shut or full: noise, another cold start, more
// boost than was seen.
const leastLoad, mostLoad = -0.2, 1.2

// ForceMap predicts wheel force over weight from load: (B0 + B1 load) K. Acceleration contains the grade of the
// road, load does not, so the map is the better regressor for creep. Valid false: acceleration is all there is.
type ForceMap struct {
	Valid  bool
	B0, B1 float64
}

// dragForce is wheel force over weight and gearing (per rpm per km/h) by which an engine without fuel drags its
// car: 0.03 of the weight in third gear. What slows a car by more are its brakes. Common practice, no source.
const dragForce = 0.0007

// Phi returns wheel force over weight for a load fraction in a gear, or the fallback where the map or the load
// is missing. A fallback below what an engine drags by is that of brakes, not of the tyres that push.
func (f ForceMap) Phi(load, k, fallback float64) float64 {
	if !f.Valid || math.IsNaN(load) {
		return math.Max(fallback, -dragForce*k)
	}
	return (f.B0 + f.B1*load) * k
}

// PhiFromAcceleration returns wheel force over weight on a level road from acceleration (km/h/s) and speed
// (km/h), with the road load of a common car.
func PhiFromAcceleration(a, v float64) float64 {
	return a/(3.6*vehicle.Gravity) + vehicle.CommonResistance(v/3.6)
}

// Index returns the place of a gear number in the ladder, -1 when it is not there.
func (m *Model) Index(gear int) int {
	for i, g := range m.Gears {
		if g.Number == gear {
			return i
		}
	}
	return -1
}

// excess returns by how much (km/h) engine speed n stands above the expected one in ladder place g.
func (m *Model) excess(g int, n, v, a, load float64) float64 {
	k := m.Gears[g].K
	e := n/k - v
	if m.Creep != 0 {
		e -= m.Creep * m.Force.Phi(load, k, PhiFromAcceleration(a, v)) * v
	}
	return e
}

// StepIn is the step (km/h) in which engine speed moves against road speed in a place of the ladder: that of both.
func (m *Model) StepIn(place int) float64 { return math.Hypot(m.Step, m.EngineStep(place)) }

// EngineStep is the step of engine speed as road speed in a place of the ladder, km/h.
func (m *Model) EngineStep(place int) float64 { return m.RPMStep / m.Gears[place].K }

// LevelSD returns the standard deviation (km/h) of one locked residual beside the speed step: timing times
// acceleration a (km/h/s) and a relative part.
func (m *Model) LevelSD(v, a float64) float64 {
	t := (0.03 + m.LagSD + m.TimingSD + 0.04*m.Period) * a
	return math.Sqrt(0.12*0.12 + t*t + 0.004*v*0.004*v)
}

// clean returns the samples of a channel that can be used: finite, within [lo, hi], time rising. Of two samples
// out of order the earlier in arrival goes if its stamp was late, that is if the later one still fits behind
// the sample before. The channel is not changed.
func clean(c *drive.Channel, lo, hi float64) (t, v []float64) {
	if c == nil {
		return nil, nil
	}
	t, v = make([]float64, c.Len()), make([]float64, c.Len())
	n := 0
	for i, x := range c.V {
		ti := c.T[i]
		if !(x >= lo && x <= hi) || math.IsInf(ti, 0) || math.IsNaN(ti) {
			continue
		}
		switch {
		case n == 0 || ti > t[n-1]:
			t[n], v[n] = ti, x
			n++
		case n > 1 && ti > t[n-2] && ti < t[n-1]:
			t[n-1], v[n-1] = ti, x
		}
	}
	return t[:n], v[:n]
}

// Usable returns the samples of a channel that can be used, as clean does. They may be the channel's own: whoever
// asks must not change them.
func Usable(c *drive.Channel, lo, hi float64) (t, v []float64) {
	t, v, _ = usable(c, lo, hi)
	return t, v
}

// usable is Usable; own tells whether the samples are a copy.
func usable(c *drive.Channel, lo, hi float64) (t, v []float64, own bool) {
	if c == nil {
		return nil, nil, false
	}
	var spoilt atomic.Bool
	parts.Each(len(c.V), parts.Long, func(from, to int) {
		if !usableIn(c, lo, hi, from, to) {
			spoilt.Store(true)
		}
	})
	if spoilt.Load() {
		t, v = clean(c, lo, hi)
		return t, v, true
	}
	return c.T, c.V, false
}

// usableIn tells whether all samples [from, to) can be used as they are.
func usableIn(c *drive.Channel, lo, hi float64, from, to int) bool {
	last := math.Inf(-1)
	if from > 0 {
		last = c.T[from-1]
	}
	for i := from; i < to; i++ {
		x, t := c.V[i], c.T[i]
		if !(x >= lo && x <= hi) || !(t > last) {
			return false
		}
		last = t
	}
	return !math.IsInf(last, 1) // of rising times the last alone may be
}

// Limits of what a road car's signals can be; values beyond are reading errors.
const (
	maxRPM, maxKmh = 20000, 500
)
