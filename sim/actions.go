package sim

// Idle stands in neutral with the foot off everything for dur s.
func Idle(dur float64) Action {
	return Action{Kind: "idle", do: func(d *run) {
		d.stop()
		d.hold(dur)
	}}
}

// Cold sets oil and coolant to a temperature in C without taking time: the start of a cold drive.
func Cold(c float64) Action {
	return Action{Kind: "cold", do: func(d *run) { d.oil, d.coolant = c, c }}
}

// Warmup runs the engine at a raised speed in neutral for some minutes.
func Warmup(minutes float64) Action {
	return Action{Kind: "warmup", do: func(d *run) {
		d.stop()
		d.until(minutes*60, never, func() { d.foot = max(0, min(0.3, 0.04+(2000-d.rpm())*0.0002)) })
		d.foot = 0
		d.hold(2)
	}}
}

func never() bool { return false }

// RevStyle varies a free rev.
type RevStyle struct {
	Opening      float64 // 0-1 of the accelerator; 0 means fully open
	SoftLanding  bool    // catches the engine above idle with a little throttle
	Reblip       bool    // steps on it again half-way down
	NotShut      float64 // accelerator left this far open on the way down
	FootOnClutch bool    // clutch pedal held down: disc and input shaft stand apart
	Rolling      bool    // does not stop the car: a free rev in neutral while it rolls
	AtLimiter    float64 // s against the limiter before lifting
}

// FreeRev revs the standing engine to peakRPM with the foot off the clutch, and lets it fall to idle.
func FreeRev(peakRPM float64) Action { return FreeRevWith(peakRPM, RevStyle{}) }

// FreeRevWith is FreeRev in some style.
func FreeRevWith(peakRPM float64, s RevStyle) Action {
	return Action{Kind: "free_rev", do: func(d *run) {
		if s.Rolling {
			d.neutral()
		} else {
			d.stop()
		}
		if s.FootOnClutch {
			d.clutchDown()
		}
		d.hold(0.8 + 0.4*d.rng.Float64())
		d.revTo(peakRPM, s)
		if s.Reblip {
			d.until(6, func() bool { return d.rpm() < 0.6*peakRPM }, nil)
			d.revTo(0.85*peakRPM, s)
		}
		d.fall(s)
		d.hold(1.2 + 0.6*d.rng.Float64())
		if s.FootOnClutch {
			d.clutchUp(0.4, nil)
		}
	}}
}

// revTo opens the accelerator until the speed is near and lifts.
func (d *run) revTo(peak float64, s RevStyle) {
	d.foot = s.Opening
	if s.Opening <= 0 {
		d.foot = 1
	}
	// He lifts early: the engine runs on while the air empties.
	last, atLimit := d.rpm(), 0
	d.until(8, func() bool {
		climb := (d.rpm() - last) / tick
		last = d.rpm()
		if d.motor.limiting {
			atLimit++
		}
		return d.rpm()+climb*(d.car.Engine.ThrottleTau+0.08) > peak || atLimit > 15
	}, nil)
	d.hold(s.AtLimiter)
	d.foot = s.NotShut
}

// fall lets the engine fall to near idle.
func (d *run) fall(s RevStyle) {
	idle := d.motor.idle / radPerRPM
	if s.SoftLanding {
		d.until(12, func() bool { return d.rpm() < idle+700 }, nil)
		d.foot = 0.06
		d.hold(1)
		d.foot = 0
	}
	d.until(12, func() bool { return d.rpm() < 1.12*idle }, nil)
	d.foot = 0
}

// Stop brings the car to rest in neutral.
func Stop() Action { return Action{Kind: "stop", do: func(d *run) { d.stop() }} }

// TurnRound stops and drives the same road the other way from here on.
func TurnRound() Action {
	return Action{Kind: "turn", do: func(d *run) {
		d.stop()
		d.hold(2)
		d.dir = -d.dir
	}}
}

// LaunchStyle is a way of moving off.
type LaunchStyle int

// The ways of moving off.
const (
	NormalLaunch LaunchStyle = iota
	GentleLaunch
	HardLaunch // high engine speed, quick foot
	LongLaunch // the clutch is ridden for several seconds
	SpinLaunch // the pedal is dropped with the engine high and the accelerator down: wheels spin
)

// Launch moves off from rest in first gear.
func Launch(s LaunchStyle) Action {
	return Action{Kind: "launch", Gear: 1, do: func(d *run) { d.launch(s) }}
}

// Accelerate reaches kmh through the gears with an ordinary foot.
func Accelerate(kmh float64) Action {
	return Action{Kind: "accelerate", do: func(d *run) { d.reach(kmh, d.jitter(0.4, 0.2)) }}
}

// Cruise holds kmh for dur s, reaching it first.
func Cruise(kmh, dur float64) Action {
	return Action{Kind: "cruise", do: func(d *run) { d.cruise(kmh, dur) }}
}

// Shift changes gear while driving.
func Shift(gear int, s ShiftStyle) Action {
	return Action{Kind: "shift", Gear: gear, do: func(d *run) { d.shift(gear, s) }}
}

// PullStyle varies a pull.
type PullStyle struct {
	Opening float64 // 0-1 of the accelerator; 0 means fully open
	Stab    bool    // dabs at the clutch pedal in the middle
	Dip     float64 // s for which the clutch pedal is held half down in the middle
	UpTo    int     // goes on through the gears up to this one, each to the same engine speed; 0 stays in gear
	Shifts  ShiftStyle
}

// Pull accelerates in one gear with a fully open throttle from one engine speed to another.
func Pull(gear int, fromRPM, toRPM float64) Action {
	return PullWith(gear, fromRPM, toRPM, PullStyle{})
}

// PullWith is Pull in some style.
func PullWith(gear int, fromRPM, toRPM float64, s PullStyle) Action {
	return Action{Kind: "pull", Gear: gear, do: func(d *run) { d.pullUp(gear, fromRPM, toRPM, s) }}
}

// Coast rolls in neutral, foot off the clutch, from one speed to another.
func Coast(fromKmh, toKmh float64) Action {
	return Action{Kind: "coast", do: func(d *run) {
		d.reach(fromKmh+4, 0.5)
		d.neutral()
		d.until(240, func() bool { return d.kmh() < toKmh }, nil)
	}}
}

// Overrun falls in gear with the accelerator released.
func Overrun(gear int, fromRPM, toRPM float64) Action { return BrakedOverrun(gear, fromRPM, toRPM, 0) }

// BrakedOverrun is one with a foot on the brake from the lift to the end, which slows the car by so much more, m/s^2.
func BrakedOverrun(gear int, fromRPM, toRPM, slowing float64) Action {
	return Action{Kind: "overrun", Gear: gear, do: func(d *run) {
		d.inGearAt(gear, fromRPM+250)
		d.foot, d.brake = 0, d.mass*slowing
		defer func() { d.brake = 0 }()
		d.until(60, func() bool { return d.rpm() < max(toRPM, 0.95*d.motor.idle/radPerRPM) }, nil)
	}}
}
