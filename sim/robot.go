package sim

import "math"

// robotic is the state of the gearbox's own control unit.
type robotic struct {
	since    float64 // s since the last change of gear
	shifting int     // gear that is being taken, 0 for none
	clock    float64 // s that the change has lasted
	met      bool    // a dual clutch's speeds have met since the last change or start
}

// robot works the gearbox that works itself, for one tick. The driver's lever stands in neutral while the gear is 0.
func (d *run) robot() {
	a := d.car.Auto
	if a == nil || d.gear == 0 {
		return
	}
	d.since += tick
	switch {
	case a.Stepless:
		d.vary(a)
	case a.DualClutch:
		d.handOver(a)
	default:
		d.stepped(a)
	}
}

// inputRPM is the gearbox input's speed in a gear at this road speed.
func (d *run) inputRPM(gear int) float64 { return d.ks[gear] * d.tread / radPerRPM }

// schedule is the gear that suits road speed and foot, one step at a time.
func (d *run) schedule(a *Automatic) int {
	if a.HeldGear > 0 {
		return min(a.HeldGear, len(d.ks)-1)
	}
	if d.since < 0.8 {
		return d.gear
	}
	idle, limit := d.motor.idle/radPerRPM, d.motor.limit/radPerRPM
	up := min(limit-300, idle+(0.2+0.12*a.Eager+(0.6+0.1*a.Eager)*math.Pow(d.pedal, 1.3))*(limit-idle))
	down := max(1.25*idle, idle+0.42*d.pedal*d.pedal*(limit-idle))
	switch {
	case d.gear < len(d.ks)-1 && d.inputRPM(d.gear) > up && d.inputRPM(d.gear+1) > 1.2*idle:
		return d.gear + 1
	case d.gear > 1 && d.inputRPM(d.gear) < down && d.inputRPM(d.gear-1) < 0.9*up:
		return d.gear - 1
	}
	return d.gear
}

// stepped is a planetary gearbox behind a converter: its ratio glides from one gear to the next while the wheels
// keep their torque.
func (d *run) stepped(a *Automatic) {
	if d.shifting == 0 {
		if g := d.schedule(a); g != d.gear {
			d.shifting, d.clock = g, 0
		}
	}
	if d.shifting == 0 {
		d.lockUp(a, d.locks(a) && d.gear >= 3 && d.since > 0.6)
		return
	}
	d.lockUp(a, false)
	d.clock += tick
	if d.glide(d.ks[d.shifting], a.ShiftS) || d.clock > 3*a.ShiftS {
		d.gear, d.shifting, d.since = d.shifting, 0, 0
		d.free, d.freeRate = 0, 0
	}
}

// vary is a belt between two cones behind a converter: the ratio follows the engine speed that the foot asks for.
func (d *run) vary(a *Automatic) {
	idle, limit := d.motor.idle/radPerRPM, d.motor.limit/radPerRPM
	rpm := 1.25*idle + math.Pow(d.pedal, 0.8)*(0.5+0.4*a.Eager)*(limit-idle)
	low, high := d.ks[1], d.ks[len(d.ks)-1]
	k := low
	if d.tread > 1 {
		k = max(high, min(low, rpm*radPerRPM/d.tread))
	}
	d.glide(k, 1.5)
	d.lockUp(a, d.locks(a))
}

// glide moves the ratio towards k as a first-order lag of a third of dur s; it tells when it is there.
func (d *run) glide(k, dur float64) bool {
	if d.free == 0 {
		d.free = d.ks[d.gear]
	}
	step := (k - d.free) * min(1, 3*tick/dur)
	there := math.Abs(k-d.free) < 0.004*k
	if there {
		step = k - d.free
	}
	d.free += step
	d.freeRate = step / tick
	return there
}

// locks tells whether a converter's clutch may be closed.
func (d *run) locks(a *Automatic) bool {
	return a.LockFromKmh > 0 && d.kmh() > a.LockFromKmh && (a.OpensFrom == 0 || d.pedal < a.OpensFrom)
}

// lockUp closes the converter's clutch, or holds it at a small slip, or opens it.
func (d *run) lockUp(a *Automatic, on bool) {
	switch {
	case !on:
		d.engagement = max(0, d.engagement-tick/0.1)
	case a.SlipRPM > 0:
		d.press(d.controlled(a))
	default:
		d.engagement = min(1, d.engagement+tick/0.5)
	}
}

// controlled is the clutch torque in N m that keeps a small slip.
func (d *run) controlled(a *Automatic) float64 {
	carried := 0.0 // by the converter beside its clutch
	if !a.DualClutch {
		carried, _ = a.Converter.torques(d.we, d.wi)
	}
	return max(5, math.Abs(d.net-carried)+3*(math.Abs(d.we-d.wi)-a.SlipRPM*radPerRPM))
}

// press asks the clutch for a torque in N m; it moves at the speed of its hydraulics.
func (d *run) press(nm float64) {
	most := 1.0
	if !d.met {
		most = 0.99 // slip is meant until the speeds have met: the pedal that is not there is not up
	}
	want := max(0, min(most, nm/max(d.car.Clutch.Capacity, 1)))
	d.engagement += max(-tick/0.05, min(tick/0.05, want-d.engagement))
}

// handOver is a dual clutch. Going up under power the next gear's clutch takes the torque and slows the engine;
// going down the old one lets the engine run up first. The wheels never lose their torque.
func (d *run) handOver(a *Automatic) {
	if d.setsOff() {
		return
	}
	if d.shifting == 0 {
		g := d.schedule(a)
		switch {
		case g == d.gear:
		case g < d.gear && d.net > 0:
			d.shifting, d.clock = g, 0
		default:
			d.take(g)
		}
	}
	if d.shifting > 0 {
		d.clock += tick
		target := d.ks[d.shifting] * d.tread
		d.press(max(0.3*d.net, d.net-d.i1*(target-d.we)/a.ShiftS))
		if d.we >= 0.99*target || d.clock > 1.5 || d.net <= 0 {
			d.take(d.shifting)
		}
		return
	}
	slip := d.we - d.wi
	if math.Abs(slip) < max(2, 1.5*a.SlipRPM*radPerRPM) || d.gear > 1 && d.since > 3*a.ShiftS {
		d.met = true
	}
	switch {
	case !d.met:
		left := max(0.05, a.ShiftS-d.since)
		d.press(max(10, math.Abs(d.net+d.i1*slip/left)))
	case a.SlipRPM > 0:
		d.press(d.controlled(a))
	default:
		d.press(1.4*math.Abs(d.net) + 40)
	}
}

// take hands the torque to the clutch of another gear, which slides at first.
func (d *run) take(gear int) {
	d.selectGear(gear)
	d.clutch, d.engagement = Slipping, min(d.engagement, 0.99)
	d.shifting, d.since, d.met = 0, 0, false
}

// setsOff lets a dual clutch move off, creep and stand: the clutch takes what an engine speed above idle offers.
func (d *run) setsOff() bool {
	idle := d.motor.idle
	if d.gear == 1 && d.wi < 0.95*idle && d.shifting == 0 {
		d.met = false
	} else if d.met || d.gear > 1 || d.we-d.wi < 3 {
		return false
	}
	if d.pedal < 0.01 && d.brake > 0 {
		d.press(0)
		return true
	}
	peak, _ := d.car.Engine.PeakNm()
	over := max(0, d.we-1.1*idle) / (1300 * radPerRPM)
	d.press(12 + 0.8*peak*math.Pow(over, 1.5))
	return true
}
