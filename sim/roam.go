package sim

import (
	"math"
	"math/rand/v2"
)

// Habits is a driver who is not the one of TrafficOptions: how he asks, shifts, sets off, slows down.
type Habits struct {
	Town, Road, Fast float64    // shares of the legs: 15-55, 50-100, 90-130 km/h
	Opening          [2]float64 // of the accelerator when he only wants to get on
	UpAt             [2]float64 // share of the span from idle to limit at which he changes up
	MaxKmh           float64    // 0 for 150

	FloorsPerHour float64    // times he floors it
	Floor         [2]float64 // how far: 0.7 to 1 is usual
	FloorGears    [2]int     // gears in which he does; 0 for any from third
	KickDown      float64    // share of those begun by taking a lower gear with the foot down
	Through       float64    // share of those that go on through the gears
	TipIn         float64    // share of those in which he changes his mind half-way: eases and asks again
	Pulses        bool       // the foot is never still: asks and eases every one to three seconds

	Ups, Downs   []ShiftStyle // drawn for each change of gear; nil is normal
	Skip         float64      // share of changes that leave a gear out
	Launches     []LaunchStyle
	SecondStarts float64 // share of starts in second gear
	ShortFirst   float64 // share of starts after which second is taken as soon as the car rolls
	Slurs        float64 // share of starts in which the clutch slides all through first gear and second follows before it has locked
	Neutral      float64 // share of stops that he rolls to in neutral
	LeftFoot     float64 // share of legs with the brake dragged under power
	RidesClutch  float64 // share of legs on which he drives some seconds with the clutch at its bite
	RestsFoot    float64 // how far the foot that rests on the clutch pedal opens it (0-0.2)
	StopShare    float64 // share of legs that end at rest
	HoldS        [2]float64
	Brake        float64 // m/s^2; 0 for 2
}

// Roam drives for some minutes by habit. A car that shifts itself is driven with two pedals.
func Roam(rng *rand.Rand, minutes float64, h Habits) Action {
	a, b := rng.Uint64(), rng.Uint64()
	if h.MaxKmh == 0 {
		h.MaxKmh = 150
	}
	if h.Brake == 0 {
		h.Brake = 2
	}
	return Action{Kind: "roam", do: func(d *run) {
		r := roam{run: d, h: h, rng: rand.New(rand.NewPCG(a, b)), end: d.now() + minutes*60}
		for r.now() < r.end {
			r.leg()
		}
		r.foot, r.brake = 0, 0
	}}
}

type roam struct {
	*run
	h    Habits
	rng  *rand.Rand
	end  float64
	last float64 // s, when he last floored it
	away int     // ticks for which the engine has run away from the road
}

func (r *roam) within(x [2]float64) float64 { return x[0] + (x[1]-x[0])*r.rng.Float64() }

func (r *roam) chance(p float64) bool { return p > 0 && r.rng.Float64() < p }

// leg is one piece of the way: on to a speed, along, and what ends it.
func (r *roam) leg() {
	lo, hi := 15.0, 55.0
	switch p := r.rng.Float64() * (r.h.Town + r.h.Road + r.h.Fast); {
	case p > r.h.Town+r.h.Road:
		lo, hi = 90, 130
	case p > r.h.Town:
		lo, hi = 50, 100
	}
	began := r.now()
	target := min(r.h.MaxKmh, r.within([2]float64{lo, hi}))
	r.getOn(target, r.within(r.h.Opening))
	if r.chance(r.h.RidesClutch) {
		r.ride()
	}
	r.along(target, r.within(r.h.HoldS))
	if r.chance(r.h.LeftFoot) {
		r.drag()
	}
	if r.chance(1 - math.Exp(-r.h.FloorsPerHour*(r.now()-r.last)/3600)) {
		r.last = r.now()
		r.floorIt()
	}
	switch {
	case r.chance(r.h.StopShare):
		r.slow(0, r.chance(r.h.Neutral))
		r.hold(1 + 8*r.rng.Float64())
	case r.chance(0.5):
		r.slow(r.kmh()*(0.4+0.4*r.rng.Float64()), r.chance(r.h.Neutral/2))
	}
	if r.now()-began < 1 {
		r.hold(1)
	}
}

func (r *roam) selfShifting() bool { return r.car.Auto != nil }

// ready gets the car going in a gear.
func (r *roam) ready() {
	r.brake = 0
	switch {
	case r.selfShifting():
		if r.gear == 0 {
			r.engagement = 0
			r.selectGear(1)
		}
	case r.v < 1:
		if r.gear != 0 {
			r.neutral()
		}
		if r.chance(r.h.Slurs) {
			r.slur()
			return
		}
		gear := 1
		if r.chance(r.h.SecondStarts) {
			gear = 2
		}
		r.launchIn(gear, pick(r.rng, r.h.Launches))
		if gear == 1 && r.chance(r.h.ShortFirst) {
			r.foot = 0.4
			r.until(2, func() bool { return r.kmh() > 9 }, nil)
			r.change(1)
		}
	case r.gear == 0:
		r.shift(r.top(r.kmh(), 2*r.idleRPM()), NormalShift)
	}
}

func pick[T any](rng *rand.Rand, of []T) (one T) {
	if len(of) == 0 {
		return one
	}
	return of[rng.IntN(len(of))]
}

func (r *roam) idleRPM() float64 { return r.motor.idle / radPerRPM }

// slur sets off with the clutch at its bite until the car is quick enough for second: first gear is never seen locked.
func (r *roam) slur() {
	most := 0.7 * r.motor.limit / radPerRPM
	rpm := min(most, 2000+(most-2000)*r.rng.Float64()*r.rng.Float64()*1.3)
	until := 0.95 * rpm * radPerRPM / r.ks[1] * 3.6
	r.clutchDown()
	r.selectGear(1)
	r.brake = 0
	for left := int(7 / tick); left > 0 && r.kmh() < until && r.clutch != Stuck; left-- {
		r.engagement = min(0.55, r.engagement+tick/4)
		if r.we < 1.2*r.motor.idle {
			r.engagement = max(0.1, r.engagement-tick)
		}
		r.foot = max(0.15, min(0.8, 0.45+(rpm-r.rpm())*0.0007))
		r.step()
	}
	r.change(1)
}

// getOn accelerates to a speed with an opening of the accelerator, shifting by ear: the engine's speed, whatever
// the clutch does.
func (r *roam) getOn(kmh, opening float64) {
	if r.kmh() > kmh+3 {
		r.slow(kmh, false)
		return
	}
	r.ready()
	idle, limit := r.idleRPM(), r.motor.limit/radPerRPM
	upAt := idle + (limit-idle)*min(0.94, r.within(r.h.UpAt)*(0.7+0.6*opening))
	since := 0.0
	for left := int(90 / tick); left > 0 && r.kmh() < kmh; left-- {
		r.foot = r.asked(opening)
		r.rest()
		since += tick
		if !r.selfShifting() && since > 0.9 {
			switch {
			case r.rpm() > upAt && r.gear < len(r.ks)-1:
				r.change(1)
				since = 0
			case (r.gear > 2 || r.gear == 2 && r.kmh() < 10) && r.rpm() < 1.25*idle:
				r.change(-1)
				since = 0
			}
		}
		r.step()
	}
}

// rest lets the left foot rest on the clutch pedal.
func (r *roam) rest() {
	if r.h.RestsFoot > 0 && !r.selfShifting() && r.engagement > 1-r.h.RestsFoot {
		r.engagement = 1 - r.h.RestsFoot*(0.6+0.4*math.Sin(r.now()/7))
	}
}

// asked is the accelerator for an opening, as the foot does it.
func (r *roam) asked(opening float64) float64 {
	if r.h.Pulses {
		t := r.now()
		opening *= 0.75 + 0.25*math.Sin(2*math.Pi*(t/2.1+0.3*math.Sin(t/3.7)))
	}
	if r.selfShifting() {
		return min(1, opening)
	}
	if r.ranAway(0.8) {
		opening = min(opening, 0.12) // nobody goes on with an engine that only howls
	}
	return r.notStall(opening)
}

// ranAway tells whether the engine has turned a fifth faster than the road for dur s with the foot off the clutch;
// it is over when they have met.
func (r *roam) ranAway(dur float64) bool {
	switch {
	case r.gear > 0 && r.engagement > 0.7 && r.we > 1.2*r.wi && r.v > 4:
		r.away++
	case r.we < 1.03*r.wi || r.gear == 0 || r.engagement < 0.5:
		r.away = 0
	}
	return float64(r.away)*tick > dur
}

// change takes the next gear up (1) or down (-1), or leaves one out.
func (r *roam) change(by int) {
	style := pick(r.rng, r.h.Ups)
	if by < 0 {
		style = pick(r.rng, r.h.Downs)
	}
	to := r.gear + by
	if skip := to + by; r.chance(r.h.Skip) && skip > 1 && skip < len(r.ks) && r.inputRPM(skip) > 1.3*r.idleRPM() && r.inputRPM(skip) < 0.8*r.motor.limit/radPerRPM {
		to = skip
	}
	r.shift(max(1, min(to, len(r.ks)-1)), style)
}

// along holds a speed.
func (r *roam) along(kmh, dur float64) {
	sum, wander := 0.15, 0.0
	for left := int(dur / tick); left > 0; left-- {
		wander += (r.rng.NormFloat64()*3 - wander) * tick / 4
		miss := kmh + wander - r.kmh()
		sum = max(0, min(0.8, sum+miss*0.012*tick))
		foot := max(0, min(0.9, sum+0.05*miss))
		if foot < 0.02 {
			foot = 0
		}
		r.foot = foot
		if foot > 0 && r.h.Pulses {
			r.foot = r.asked(1.5 * foot)
		}
		r.brake = 0
		if miss < -6 {
			r.brake = r.mass * 0.6
		}
		r.rest()
		if left%150 == 0 && !r.selfShifting() {
			r.suit()
		}
		r.step()
	}
	r.brake = 0
}

// suit takes the gear that suits cruising.
func (r *roam) suit() {
	want := r.top(r.kmh(), 1.85*r.idleRPM())
	switch {
	case r.v < 1 || r.gear == 0:
		r.ready()
	case want > r.gear:
		r.change(1)
	case r.rpm() < 1.25*r.idleRPM() && (r.gear > 2 || r.gear == 2 && r.kmh() < 10):
		r.change(-1)
	}
}

// drag keeps the left foot on the brake with the right one down, as through a bend.
func (r *roam) drag() {
	r.brake = r.mass * (0.5 + r.rng.Float64())
	for left := int((1 + 2*r.rng.Float64()) / tick); left > 0 && r.kmh() > 20; left-- {
		r.foot = 0.5
		r.step()
	}
	r.brake = 0
}

// ride drives some seconds with the clutch at its bite.
func (r *roam) ride() {
	if r.selfShifting() || r.gear == 0 || r.gear > 2 {
		return
	}
	for left := int((2 + 5*r.rng.Float64()) / tick); left > 0; left-- {
		r.engagement = max(0.12, r.engagement-tick/0.3)
		r.foot = 0.25
		r.step()
	}
	r.clutchUp(0.6, nil)
}

// slow brakes to a speed, rolling in neutral or down through the gears.
func (r *roam) slow(kmh float64, neutral bool) {
	r.foot = 0
	if neutral && !r.selfShifting() {
		r.neutral()
	}
	idle := r.idleRPM()
	for left := int(120 / tick); left > 0 && r.kmh() > kmh; left-- {
		r.trail = r.mass * r.h.Brake * max(0.25, min(1, (r.kmh()-kmh)*0.08))
		if r.selfShifting() {
			r.trail += r.mass * 0.8 // against the converter, which pushes on
		}
		r.brake = r.trail
		if !r.selfShifting() && r.gear > 0 {
			switch {
			case r.gear > 2 && r.rpm() < 1.45*idle: // hardly anybody goes down into first on the move
				r.change(-1)
				r.foot = 0
			case r.rpm() < 1.1*idle:
				r.neutral()
			}
		}
		r.step()
	}
	r.trail, r.brake = 0, 0
	if kmh <= 0 && !r.selfShifting() {
		r.stop()
	} else if kmh <= 0 {
		r.until(20, func() bool { return r.v <= 0 }, func() { r.foot, r.brake = 0, r.mass*r.h.Brake })
		r.brake = r.mass * 2
	}
}

// floorIt asks for what there is.
func (r *roam) floorIt() {
	opening := r.within(r.h.Floor)
	lo, hi := r.h.FloorGears[0], r.h.FloorGears[1]
	top := len(r.ks) - 1
	if lo == 0 {
		lo, hi = min(3, top), top
	}
	gear := lo + r.rng.IntN(max(1, min(hi, top)-lo+1))
	idle, limit := r.idleRPM(), r.motor.limit/radPerRPM
	if r.selfShifting() {
		r.getOn(35+50*r.rng.Float64(), 0.4)
		r.foot = opening
		r.until(4+9*r.rng.Float64(), func() bool { return r.kmh() > r.h.MaxKmh }, func() { r.foot = opening })
		r.foot = 0
		r.hold(0.8)
		return
	}
	from := idle + (0.15+0.2*r.rng.Float64())*(limit-idle)
	style := NormalShift
	if r.chance(r.h.KickDown) {
		r.inGearAt(min(gear+1, top), from)
		style = pick(r.rng, []ShiftStyle{RevMatched, QuickShift, FullThrottle, NormalShift})
		r.foot = opening
		r.shift(max(1, min(gear, r.gear-1)), style)
	} else {
		r.inGearAt(gear, from)
	}
	r.push(opening, limit*(0.75+0.18*r.rng.Float64()))
	for n := 0; r.chance(r.h.Through) && r.gear > 0 && r.gear < top && n < 3; n++ {
		r.change(1)
		r.push(opening, limit*(0.75+0.18*r.rng.Float64()))
	}
	r.foot = 0
	r.hold(0.3 + r.rng.Float64())
}

// push keeps the accelerator down until the road speed of an engine speed is there, the limiter has bounced, or it
// takes too long.
func (r *roam) push(opening, rpm float64) {
	bounced := 0
	eases := math.Inf(1)
	if r.chance(r.h.TipIn) {
		eases = r.now() + 1.5 + 2*r.rng.Float64()
	}
	rpm = min(rpm, r.ks[max(1, r.gear)]*r.h.MaxKmh/3.6/radPerRPM)
	r.until(8+7*r.rng.Float64(), func() bool {
		if r.motor.limiting {
			bounced++
		}
		return r.wi/radPerRPM > rpm || bounced > 60 || r.gave || r.ranAway(2.5)
	}, func() {
		r.foot = opening
		if r.h.Pulses {
			r.foot = r.asked(opening)
		}
		if dt := r.now() - eases; dt > 0 && dt < 0.8 {
			r.foot = 0.3 * opening
		}
		r.rest()
	})
}
