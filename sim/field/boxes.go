package field

import (
	"math/rand/v2"

	"flywitness/sim"
	"flywitness/vehicle"
)

// auto draws a car with a converter in front of six or so gears, or of a belt. Its converter stalls at 1800-2600
// rpm with the engine's torque.
func auto(change func(a *sim.Automatic, c *sim.Car, rng *rand.Rand)) func(rng *rand.Rand) sim.Car {
	return altered(func(c *sim.Car, rng *rand.Rand) {
		peak, _ := c.Engine.PeakNm()
		stall := between(rng, 1800, 2600) * 3.141592653589793 / 30
		c.Auto = &sim.Automatic{
			Converter: sim.Converter{Capacity: 0.8 * peak / stall / stall, StallRatio: between(rng, 1.8, 2.3), Coupling: between(rng, 0.84, 0.9), Bend: between(rng, 0.72, 0.85)},
			ShiftS:    between(rng, 0.25, 0.6), Eager: rng.Float64(),
		}
		c.DiscInertia = 0.03
		c.Inertia += 0.03
		c.Engine.HangTime = 0
		change(c.Auto, c, rng)
	})
}

// boxClasses are gearboxes that slip by design. Their sound drives are all that can be called wrong.
func boxClasses() []Class {
	open := auto(func(a *sim.Automatic, _ *sim.Car, _ *rand.Rand) {})
	early := auto(func(a *sim.Automatic, _ *sim.Car, rng *rand.Rand) { a.LockFromKmh = between(rng, 25, 45) })
	late := auto(func(a *sim.Automatic, _ *sim.Car, rng *rand.Rand) { a.LockFromKmh = between(rng, 60, 90) })
	micro := auto(func(a *sim.Automatic, _ *sim.Car, rng *rand.Rand) {
		a.LockFromKmh, a.SlipRPM = between(rng, 25, 60), between(rng, 15, 80)
	})
	kick := auto(func(a *sim.Automatic, _ *sim.Car, rng *rand.Rand) {
		a.LockFromKmh, a.OpensFrom = between(rng, 25, 60), between(rng, 0.5, 0.85)
	})
	belt := auto(func(a *sim.Automatic, _ *sim.Car, rng *rand.Rand) {
		a.Stepless, a.LockFromKmh = true, between(rng, 12, 30)
	})
	dual := auto(func(a *sim.Automatic, c *sim.Car, rng *rand.Rand) {
		a.DualClutch, a.ShiftS = true, between(rng, 0.15, 0.5)
	})
	dualMicro := auto(func(a *sim.Automatic, c *sim.Car, rng *rand.Rand) {
		a.DualClutch, a.ShiftS, a.SlipRPM = true, between(rng, 0.2, 0.5), between(rng, 10, 50)
	})
	all := []spec{
		{name: "converter-open", describe: "a converter that never locks", recipe: recipe{car: open}},
		{name: "converter-early", describe: "a converter that locks from 25-45 km/h", recipe: recipe{car: early}},
		{name: "converter-late", describe: "a converter that locks from 60-90 km/h", recipe: recipe{car: late}},
		{name: "converter-micro", describe: "a converter whose clutch is held at a small slip",
			recipe: recipe{car: micro}},
		{name: "converter-kick", describe: "a converter that locks and is opened by a foot that goes down",
			recipe: recipe{car: kick}},
		{name: "stepless", describe: "a belt between two cones", recipe: recipe{car: belt}},
		{name: "dual", describe: "two clutches that hand over", recipe: recipe{car: dual}},
		{name: "dual-micro", describe: "two clutches that hand over, held at a small slip",
			recipe: recipe{car: dualMicro}},
	}
	// The lining of a dual clutch wears as any other.
	worn := func(c *sim.Car, rng *rand.Rand, try int) {
		peak, _ := c.Engine.PeakNm()
		c.Clutch.Capacity = peak * (between(rng, 0.75, 0.9) - 0.03*float64(try))
	}
	out := written(spec{family: "box", name: "dual-worn", describe: "two clutches of which the lining is worn", link: "can", weakOnly: true,
		recipe: recipe{car: dual, weak: worn, unlocked: true}, files: []string{none}, record: counting(nil, true, nil)})
	for i, s := range all {
		s.family, s.link, s.soundOnly = "box", []string{"can", "canmulti"}[i%2], true
		s.files = []string{none, massTyre, full}
		s.record = then(nil, func(c *Case, o *outing, _ kind, _ *rand.Rand) { c.tellBox(o) })
		out = append(out, s.out()...)
		s.name, s.files, s.record = s.name+"-noload", []string{none}, changed(func(lg *sim.Logger, _ *rand.Rand) { *lg = bare(*lg) })
		out = append(out, s.out()...)
		s.name, s.link, s.record = all[i].name+"-slow", "kline", nil
		out = append(out, s.out()...)
		s.name, s.link = all[i].name+"-old", "old"
		out = append(out, s.out()...)
	}
	return out
}

// tellBox writes the kind of gearbox into a full file, and none into one of mass and tyre alone.
func (c *Case) tellBox(o *outing) {
	if c.Vehicle == nil {
		return
	}
	c.Vehicle = edited(c.Vehicle, func(v *vehicle.Vehicle) {
		a := o.car.Auto
		switch {
		case len(v.Gearbox.Ratios) == 0:
			v.Gearbox.Type = ""
		case a.Stepless:
			v.Gearbox.Type = vehicle.CVT
		case a.DualClutch:
			v.Gearbox.Type = vehicle.DualClutch
		default:
			v.Gearbox.Type = vehicle.Automatic
		}
	})
}
