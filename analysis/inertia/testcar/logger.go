package testcar

import (
	"math"
	"math/rand/v2"

	"flywitness/drive"
)

// Link is a logger. Rate is in requests per second over all of Poll, asked in turn.
type Link struct {
	Rate       float64
	Jitter     float64 // s, sd of a time stamp
	Interval   float64 // relative sd of the polling interval
	Late       float64 // share of time stamps that are late by several Jitter
	Poll       []string
	SpeedLag   float64 // s
	SpeedScale float64 // displayed over true; 0: 1
	SpeedStep  float64 // km/h; 0: 1
	Floor      bool    // speed is cut off, not rounded
	RPMStep    float64 // rpm; 0: 0.25
	Filter     float64 // s, first-order filter in the control unit's engine speed
	ClosedPct  float64 // what a shut throttle reads
	Hold       float64 // s; values are refreshed only so often and repeated in between
	WholeSecs  bool
	Oil        float64 // C
}

// The link classes: one value after another over an old serial line, over a vehicle bus, and several values in
// one request.
var (
	KLine    = Link{Rate: 2.5, Jitter: 0.040, Interval: 0.12}
	CANOne   = Link{Rate: 8, Jitter: 0.020, Interval: 0.12}
	CANMulti = Link{Rate: 20, Jitter: 0.010, Interval: 0.12}
)

// Record samples a drive as the link would.
func (l Link) Record(drv []Sample, rng *rand.Rand) *drive.Log {
	poll := l.Poll
	if len(poll) == 0 {
		poll = []string{drive.EngineSpeed}
	}
	log := &drive.Log{Path: "testcar"}
	channel := map[string]*drive.Channel{}
	for _, name := range poll {
		if channel[name] == nil {
			channel[name] = &drive.Channel{Name: name}
			log.Channels = append(log.Channels, channel[name])
		}
	}
	filtered := l.filter(drv)
	turn, refreshed := 0, map[string]float64{}
	shown := map[string]float64{}
	for t := 0.05; t < drv[len(drv)-1].T; turn++ {
		name := poll[turn%len(poll)]
		v, ok := shown[name]
		if at, seen := refreshed[name]; !ok || !seen || t-at >= l.Hold {
			v = l.value(name, drv, filtered, t)
			shown[name], refreshed[name] = v, t
		}
		stamp := t + l.Jitter*rng.NormFloat64()
		if rng.Float64() < l.Late {
			stamp += 6 * l.Jitter * math.Abs(rng.NormFloat64())
		}
		if l.WholeSecs {
			stamp = math.Floor(stamp)
		}
		c := channel[name]
		c.T, c.V = append(c.T, stamp), append(c.V, v)
		t += math.Max(0.2, 1+l.Interval*rng.NormFloat64()) / l.Rate
	}
	if l.WholeSecs {
		log.StampStep = 1
	}
	return log
}

func (l Link) filter(drv []Sample) []float64 {
	out := make([]float64, len(drv))
	y := drv[0].W
	for i, s := range drv {
		if l.Filter > 0 {
			y += (s.W - y) * step / l.Filter
		} else {
			y = s.W
		}
		out[i] = y
	}
	return out
}

func (l Link) value(name string, drv []Sample, filtered []float64, t float64) float64 {
	at := func(t float64) int { return min(len(drv)-1, max(0, int((t-drv[0].T)/step))) }
	s := drv[at(t)]
	switch name {
	case drive.EngineSpeed:
		return quantise(filtered[at(t)]/RPM, or(l.RPMStep, 0.25))
	case drive.VehicleSpeed:
		v := drv[at(t-l.SpeedLag)].V * 3.6 * or(l.SpeedScale, 1)
		if q := or(l.SpeedStep, 1); l.Floor {
			return math.Floor(v/q) * q
		} else {
			return quantise(v, q)
		}
	case drive.Throttle:
		return quantise(l.ClosedPct+(100-l.ClosedPct)*s.Open, 0.4)
	case drive.Pedal:
		return quantise(l.ClosedPct+(100-l.ClosedPct)*s.Pedal, 0.4)
	case drive.OilTemp, drive.CoolantTemp:
		return l.Oil
	}
	return 0
}

func or(x, y float64) float64 {
	if x == 0 {
		return y
	}
	return x
}

func quantise(v, step float64) float64 { return math.Round(v/step) * step }
