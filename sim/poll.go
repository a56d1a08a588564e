package sim

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"

	"flywitness/drive"
)

// Reading is one channel's value in its canonical unit.
type Reading struct {
	Channel string
	Value   float64
}

// Reply is one answer of the car: the values it carries and the stamp in s that the recorder gave it.
type Reply struct {
	T         float64
	LatencyMS float64 // from request to reply
	Readings  []Reading
}

// fast returns the channels of every cycle.
func (lg Logger) fast(tr *Truth) []string {
	if lg.Fast != nil {
		return lg.Fast
	}
	return []string{drive.EngineSpeed, drive.VehicleSpeed, drive.Throttle, drive.EngineLoad}
}

// slow returns the channels that are asked for now and then.
func (lg Logger) slow(tr *Truth) []string {
	if lg.Slow != nil {
		return lg.Slow
	}
	names := []string{drive.CoolantTemp, drive.OilTemp, drive.IntakePressure}
	if tr.car.Engine.ReferenceNm > 0 {
		names = append(names, drive.ReferenceTorque)
	}
	return names
}

// Poll asks for one channel after another until the drive is over, and returns the replies in order of arrival.
func (lg Logger) Poll(tr *Truth, rng *rand.Rand) []Reply {
	fast, slow := lg.fast(tr), lg.slow(tr)
	rate := lg.RateHz
	if rate <= 0 {
		rate = lg.Link.RateHz()
	}
	gap := 1 / rate / float64(len(fast))
	if lg.Link == CANMulti {
		gap = 1 / rate
	}
	every := lg.SlowEvery
	if every <= 0 {
		every = 16
	}
	s := lg.gauge(tr, rng)
	s.stuckChance = lg.StuckPerHour / 3600 * gap
	out := make([]Reply, 0, int(tr.Duration()/gap)+8)
	t := gap * rng.Float64()
	for cycle, turn := 0, 0; t < tr.Duration(); cycle++ {
		if len(slow) > 0 && cycle%every == every-1 {
			out = append(out, lg.ask(s, t, gap, slow[turn%len(slow):turn%len(slow)+1], rng))
			turn++
			t += lg.wait(gap, rng)
		}
		if lg.Link == CANMulti {
			out = append(out, lg.ask(s, t, gap, fast, rng))
			t += lg.wait(gap, rng)
			continue
		}
		for i := range fast {
			if t >= tr.Duration() {
				break
			}
			out = append(out, lg.ask(s, t, gap, fast[i:i+1], rng))
			t += lg.wait(gap, rng)
		}
	}
	lg.burst(out, rng)
	if lg.WholeSecondStamps {
		last := 0.0
		for i := range out {
			last = max(last, out[i].T) // such a recorder stamps rows as they come
			out[i].T = math.Floor(last)
		}
	}
	return out
}

// wait is the time to the next request.
func (lg Logger) wait(gap float64, rng *rand.Rand) float64 {
	d := gap * max(0.3, 1+lg.PollSD*rng.NormFloat64())
	if lg.GapsPerHour > 0 && rng.Float64() < lg.GapsPerHour*gap/3600 {
		d += 0.5 + max(0, lg.GapMax-0.5)*rng.Float64()
	}
	return d
}

// ask samples channels at t and stamps the reply with the recorder's error.
func (lg Logger) ask(s *gauge, t, gap float64, names []string, rng *rand.Rand) Reply {
	r := Reply{T: t + s.jitter(t, rng), Readings: make([]Reading, len(names))}
	if lg.LateShare > 0 && rng.Float64() < lg.LateShare {
		r.T += lg.LateSDs * lg.Jitter * math.Abs(rng.NormFloat64())
	}
	r.T = max(0, r.T)
	r.LatencyMS = 1000 * gap * (0.6 + 0.3*rng.Float64())
	if t < s.stuckUntil {
		t = s.stuckFrom
	} else if s.stuckChance > 0 && rng.Float64() < s.stuckChance {
		s.stuckFrom, s.stuckUntil = t, t+1
	}
	for i, n := range names {
		v := s.at(n, t)
		if math.IsNaN(v) {
			v = 0
		}
		r.Readings[i] = Reading{n, v}
	}
	return r
}

// gauge reads the truth as the control unit's channels show it.
type gauge struct {
	lg         Logger
	tr         *Truth
	speed      []float64 // km/h, filtered, not yet delayed
	rpm        []float64
	lags       []float64 // s on top of the lag; nil for none
	ground     []float64
	height     []float64 // m above the sea, as the satellite receiver has it; nil where it is not asked for
	torqueGain float64

	stuckFrom, stuckUntil, stuckChance float64
	lastError, lastAsk                 float64 // s: the stamp's error that wanders, and when it was drawn
}

// gauge makes the channels of a drive; without rng what needs chance is left out.
func (lg Logger) gauge(tr *Truth, rng *rand.Rand) *gauge {
	scale := lg.SpeedScale
	if scale == 0 {
		scale = 1
	}
	src := tr.WheelKmh
	if s := tr.car.Vehicle.SpeedSource; s == "undriven" || s == "gps" {
		src = tr.GroundKmh
	}
	s := &gauge{lg: lg, tr: tr, torqueGain: lg.TorqueScale}
	if s.torqueGain == 0 {
		s.torqueGain = 1
	}
	s.speed = filtered(lg.Dial.shown(tr, src, rng), lg.SpeedFilter, tr.Step, scale)
	s.rpm = average(tr.ReportedRPM, lg.RPMAverage, tr.Step)
	if lg.LagWander > 0 && rng != nil {
		s.lags = wander(tr, lg.LagWander, lg.LagTau, rng)
	}
	s.ground = tr.GroundKmh
	if slices.Contains(lg.names(tr), drive.Altitude) {
		s.height = lg.heights(tr, rng)
	}
	return s
}

// filtered passes a signal through a first-order filter of tau s and scales it.
func filtered(x []float64, tau, step, scale float64) []float64 {
	out := make([]float64, len(x))
	keep := 0.0
	if tau > 0 {
		keep = math.Exp(-step / tau)
	}
	y := 0.0
	if len(x) > 0 {
		y = x[0] * scale
	}
	for i, v := range x {
		y = keep*y + (1-keep)*v*scale
		out[i] = y
	}
	return out
}

// between interpolates a signal at t s.
func (s *gauge) between(x []float64, t float64) float64 {
	p := t/s.tr.Step - 1 // the first sample stands at one step
	if p <= 0 {
		return x[0]
	}
	i := int(p)
	if i >= len(x)-1 {
		return x[len(x)-1]
	}
	f := p - float64(i)
	return x[i] + f*(x[i+1]-x[i])
}

// at returns what a channel shows at t s, NaN for a channel that the car does not have.
func (s *gauge) at(name string, t float64) float64 {
	tr := s.tr
	switch name {
	case drive.EngineSpeed:
		return step(s.between(s.rpm, t-s.lg.RPMLag), s.lg.RPMStep, 0.25, Floor)
	case drive.VehicleSpeed:
		kmh := s.between(s.speed, t-s.lag(t))
		if kmh < s.lg.SpeedFloor {
			return 0
		}
		return step(kmh, s.lg.SpeedStep, 1, s.lg.Rounding)
	case drive.UndrivenSpeed:
		return step(s.between(s.ground, t-s.lg.SpeedLag), 0, 0.1, Round)
	case drive.GPSSpeed:
		return step(s.between(s.ground, t-0.15), 0, 0.1, Round)
	case drive.Altitude:
		if s.height != nil {
			return step(s.between(s.height, t-s.lg.HeightLag), 0, 0.1, Round)
		}
	case drive.Throttle:
		c := s.lg.ThrottleClosed
		return step(c+(100-c)*s.between(tr.Throttle, t)/100, 0, 100.0/255, Round)
	case drive.Pedal:
		return step(s.between(tr.Pedal, t), 0, 100.0/255, Round)
	case drive.EngineLoad:
		return step(s.load(t), 0, 100.0/255, Round)
	case drive.IntakePressure:
		return step(s.between(tr.IntakeKPa, t), 0, 1, Round)
	case drive.AirFlow:
		return step(s.between(tr.AirFlowGS, t), 0, 0.01, Round)
	case drive.CoolantTemp:
		return step(s.between(tr.Coolant, t), 0, 1, Round)
	case drive.OilTemp:
		return step(s.between(tr.Oil, t), 0, 1, Round)
	case drive.EngineTorque:
		return step(100*s.torqueGain*s.between(tr.EngineTorque, t)/s.at(drive.ReferenceTorque, t), 0, 1, Round)
	case drive.ReferenceTorque:
		if tr.car.Engine.ReferenceNm > 0 {
			return tr.car.Engine.ReferenceNm
		}
	case drive.BarometricPressure:
		return 100
	case drive.AmbientTemp, drive.IntakeTemp:
		return 20
	case drive.ClutchSwitch:
		if s.between(tr.Engagement, t) < cmp.Or(s.lg.SwitchAt, 0.97) {
			return 1
		}
		return 0
	}
	return math.NaN()
}

// step puts a value on steps of size by; usual stands in for 0.
func step(x, by, usual float64, how Rounding) float64 {
	if by <= 0 {
		by = usual
	}
	if how == Floor {
		return math.Floor(x/by) * by
	}
	return math.Round(x/by) * by
}
