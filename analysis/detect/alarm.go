package detect

import (
	"math"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/motion"
	"flywitness/analysis/stats"
)

// The alarm's window: what the detector asks of a recorded pull, asked of the last second alone.
const (
	alarmTime    = 1.0   // s, on a quick link
	alarmSlow    = 1.6   // s, where a value comes less often than every 0.25 s
	alarmLeast   = 0.018 // of road speed: the mean excess of the window
	alarmHoldOff = 5.0   // s between two alarms
	alarmSpeed   = 40.0  // km/h: below, two per cent is less than a step of road speed
	alarmBefore  = 2.5   // s before the window in which the clutch was locked
)

// Alarm says at once, while driving, that the clutch slips under load. It is fed with the states of a gearstate.Decoder, one by one, and uses
// the past alone. Only ever a sound or a lamp: nobody reads a screen while driving.
type Alarm struct {
	m      gearstate.Model
	window float64
	past   []gearstate.State // enough of it for the window and for what came before
	gear   int               // the gear that the slip is measured against, 0 for none
	since  float64           // when that gear was engaged
	other  float64           // since when the decoder says another gear, NaN when it does not
	foot   float64           // when the engine was last under load
	quiet  float64           // no alarm before
	grip   hold              // wheel force over weight that the tyres were seen to hold so far
}

// Alert is one alarm: slip of SlipPct (of engine speed) in Gear at T s.
type Alert struct {
	T, SlipPct float64
	Gear       int
}

// NewAlarm returns an alarm for a model that was learnt before, from an earlier log or from the first minutes of this one.
func NewAlarm(m gearstate.Model) *Alarm {
	a := &Alarm{m: m, window: alarmTime, other: math.NaN(), foot: math.Inf(-1), quiet: math.Inf(-1)}
	if m.Period > 0.25 {
		a.window = alarmSlow
	}
	return a
}

// Push takes the next state and tells whether to warn now. A link slower than 0.7 s a value never warns.
func (a *Alarm) Push(s gearstate.State) (Alert, bool) {
	if a.m.Period > 0.7 || !s.Valid {
		return Alert{}, false
	}
	a.follow(&s)
	a.past = append(a.past, s)
	for len(a.past) > 1 && s.T-a.past[0].T > a.window+alarmBefore+1 {
		a.past = a.past[1:]
	}
	if a.gear == 0 || s.T < a.quiet || s.T-a.since < afterChange+a.window+0.5 {
		return Alert{}, false
	}
	slip, ok := a.slips()
	if !ok {
		return Alert{}, false
	}
	a.quiet = s.T + alarmHoldOff
	return Alert{T: s.T, SlipPct: slip, Gear: a.gear}, true
}

// follow keeps the gear: no lift, no gear change. An engine that runs away under load may pass the ratio of a lower gear; only a lift, or
// another gear that stays, ends it.
func (a *Alarm) follow(s *gearstate.State) {
	if s.Load >= motion.FootDown {
		a.foot = s.T
	}
	lifted := s.T-a.foot > math.Max(motion.Lapse, 1.2*a.m.Period)
	if s.Gear == a.gear && s.Clutch != gearstate.Open {
		a.other = math.NaN()
	} else if s.Clutch == gearstate.Locked && s.Gear != 0 {
		if math.IsNaN(a.other) {
			a.other = s.T
		}
		if lifted || a.gear == 0 || s.T-a.other > math.Max(motion.Passing, 2.2*a.m.Period) {
			a.gear, a.since, a.other = s.Gear, s.T, math.NaN()
		}
	} else if s.Clutch == gearstate.Open && (lifted || a.gear == 0) {
		a.gear = 0
	}
	s.Excess = math.NaN()
	if g := a.m.Index(a.gear); g >= 0 {
		k := a.m.Gears[g].K
		phi := a.m.Force.Phi(s.Load, k, gearstate.PhiFromAcceleration(s.A, s.V))
		s.Excess = s.N/k - s.V*(1+a.m.Creep*phi)
		stuck := s.Clutch == gearstate.Locked && s.Gear == a.gear && s.V > 12 && math.Abs(s.Excess) < 1+0.01*s.V
		a.grip.push(s.T, gearstate.PhiFromAcceleration(s.A, s.V), stuck)
		if s.Excess < -1-2*a.m.LevelSD(s.V, s.A) { // no slipping clutch lets the engine fall below the road
			a.gear = 0
		}
	}
}

// slips tests the window that ends now.
func (a *Alarm) slips() (pct float64, ok bool) {
	n := len(a.past)
	end := a.past[n-1].T
	lo := n
	var e, v, acc, top, low, phi float64
	low = math.Inf(1)
	for lo > 0 && end-a.past[lo-1].T <= a.window {
		s := &a.past[lo-1]
		if !a.gated(s) {
			return 0, false
		}
		e, v, acc, phi = e+s.Excess, v+s.V, acc+s.A, phi+gearstate.PhiFromAcceleration(s.A, s.V)
		top, low = math.Max(top, s.Excess), math.Min(low, s.Excess)
		lo--
	}
	c := float64(n - lo)
	if c < 3 || a.stuck(lo) || end-a.past[lo].T < 0.6*a.window {
		return 0, false
	}
	e, v, acc, phi = e/c, v/c, acc/c, phi/c
	last := (a.past[n-1].Excess + a.past[n-2].Excess) / 2
	switch {
	case e < threshold*a.sd(v, acc, phi, c, math.Abs(a.past[n-1].V-a.past[lo].V)), e < alarmLeast*v, low < 0.25*e, last < 0.6*top:
		return 0, false
	case a.m.MayCreep && phi > math.Max(spinFrom, 0.9*a.grip.most), a.gear == 1, !a.lockedBefore(lo, e):
		return 0, false
	}
	return 100 * e / (v + e), true
}

// stuck tells whether the control unit repeats its last values instead of measuring: of engine speed, or of road speed, which goes on where a clutch
// that slips pushes the car.
func (a *Alarm) stuck(lo int) bool {
	n := len(a.past)
	if a.past[n-1].V == a.past[lo].V {
		return true
	}
	if n < 3 || a.past[n-1].N != a.past[n-2].N {
		return false
	}
	return a.m.Period > 0.25 || a.past[n-2].N == a.past[n-3].N
}

// gated tells whether a state may be part of the window.
func (a *Alarm) gated(s *gearstate.State) bool {
	if math.IsNaN(s.Excess) || s.V < alarmSpeed {
		return false
	}
	phi := gearstate.PhiFromAcceleration(s.A, s.V)
	if math.IsNaN(s.Load) {
		return phi >= phiFrom
	}
	return s.Load >= LoadedFrom && phi >= -0.03
}

// sd is the standard deviation of the mean excess of a locked clutch over n samples.
func (a *Alarm) sd(v, acc, phi, n, moved float64) float64 {
	step := math.Max(a.m.Step, 0.1)
	eff := math.Min(n, 1+2*moved/step)
	relative, creep := 0.0025, 0.006
	if a.m.MayCreep {
		creep = math.Max(0.015, 0.3*a.m.Creep)
	}
	c := creep * phi * v
	return math.Sqrt(0.09*step*step/eff + acc*acc*(0.025*0.025+a.m.LagSD*a.m.LagSD+a.m.TimingSD*a.m.TimingSD/n) +
		relative*v*relative*v + c*c)
}

// lockedBefore tells whether the clutch was locked before the window: the lower half of what was seen then is.
func (a *Alarm) lockedBefore(lo int, level float64) bool {
	var before []float64
	for i := lo - 1; i >= 0 && a.past[lo].T-a.past[i].T <= alarmBefore; i-- {
		if math.IsNaN(a.past[i].Excess) {
			return false
		}
		before = append(before, a.past[i].Excess)
	}
	if len(before) < 3 {
		return false
	}
	stats.Nearest(before, 0.5) // sorts
	sum, half := 0.0, (len(before)+1)/2
	for _, x := range before[:half] {
		sum += x
	}
	return sum/float64(half) < math.Max(0.4*level, 0.4)
}
