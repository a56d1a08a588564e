package gearstate

import (
	"math"

	"flywitness/internal/parts"
)

// A clutch cannot slip at light load: driving of that kind is a log's own control. Whatever engine speed
// departs by there, tyre, dial, delay, filter or logger made it.
const (
	controlSpeed = 20.0  // km/h; below, steps of road speed are too large
	controlLoad  = 0.35  // load fraction below which no clutch slips that can move the car
	controlPhi   = 0.035 // the same as wheel force over weight, where no load is known
	controlAfter = 1.0   // s from the start of a stretch in one gear, and a value, until the clutch has locked
	// s since the engine was last asked for more: a clutch that slipped takes that long to hold again
	controlRest = 2.0
	// s before its end, and a value, in which it may be opening, and before the engine is asked for more: that shows late
	controlUntil = 0.8
)

// Control tells which samples are driving in one gear at light load, well away from its beginning and its end.
func (t *Track) Control() []bool {
	out := make([]bool, t.Len())
	at := t.Parts()
	parts.Each(len(at), 1, func(k, _ int) { t.controlIn(out, at[k][0], at[k][1]) })
	return out
}

// Parts returns parts [lo, hi) of a track that can be worked on for themselves: no stretch in one gear lies in two.
func (t *Track) Parts() (out [][2]int) {
	gap := t.Model.Gap()
	for lo := 0; lo < t.Len(); {
		hi := min(t.Len(), lo+parts.Long)
		for hi < t.Len() && t.engaged(hi-1) && t.goesOn(hi, gap) {
			hi++
		}
		out = append(out, [2]int{lo, hi})
		lo = hi
	}
	return out
}

// goesOn tells whether sample i is in one stretch with the one before, which is in a gear.
func (t *Track) goesOn(i int, gap float64) bool {
	return t.engaged(i) && t.Gear[i] == t.Gear[i-1] && t.T[i]-t.T[i-1] <= gap
}

// controlIn fills what Control tells of samples [lo, end), which are whole stretches.
func (t *Track) controlIn(out []bool, lo, end int) {
	gap := t.Model.Gap()
	for lo < end {
		if !t.engaged(lo) {
			lo++
			continue
		}
		hi := lo + 1
		for hi < end && t.goesOn(hi, gap) {
			hi++
		}
		from, to := t.T[lo]+controlAfter+t.Model.Period, t.T[hi-1]-controlUntil-t.Model.Period
		for i := lo; i < hi; i++ {
			light := t.light(i)
			if !light {
				from = max(from, t.T[i]+controlRest)
			}
			out[i] = light && t.T[i] >= from && t.SpeedKmh[i] >= controlSpeed && !math.IsNaN(t.RPM[i])
		}
		for i := hi - 1; i >= lo; i-- {
			if !t.light(i) {
				to = min(to, t.T[i]-controlUntil-t.Model.Period)
			}
			out[i] = out[i] && t.T[i] <= to
		}
		lo = hi
	}
}

// engaged tells whether sample i has a gear with its clutch locked or slipping.
func (t *Track) engaged(i int) bool {
	return t.Gear[i] != 0 && (t.Clutch[i] == Locked || t.Clutch[i] == Slipping)
}

// light tells whether the engine is asked for little at sample i.
func (t *Track) light(i int) bool {
	if x := t.Load[i]; !math.IsNaN(x) {
		return x < controlLoad
	}
	return PhiFromAcceleration(t.Accel[i], t.SpeedKmh[i]) < controlPhi
}

// Doubt is what a log leaves open of its own scale: the covariance of relative gearing of each gear in the
// ladder's order, then of offset (km/h), growth (km/h per (km/h)^2/100) and delay (s), row by row.
type Doubt []float64

// Variance returns the variance ((km/h)^2) that the doubt leaves in the expected speed of ladder place g at v
// km/h and a km/h/s.
func (d Doubt) Variance(gears, g int, v, a float64) float64 {
	n := gears + 3
	at := [4]int{g, gears, gears + 1, gears + 2}
	x := [4]float64{v, 1, v * v / 100, a}
	sum := 0.0
	for i, p := range at {
		own, shared := d[p*n+g], (*[3]float64)(d[p*n+gears:])
		sum += x[i] * x[0] * own
		sum += x[i] * x[1] * shared[0]
		sum += x[i] * x[2] * shared[1]
		sum += x[i] * x[3] * shared[2]
	}
	return max(0, sum)
}

// Retune brings a track to a model whose scale and delay differ a little, without decoding it again.
func (t *Track) Retune(m Model) {
	before := t.Model
	delay := m.Lag - before.Lag
	t.Model = m
	parts.Each(t.Len(), parts.Long, func(lo, hi int) {
		for i := lo; i < hi; i++ {
			shown := before.shown(t.SpeedKmh[i])
			t.T[i] -= delay
			t.RPM[i] -= delay * t.RPMRate[i]
			t.SpeedKmh[i] = m.trueSpeed(shown)
			if g := t.Place(i); g >= 0 && !math.IsNaN(t.Excess[i]) {
				t.Excess[i] = m.excess(g, t.RPM[i], t.SpeedKmh[i], t.Accel[i], t.Load[i])
			}
		}
	})
	t.segments()
}

// trueSpeed is road speed (km/h) behind a displayed one.
func (m *Model) trueSpeed(shown float64) float64 {
	return shown + m.Offset + m.Growth*shown*shown/100
}

// shown is the displayed speed of a road speed.
func (m *Model) shown(v float64) float64 {
	x := v - m.Offset
	if m.Growth == 0 {
		return x
	}
	square := 1 + 4*m.Growth*x/100 // x = s + growth s^2/100, solved for s
	return 2 * x / (1 + math.Sqrt(math.Max(0, square)))
}
