package sim

// ShiftStyle is a way of changing gear.
type ShiftStyle int

// The ways of changing gear.
const (
	NormalShift   ShiftStyle = iota
	QuickShift               // a third of the time
	LateLift                 // the accelerator is still down when the clutch opens
	FullThrottle             // the accelerator stays down
	DoubleClutch             // neutral, foot off the clutch, and down again
	RevMatched               // a blip before the lower gear
	LazyShift                // the clutch comes up over a second
	EarlyThrottle            // the accelerator is down again before the clutch is up
)

// neutral takes the gear out, on the move or standing, and the foot off the clutch.
func (d *run) neutral() {
	d.foot = 0
	if d.gear != 0 {
		d.clutchDown()
		d.selectGear(0)
	}
	if d.engagement < 1 {
		d.clutchUp(0.3, nil)
	}
}

// stop brakes to rest: in gear first, clutch down before the engine would stall, then neutral. The brake stays on.
func (d *run) stop() {
	d.foot = 0
	for d.v > 0 {
		d.brake = d.mass * 2.2
		if d.gear > 0 && d.rpm() < 1.25*d.motor.idle/radPerRPM && d.engagement > 0 {
			d.clutchDown()
		}
		d.step()
	}
	d.neutral()
}

// launch moves off in first gear.
func (d *run) launch(s LaunchStyle) { d.launchIn(1, s) }

// launchIn moves off in a gear: engine speed up, clutch through its bite while the foot feeds it.
func (d *run) launchIn(gear int, s LaunchStyle) {
	if d.v > 1 {
		return
	}
	rpm, dur, foot := 1500.0, 1.4, 0.35
	switch s {
	case GentleLaunch:
		rpm, dur, foot = 1200, 2.0, 0.2
	case HardLaunch:
		rpm, dur, foot = 3800, 0.6, 0.9
	case LongLaunch:
		rpm, dur, foot = 1900, 4.5, 0.3
	case SpinLaunch:
		rpm, dur, foot = 4500, 0.2, 1
	}
	rpm = min(rpm, 0.85*d.motor.limit/radPerRPM)
	rpm, dur = d.jitter(rpm, 0.08), d.jitter(dur, 0.15)
	d.clutchDown()
	d.brake = d.mass * 2
	d.selectGear(gear)
	d.until(1.2, func() bool { return d.rpm() > rpm }, func() { d.foot = max(0.03, min(foot, (rpm-d.rpm())*0.001+0.1)) })
	d.brake = 0
	d.bite(dur, s == HardLaunch || s == SpinLaunch, func() { d.foot = max(0.08, min(foot+0.4, 1, foot+(rpm-d.rpm())*0.0008)) })
	d.until(6, func() bool { return d.clutch == Stuck && d.kmh() > 6 }, func() { d.foot = d.notStall(foot) })
}

// bite lets the clutch up in dur s from rest; unless dumped, the foot waits while the engine labours.
func (d *run) bite(dur float64, dump bool, control func()) {
	low := 1.25 * d.motor.idle
	began := d.now()
	for p := 0.0; d.engagement < 1; {
		switch {
		case d.now() > began+15:
			p = min(1, p+tick/dur) // whatever comes of it
		case !dump && p > 0.2 && d.we < 0.8*d.motor.idle:
			p = max(0.2, p-2*tick/dur) // about to stall: dips the clutch
		case dump || d.we > low || d.clutch == Stuck || p < 0.2:
			p = min(1, p+tick/dur)
		}
		d.engagement = p * p * (3 - 2*p)
		control()
		d.step()
	}
}

// notStall is the accelerator that the driver gives who meant to give foot, with the engine near its idle speed: more.
func (d *run) notStall(foot float64) float64 {
	return min(1, foot+max(0, 1.2-d.we/d.motor.idle))
}

// shift changes gear while driving.
func (d *run) shift(gear int, s ShiftStyle) {
	if gear == d.gear || gear >= len(d.ks) || gear < 1 {
		return
	}
	if d.v < 1 {
		d.launch(NormalLaunch)
		return
	}
	for gear > 1 && d.ks[gear]*d.tread < 0.85*d.motor.idle {
		gear-- // nobody takes a gear that would stall the engine
	}
	d.brake = d.trail
	down := d.gear > gear && d.gear != 0
	foot := d.foot
	wait, stroke, up := d.jitter(0.12, 0.2), d.jitter(0.3, 0.2), d.jitter(d.car.Driver.ClutchFoot, 0.2)
	switch s {
	case QuickShift:
		wait, stroke, up = wait/2, stroke/2.5, up/2.5
	case LazyShift:
		up = d.jitter(1.2, 0.2)
	case FullThrottle, LateLift:
		wait, stroke, up = 0, stroke/2.5, up/2
	}
	if s != FullThrottle && s != LateLift {
		d.foot = 0
		d.hold(wait)
	}
	d.clutchDown()
	if s != FullThrottle {
		d.foot = 0
	}
	d.selectGear(0)
	d.hold(stroke / 2)
	if s == DoubleClutch {
		d.between(gear)
	}
	d.hold(stroke / 2)
	d.selectGear(gear)
	if s == RevMatched || s == DoubleClutch && down {
		d.blip(d.wi / radPerRPM)
	}
	d.clutchUp(up, func() { d.foot = d.feed(foot, s) })
	d.foot = foot
	d.hold(0.2)
}

// feed is the accelerator while the clutch comes up.
func (d *run) feed(foot float64, s ShiftStyle) float64 {
	switch {
	case s == FullThrottle:
		return foot
	case s == EarlyThrottle:
		return foot * min(1, 0.3+2*d.engagement)
	}
	return foot * d.engagement * d.engagement
}

// between is the neutral of double-declutching: foot off the clutch, a touch of throttle on the way down.
func (d *run) between(gear int) {
	d.clutchUp(0.15, nil)
	target := d.ks[gear] * d.tread / radPerRPM
	if target > d.rpm() {
		d.blip(target)
	}
	d.hold(0.1)
	d.clutchDown()
}

// blip raises the engine to about rpm.
func (d *run) blip(rpm float64) {
	d.foot = 0.5
	d.until(1, func() bool { return d.rpm() > 0.97*rpm }, nil)
	d.foot = 0
}

// top returns the highest gear in which kmh gives at least rpm.
func (d *run) top(kmh, rpm float64) int {
	for g := len(d.ks) - 1; g > 1; g-- {
		if d.ks[g]*kmh/3.6/radPerRPM >= rpm {
			return g
		}
	}
	return 1
}

// reach accelerates or brakes to kmh through the gears with an opening of the accelerator (0-1).
func (d *run) reach(kmh, opening float64) {
	if d.kmh() > kmh+1 {
		d.slowTo(kmh)
		return
	}
	if d.v < 1 && (d.gear == 0 || d.gear == 1) {
		d.launch(d.usualLaunch(opening))
	} else if d.gear == 0 {
		d.shift(d.top(d.kmh(), 1800), NormalShift)
	}
	limit := d.car.Vehicle.Engine.LimitRPM
	idle := d.car.Vehicle.Engine.IdleRPM
	upAt := min(limit-400, idle+1100+(limit-idle-1100)*0.75*opening)
	for left := int(180 / tick); left > 0 && d.kmh() < kmh; left-- {
		d.foot = d.backOff(opening)
		switch {
		case d.rpm() > upAt && d.clutch == Stuck && d.gear < len(d.ks)-1:
			d.shift(d.gear+1, d.upStyle)
		case d.gear > 1 && d.rpm() < 1.3*idle:
			d.shift(d.gear-1, NormalShift)
		}
		d.step()
	}
	d.foot = 0
}

// backOff is what the driver asks for when he only wants to get on: less while the clutch runs away or wheels spin.
func (d *run) backOff(opening float64) float64 {
	if d.gear > 0 && d.engagement >= 1 && d.we > 1.15*d.wi || d.spinning {
		return min(opening, max(0.15, d.foot-0.5*tick))
	}
	return min(d.notStall(opening), max(d.foot, 0.1)+1.5*tick)
}

func (d *run) usualLaunch(opening float64) LaunchStyle {
	switch {
	case opening > 0.8:
		return HardLaunch
	case opening < 0.25:
		return GentleLaunch
	}
	return NormalLaunch
}

// slowTo brakes to kmh and takes a lower gear where the engine would labour.
func (d *run) slowTo(kmh float64) {
	d.foot = 0
	idle := d.car.Vehicle.Engine.IdleRPM
	for left := int(120 / tick); left > 0 && d.kmh() > kmh; left-- {
		d.brake = d.mass * max(0.3, min(1.8, (d.kmh()-kmh)*0.1))
		if d.gear > 1 && d.rpm() < 1.5*idle {
			b := d.brake
			d.shift(d.gear-1, d.downStyle)
			d.foot = 0
			d.brake = b
		}
		if d.gear == 1 && d.rpm() < 1.1*idle {
			break
		}
		d.step()
	}
	d.brake = 0
}

// cruise holds a speed in the highest gear that pulls well.
func (d *run) cruise(kmh, dur float64) {
	d.reach(kmh, d.jitter(0.4, 0.2))
	sum := 0.15
	wobble := 0.0
	for left := int(dur / tick); left > 0; left-- {
		wobble += (d.rng.NormFloat64()*0.15 - wobble*0.1) * 0.1
		miss := kmh + 10*wobble - d.kmh()
		sum = max(0, min(0.8, sum+miss*0.01*tick))
		d.foot = d.backOff(max(0, min(0.9, sum+0.05*miss)))
		if d.foot < 0.02 {
			d.foot = 0
		}
		if left%200 == 0 {
			d.pick(kmh)
		}
		d.step()
	}
}

// pick takes the gear that suits a speed.
func (d *run) pick(kmh float64) {
	idle := d.car.Vehicle.Engine.IdleRPM
	want := d.top(kmh, 1.9*idle)
	switch {
	case d.gear == 0:
		d.shift(want, NormalShift)
	case want > d.gear:
		d.shift(d.gear+1, NormalShift)
	case want < d.gear && d.rpm() < 1.6*idle || d.rpm() < 1.2*idle:
		d.shift(max(1, d.gear-1), NormalShift)
	}
}

// inGearAt gets the car into a gear at an engine speed, settled.
func (d *run) inGearAt(gear int, rpm float64) {
	kmh := rpm * radPerRPM / d.ks[gear] * 3.6
	if d.kmh() > kmh {
		d.slowTo(kmh * 0.97)
	}
	if d.kmh() < kmh*0.8 {
		d.reach(kmh*0.8, 0.5)
	}
	if d.v < 1 {
		d.launch(NormalLaunch)
	}
	if d.gear == 0 || d.gear != gear {
		d.foot = 0.3
		d.shift(gear, NormalShift)
	}
	d.until(60, func() bool { return d.wi > rpm*radPerRPM }, func() { d.foot = d.backOff(0.7) })
	d.foot = 0.2
	d.hold(0.3)
}

// pullUp is a full-load pull in one gear, or on through the gears. Each ends when the road speed of the last engine speed is reached, or the
// engine has run away from the road for a while.
func (d *run) pullUp(gear int, from, to float64, s PullStyle) {
	d.inGearAt(gear, from)
	d.foot = s.Opening
	if s.Opening <= 0 {
		d.foot = 1
	}
	d.flatOut(from, to, s.foot(d))
	for d.gear < s.UpTo && d.gear > 0 && !d.gave {
		d.shift(d.gear+1, s.Shifts)
		d.flatOut(from, to, nil)
	}
	d.foot = 0
	d.hold(0.4)
}

// flatOut keeps the foot where it is until the road speed of engine speed to is reached, or it is no use. In the middle the other foot may do
// something.
func (d *run) flatOut(from, to float64, foot func()) {
	away := 0
	d.until(45, func() bool {
		if d.we > 1.25*d.wi {
			away++
		}
		if d.motor.limiting && d.clutch == Stuck {
			away += 10
		}
		return d.wi/radPerRPM > to || d.gave || away > 250
	}, func() {
		if foot != nil && d.wi/radPerRPM > (from+to)/2 {
			foot()
			foot = nil
		}
	})
}

// foot is what the left foot does in the middle of a pull; nil: nothing.
func (s *PullStyle) foot(d *run) func() {
	switch {
	case s.Stab:
		return d.stab
	case s.Dip > 0:
		return func() { d.dip(s.Dip) }
	}
	return nil
}

// dip holds the clutch pedal half down for some time (s) with the accelerator down: the clutch carries less than the engine gives.
func (d *run) dip(lasts float64) {
	low := 0.35 + 0.2*d.rng.Float64()
	for d.engagement > low {
		d.engagement = max(low, d.engagement-tick/0.4)
		d.step()
	}
	d.hold(lasts)
	d.clutchUp(0.4, nil)
}

// stab dabs at the clutch pedal for a moment with the accelerator down.
func (d *run) stab() {
	low := 0.1 + 0.3*d.rng.Float64()
	for d.engagement > low {
		d.engagement = max(low, d.engagement-tick/0.1)
		d.step()
	}
	d.hold(0.1 + 0.2*d.rng.Float64())
	d.clutchUp(0.25, nil)
}
