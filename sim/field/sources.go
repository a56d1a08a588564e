package field

import (
	"math/rand/v2"
	"slices"
	"strings"

	"flywitness/drive"
	"flywitness/sim"
	"flywitness/vehicle"
)

// sourceClasses are speeds that are not simply one axle's.
func sourceClasses() []Class {
	mean := func(lg *sim.Logger, rng *rand.Rand) { lg.Dial.DrivenShare = between(rng, 0.3, 0.7) }
	braked := func(lg *sim.Logger, rng *rand.Rand) { lg.Dial.BrakeCreep = between(rng, 0.03, 0.15) }
	gps := func(c *sim.Car, _ *rand.Rand) { c.Vehicle.SpeedSource = vehicle.SourceGPS }
	grown := func(lg *sim.Logger, rng *rand.Rand) {
		lg.Dial.Growth, lg.Dial.Cold, lg.SpeedScale = between(rng, 0.001, 0.006), between(rng, 0, 0.006), 1+0.01*rng.NormFloat64()
	}
	receiver := func(lg *sim.Logger, rng *rand.Rand) {
		lg.Fast = []string{drive.EngineSpeed, drive.GPSSpeed, drive.Throttle, drive.EngineLoad}
		lg.RateHz = between(rng, 1, 5)
	}
	brakes := driven(func(h *sim.Habits, _ *rand.Rand) { h.Brake, h.LeftFoot = 7, 0.4 })
	return written(
		spec{family: "source", name: "mean", describe: "a mean of driven and other wheels, wet road", link: "can", recipe: recipe{road: wet}, record: changed(mean), files: files},
		spec{family: "source", name: "braked", describe: "wheels that slip under the brakes", link: "can", recipe: recipe{plan: brakes}, record: changed(braked)},
		spec{family: "source", name: "gps", describe: "speed by satellite in the speed channel, tyres that warm and grow", link: "can", recipe: recipe{car: altered(gps)}, record: changed(grown)},
		spec{family: "source", name: "receiver", describe: "a satellite receiver's speed, one to five a second", link: "kline", recipe: recipe{car: altered(gps)}, record: changed(receiver)},
	)
}

// channelClasses are recorders that show the load otherwise, or in other steps.
func channelClasses() []Class {
	only := func(names []string) func(lg *sim.Logger, rng *rand.Rand) {
		return func(lg *sim.Logger, rng *rand.Rand) { lg.Fast = names; lg.Slow = []string{drive.CoolantTemp} }
	}
	stuck := func(lg *sim.Logger, rng *rand.Rand) { lg.LoadStuck = []float64{0.4, 21, 50, 100}[rng.IntN(4)] }
	scaled := func(lg *sim.Logger, rng *rand.Rand) { lg.LoadScale = []float64{0.39, 0.6, 1.5, 2.55}[rng.IntN(4)] }
	pedal := []string{drive.EngineSpeed, drive.VehicleSpeed, drive.Pedal}
	mph := func(lg *sim.Logger, _ *rand.Rand) { lg.SpeedStep = 1.609344 }
	coarse := func(lg *sim.Logger, rng *rand.Rand) { lg.RPMStep = []float64{12.5, 25, 32, 40, 50}[rng.IntN(5)] }
	fine := func(lg *sim.Logger, _ *rand.Rand) { lg.SpeedStep = 0.01 }
	return written(
		spec{family: "channel", name: "throttle", describe: "throttle without load", link: "can", record: changed(only(onlyThrottle)), files: files},
		spec{family: "channel", name: "load", describe: "load without throttle", link: "can", record: changed(only(onlyLoad))},
		spec{family: "channel", name: "pedal", describe: "the pedal alone", link: "can", record: changed(only(pedal))},
		spec{family: "channel", name: "load-stuck", describe: "a load channel that always shows the same", link: "can", record: changed(stuck)},
		spec{family: "channel", name: "load-scaled", describe: "a load channel scaled wrong", link: "can", record: changed(scaled), files: files},
		spec{family: "channel", name: "mph", describe: "whole miles per hour", link: "can", record: changed(mph)},
		spec{family: "channel", name: "coarse-rpm", describe: "engine speed in steps of 12-50 rpm", link: "can", record: changed(coarse)},
		spec{family: "channel", name: "fine", describe: "speed in hundredths", link: "canmulti", record: changed(fine)},
	)
}

// writtenClasses are tables as recorders write them; the reader of files is part of the case.
func writtenClasses() []Class {
	table := func(change func(lg *sim.Logger, rng *rand.Rand)) func(string, kind) func(*outing, *rand.Rand) Case {
		return func(file string, k kind) func(*outing, *rand.Rand) Case {
			return func(o *outing, rng *rand.Rand) Case {
				var c Case
				c.Vehicle, c.Gearbox = told(file, o.car, rng)
				lg := k.logger(rng)
				change(&lg, rng)
				for _, tr := range o.truths {
					var b strings.Builder
					if err := lg.WriteCSV(&b, tr, rng); err != nil {
						panic(err) // a strings.Builder does not fail
					}
					c.Texts = append(c.Texts, b.String())
				}
				c.Qualified = !o.sound && k.asked.qualifies(o.truths, false)
				return c
			}
		}
	}
	held := func(*sim.Logger, *rand.Rand) {}
	seconds := func(lg *sim.Logger, _ *rand.Rand) { lg.WholeSecondStamps = true }
	// A recorder whose rows carry made-up values, written to a file.
	rows := func(c *Case, o *outing, k kind, rng *rand.Rand) {
		for _, l := range c.Logs {
			var b strings.Builder
			if err := sim.WriteRows(&b, sim.Resampled(l, []float64{1, 2, 5, 10}[rng.IntN(4)], sim.Join(rng.IntN(3)))); err != nil {
				panic(err)
			}
			c.Texts = append(c.Texts, b.String())
		}
		c.Logs = nil
	}
	pauses := func(lg *sim.Logger, rng *rand.Rand) {
		lg.GapsPerHour, lg.GapMax = between(rng, 60, 300), between(rng, 2, 20)
	}
	return written(
		spec{family: "written", name: "held", describe: "every reply a row of all values, old ones repeated", link: "can", record: table(held), files: files},
		spec{family: "written", name: "held-slow", describe: "the same on a slow link", link: "kline", record: table(held)},
		spec{family: "written", name: "seconds", describe: "whole-second stamps and repeated values", link: "kline", record: table(seconds), files: files},
		spec{family: "written", name: "seconds-old", describe: "the same of a slow old recorder", link: "old", record: table(seconds)},
		spec{family: "written", name: "made-up", describe: "rows of made-up values at a fixed rate", link: "kline", record: then(nil, rows), files: files},
		spec{family: "written", name: "pauses", describe: "pauses of up to 20 s, one or more a minute", link: "can", record: changed(pauses)},
	)
}

// fileClasses are vehicle files that are wrong.
func fileClasses() []Class {
	wrong := func(name, describe string, change func(v *vehicle.Vehicle, o *outing, rng *rand.Rand)) spec {
		return spec{family: "file", name: name, describe: describe, link: "can", files: []string{full}, record: then(nil, func(c *Case, o *outing, _ kind, rng *rand.Rand) {
			c.Vehicle = edited(c.Vehicle, func(v *vehicle.Vehicle) { change(v, o, rng) })
		})}
	}
	gear := func(v *vehicle.Vehicle, rng *rand.Rand) int { return 1 + rng.IntN(len(v.Gearbox.Ratios)-1) }
	return written(
		wrong("ratio", "one ratio mistyped", func(v *vehicle.Vehicle, _ *outing, rng *rand.Rand) {
			v.Gearbox.Ratios[gear(v, rng)] *= 1 + sign(rng)*between(rng, 0.03, 0.15)
		}),
		wrong("gear-missing", "a gear left out", func(v *vehicle.Vehicle, _ *outing, rng *rand.Rand) {
			g := gear(v, rng)
			v.Gearbox.Ratios = slices.Delete(v.Gearbox.Ratios, g, g+1)
		}),
		wrong("final", "the wrong final drive", func(v *vehicle.Vehicle, _ *outing, rng *rand.Rand) {
			v.Gearbox.FinalDrive *= 1 + sign(rng)*between(rng, 0.04, 0.15)
		}),
		wrong("tyre", "another tyre than is on the car", func(v *vehicle.Vehicle, _ *outing, rng *rand.Rand) {
			v.RollingCircumference *= 1 + sign(rng)*between(rng, 0.03, 0.07)
		}),
		wrong("other-car", "the file of another car", func(v *vehicle.Vehicle, _ *outing, rng *rand.Rand) {
			other, _ := told(full, anyCar(rng), rng)
			*v = *other
		}),
		wrong("source", "the wrong source of the speed", func(v *vehicle.Vehicle, o *outing, rng *rand.Rand) {
			v.SpeedSource = vehicle.SourceDriven
			if o.car.Vehicle.SpeedSource == vehicle.SourceDriven {
				v.SpeedSource = vehicle.SourceUndriven
			}
		}),
		wrong("mass", "a mass 20-30 % off", func(v *vehicle.Vehicle, _ *outing, rng *rand.Rand) { v.Mass *= 1 + sign(rng)*between(rng, 0.2, 0.3) }),
		wrong("rating", "the rating of a much stronger clutch", func(v *vehicle.Vehicle, o *outing, rng *rand.Rand) {
			peak, _ := o.car.Engine.PeakNm()
			v.Clutch = &vehicle.Clutch{TorqueRating: between(rng, 1.8, 3) * peak}
		}),
	)
}
