package sim

import (
	"math"
	"math/rand/v2"
)

// Action is one thing that a driver does. Plans are made of them.
type Action struct {
	Kind string
	Gear int
	do   func(d *run)
}

const (
	tick     = 0.01 // s, the clock of the truth and of the driver's hands and feet
	substeps = 4
)

// run is a drive under way: the car, its driver, and the record of the truth.
type run struct {
	*plant
	tr   *Truth
	rng  *rand.Rand
	foot float64 // accelerator that the driver wants, 0-1
	ease float64 // share of it that wheelspin leaves him
	runs int     // ticks for which slip has been going on
	gave bool    // the driver has lifted because the engine ran away

	upStyle, downStyle ShiftStyle // how he changes gear of his own accord
	trail              float64    // N, brake that he keeps on through a change of gear

	robotic
}

// Drive drives a plan and returns the truth. The car starts warm, standing, idling in neutral.
func Drive(car Car, road Road, plan []Action, rng *rand.Rand) *Truth {
	d := &run{plant: newPlant(&car, &road), rng: rng, ease: 1, tr: &Truth{Step: tick, Inertia: car.Inertia, car: car}}
	d.motor.dragSession = math.Exp(car.DragSessionSD * rng.NormFloat64())
	d.tr.DragFactor = d.motor.dragSession
	for _, a := range plan {
		d.act(a)
	}
	d.tr.report()
	d.tr.findSlip()
	return d.tr
}

// act runs one action under its label.
func (d *run) act(a Action) {
	d.motor.dragRun = math.Exp(d.car.DragRunSD*d.rng.NormFloat64() + d.car.DragPerHour*d.now()/3600)
	d.motor.torqueRun = math.Exp(d.car.TorqueRunSD * d.rng.NormFloat64())
	l := Label{Kind: a.Kind, Gear: a.Gear, StartS: d.now(), DragFactor: d.motor.dragSession * d.motor.dragRun}
	a.do(d)
	l.EndS = d.now()
	if l.EndS > l.StartS {
		d.tr.Labels = append(d.tr.Labels, l)
	}
}

func (d *run) now() float64 { return float64(len(d.tr.T)) * tick }

func (d *run) rpm() float64 { return d.we / radPerRPM }

func (d *run) kmh() float64 { return d.v * 3.6 }

// jitter returns x varied by a relative standard deviation, within three of them.
func (d *run) jitter(x, sd float64) float64 {
	return x * (1 + sd*max(-3, min(3, d.rng.NormFloat64())))
}

// step is one tick: the foot moves, the car moves, the truth is written.
func (d *run) step() {
	d.moveFoot()
	d.motor.noisy(tick, d.rng)
	d.shake(tick)
	d.robot()
	for range substeps {
		d.plant.step(tick / substeps)
	}
	d.record()
}

// moveFoot brings the accelerator where the driver wants it, at the speed of a foot, and eases it when wheels spin.
func (d *run) moveFoot() {
	if d.spinning && !d.car.Driver.KeepsFoot {
		d.ease = max(0.25, d.ease-1.2*tick)
	} else {
		d.ease = min(1, d.ease+0.4*tick)
	}
	want := d.foot * d.ease
	if d.flared() {
		want = 0
	}
	up := tick / max(d.car.Driver.Throttle, 0.05)
	down := tick / 0.12
	d.pedal += max(-down, min(want-d.pedal, up))
}

// flared tells whether the driver has noticed that the engine ran away from the road, and lifts for it.
func (d *run) flared() bool {
	slip := d.gear > 0 && d.engagement > 0.99 && d.we > 1.06*d.wi && d.v > 3
	switch {
	case slip:
		d.runs++
	case d.foot < 0.05 || d.we < 1.01*d.wi:
		d.runs = 0
		d.gave = false
	}
	if d.car.Driver.LiftsOnFlare && float64(d.runs)*tick > d.car.Driver.Reaction {
		d.gave = true
	}
	return d.gave
}

// until steps until done says so or the time is up; each tick, control (may be nil) sets the controls.
// It returns false when the time ran out.
func (d *run) until(limit float64, done func() bool, control func()) bool {
	for n := int(limit/tick + 0.5); n > 0; n-- {
		if done() {
			return true
		}
		if control != nil {
			control()
		}
		d.step()
	}
	return done()
}

// hold keeps the controls for dt s.
func (d *run) hold(dt float64) {
	for n := int(dt/tick + 0.5); n > 0; n-- {
		d.step()
	}
}

// clutchDown opens the clutch in about 0.15 s.
func (d *run) clutchDown() {
	for d.engagement > 0 {
		d.engagement = max(0, d.engagement-tick/0.12)
		d.step()
	}
}

// clutchUp closes the clutch in dur s, gently at both ends, while control (may be nil) works the accelerator.
func (d *run) clutchUp(dur float64, control func()) {
	for p := 0.0; d.engagement < 1; {
		p = min(1, p+tick/max(dur, 0.05))
		d.engagement = max(d.engagement, p*p*(3-2*p))
		if control != nil {
			control()
		}
		d.step()
	}
}

// selectGear puts a gear in; the synchroniser brings the gearbox input to its speed.
func (d *run) selectGear(g int) {
	d.gear = g
	if g > 0 {
		before := d.kinetic()
		d.wi = d.ks[g] * d.tread
		d.ledger.synchro += before - d.kinetic()
	}
}

func (d *run) record() {
	tr := d.tr
	if len(tr.T) == cap(tr.T) {
		tr.reserve(max(6000, len(tr.T)))
	}
	tr.T = append(tr.T, d.now()+tick)
	tr.EngineRPM = append(tr.EngineRPM, d.rpm())
	tr.ReportedRPM = append(tr.ReportedRPM, d.turned)
	tr.GroundKmh = append(tr.GroundKmh, d.kmh())
	tr.WheelKmh = append(tr.WheelKmh, d.tread*3.6)
	tr.Gear = append(tr.Gear, int8(d.gear))
	tr.Clutch = append(tr.Clutch, d.clutch)
	tr.Engagement = append(tr.Engagement, d.engagement)
	tr.ClutchTorqueNm = append(tr.ClutchTorqueNm, d.torque)
	slip := 0.0
	if d.gear > 0 && d.clutch != Stuck && d.we > 1 {
		slip = 100 * (d.we - d.wi) / d.we
	}
	tr.SlipPct = append(tr.SlipPct, slip)
	tr.Throttle = append(tr.Throttle, 100*d.motor.air)
	tr.Pedal = append(tr.Pedal, 100*d.pedal)
	tr.BrakeN = append(tr.BrakeN, d.braking())
	full := d.motor.fullLoad(d.we) + d.motor.drag
	share := d.motor.given / full
	closed := 0.0
	if d.car.Vehicle.Engine.Fuel != "diesel" {
		closed = 11 // air still passes a shut throttle
	}
	tr.LoadPct = append(tr.LoadPct, max(closed, min(100, 100*share)))
	kpa := 28 + 72*min(1, 1.25*share)
	if d.motor.e.Boosted > 0 {
		kpa += 100 * d.motor.e.Boosted * 1.6 * d.motor.boost * share
	}
	if d.car.Vehicle.Engine.Fuel == "diesel" {
		kpa = 100 + 120*d.motor.boost*min(1, d.we/200)
	}
	tr.IntakeKPa = append(tr.IntakeKPa, kpa)
	tr.AirFlowGS = append(tr.AirFlowGS, 1.2+d.motor.given*d.we/1000*0.85)
	tr.Coolant = append(tr.Coolant, d.coolant)
	tr.Oil = append(tr.Oil, d.oil)
	tr.ClutchTemp = append(tr.ClutchTemp, d.surface)
	tr.Grade = append(tr.Grade, d.dir*d.road.grade(d.x))
	if len(d.road.Bends) > 0 {
		tr.Bend = append(tr.Bend, d.road.bend(d.x, d.v))
	}
	tr.EngineTorque = append(tr.EngineTorque, d.net)
}
