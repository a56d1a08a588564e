package sim

import (
	"math"
	"math/rand/v2"
)

// TrafficOptions shapes a mixed drive. The three shares add to one; rates are per hour.
type TrafficOptions struct {
	Town, Road, Motorway float64 // shares of the time

	PullsPerHour       float64 // full-load pulls in third and higher
	LowPullsPerHour    float64 // full-load pulls from first or second on through the gears
	StabsPerHour       float64 // full-load pulls with a dab at the clutch pedal
	CoastsPerHour      float64 // rolling in neutral
	FreeRevsPerHour    float64 // at a stop
	HardStartsPerHour  float64 // launches with a high engine speed, and clutch ridden for seconds
	FullThrottleShifts float64 // share of those whose shifts are done without lifting
	OddShifts          float64 // share of shifts that are quick, late, lazy, double-declutched or rev-matched
}

// MixedTraffic is an ordinary hour of a lively driver.
func MixedTraffic() TrafficOptions {
	return TrafficOptions{
		Town: 0.4, Road: 0.4, Motorway: 0.2, PullsPerHour: 8, LowPullsPerHour: 3, StabsPerHour: 1, CoastsPerHour: 4,
		FreeRevsPerHour: 2, HardStartsPerHour: 3, OddShifts: 0.3,
	}
}

// GentleTraffic never asks the clutch for much: a log that proves nothing.
func GentleTraffic() TrafficOptions {
	return TrafficOptions{Town: 0.6, Road: 0.3, Motorway: 0.1, CoastsPerHour: 2, OddShifts: 0.1}
}

// Traffic is a random mixed drive of some minutes. The chance is drawn from rng here, so that driving the plan again
// gives the same drive.
func Traffic(rng *rand.Rand, minutes float64, o TrafficOptions) Action {
	a, b := rng.Uint64(), rng.Uint64()
	return Action{Kind: "traffic", do: func(d *run) {
		t := traffic{run: d, o: o, rng: rand.New(rand.NewPCG(a, b)), end: d.now() + minutes*60}
		t.drive()
	}}
}

type traffic struct {
	*run
	o   TrafficOptions
	rng *rand.Rand
	end float64
}

func (t *traffic) drive() {
	kinds := []struct {
		share float64
		drive func(left float64)
		spent float64
	}{{t.o.Town, t.town, 0}, {t.o.Road, t.road, 0}, {t.o.Motorway, t.motorway, 0}}
	for t.now() < t.end {
		t.styles()
		// The kind of road that is most behind its share comes next.
		next, behind := 0, math.Inf(-1)
		for i, k := range kinds {
			if b := k.share*(kinds[0].spent+kinds[1].spent+kinds[2].spent+60) - k.spent; b > behind {
				next, behind = i, b
			}
		}
		start := t.now()
		kinds[next].drive(t.end - start)
		spent := t.now() - start
		kinds[next].spent += spent
		t.extras(spent / 3600)
	}
	t.foot = 0
	t.upStyle, t.downStyle = NormalShift, NormalShift
}

func (t *traffic) between(lo, hi float64) float64 { return lo + (hi-lo)*t.rng.Float64() }

// styles picks how the driver changes gear for a while.
func (t *traffic) styles() {
	t.upStyle, t.downStyle = NormalShift, NormalShift
	if t.rng.Float64() < t.o.OddShifts {
		t.upStyle = []ShiftStyle{QuickShift, LateLift, LazyShift, DoubleClutch, EarlyThrottle}[t.rng.IntN(5)]
	}
	if t.rng.Float64() < t.o.OddShifts {
		t.downStyle = []ShiftStyle{RevMatched, DoubleClutch, LazyShift}[t.rng.IntN(3)]
	}
}

// motorway is a stretch at one speed.
func (t *traffic) motorway(left float64) {
	t.act(Cruise(t.between(100, 128), min(left, t.between(20, 90))))
}

// town is a street: off, along, and often to a stop.
func (t *traffic) town(left float64) {
	kmh := t.between(25, 52)
	t.act(Action{Kind: "accelerate", do: func(d *run) { d.reach(kmh, t.between(0.25, 0.6)) }})
	t.act(Cruise(kmh, min(left, t.between(3, 20))))
	switch p := t.rng.Float64(); {
	case p < 0.5:
		t.act(Idle(t.between(2, 15)))
	case p < 0.8:
		slow := t.between(12, 25)
		t.act(Action{Kind: "slow", do: func(d *run) { d.slowTo(slow) }})
	}
}

// road is a country road with bends.
func (t *traffic) road(left float64) {
	kmh := t.between(60, 95)
	t.act(Action{Kind: "accelerate", do: func(d *run) { d.reach(kmh, t.between(0.35, 0.85)) }})
	t.act(Cruise(kmh, min(left, t.between(8, 45))))
	if t.rng.Float64() < 0.6 {
		slow := t.between(35, 60)
		t.act(Action{Kind: "slow", do: func(d *run) { d.slowTo(slow) }})
	}
}

// extras are the rare things, each at its rate over the time that passed.
func (t *traffic) extras(hours float64) {
	gears := len(t.ks) - 1
	limit := t.car.Vehicle.Engine.LimitRPM
	idle := t.car.Vehicle.Engine.IdleRPM
	due := func(perHour float64) bool { return t.rng.Float64() < perHour*hours }
	from := idle + 0.2*(limit-idle) + t.between(0, 500)
	high := 3 + t.rng.IntN(max(1, min(gears-2, 3)))
	if due(t.o.PullsPerHour) {
		t.act(Pull(high, from, t.reachable(high)))
	}
	if due(t.o.LowPullsPerHour) {
		low := 1 + t.rng.IntN(2)
		t.act(PullWith(low, from+300, limit-t.between(300, 800), t.through(low+1+t.rng.IntN(2))))
	}
	if due(t.o.StabsPerHour) {
		t.act(PullWith(high, from, t.reachable(high), PullStyle{Stab: true}))
	}
	if due(t.o.CoastsPerHour) {
		kmh := t.between(50, 90)
		t.act(Coast(kmh, kmh-t.between(8, 25)))
	}
	if due(t.o.FreeRevsPerHour) {
		t.act(FreeRev(t.between(0.45, 0.75) * limit))
	}
	if due(t.o.HardStartsPerHour) {
		t.act(Stop())
		t.act(Launch([]LaunchStyle{HardLaunch, LongLaunch}[t.rng.IntN(2)]))
	}
}

// through is a pull on through the gears, with a shift in one of the ways of a driver in a hurry.
func (t *traffic) through(top int) PullStyle {
	ways := []ShiftStyle{NormalShift, QuickShift, LateLift, EarlyThrottle}
	s := PullStyle{UpTo: min(top, 4), Shifts: ways[t.rng.IntN(len(ways))]}
	if t.rng.Float64() < t.o.FullThrottleShifts {
		s.Shifts = FullThrottle
	}
	return s
}

// reachable is the engine speed at which a pull in a gear ends: short of the limiter and of 165 km/h.
func (t *traffic) reachable(gear int) float64 {
	limit := t.car.Vehicle.Engine.LimitRPM
	return min(limit-t.between(400, 1200), t.ks[gear]*t.between(125, 160)/3.6/radPerRPM)
}
