package field

import (
	"math/rand/v2"

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
		spec{family: "source", name: "mean", describe: "a mean of driven and other wheels, wet road",
			link: "can", recipe: recipe{road: wet}, record: changed(mean), files: files},
		spec{family: "source", name: "braked", describe: "wheels that slip under the brakes",
			link: "can", recipe: recipe{plan: brakes}, record: changed(braked)},
		spec{family: "source", name: "gps", describe: "speed by satellite in the speed channel, tyres that warm and grow",
			link: "can", recipe: recipe{car: altered(gps)}, record: changed(grown)},
		spec{family: "source", name: "receiver", describe: "a satellite receiver's speed, one to five a second",
			link: "kline", recipe: recipe{car: altered(gps)}, record: changed(receiver)},
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
	withSwitch := func(lg *sim.Logger, rng *rand.Rand) {
		touchSwitch(lg, rng)
		if chance(rng, 0.3) {
			lg.SwitchAt = between(rng, 0.05, 0.4)
		}
	}
	return written(
		spec{family: "channel", name: "clutch-switch", describe: "a switch at the clutch pedal, at its rest or near the floor",
			link: "can", record: changed(withSwitch), files: files},
		spec{family: "channel", name: "half-down", describe: "the clutch pedal held half down in pulls, its switch recorded",
			link: "can", record: changed(touchSwitch), recipe: recipe{plan: withPulls(halfDown)}, soundOnly: true, files: files},
		spec{family: "channel", name: "throttle", describe: "throttle without load",
			link: "can", record: changed(only(onlyThrottle)), files: files},
		spec{family: "channel", name: "load", describe: "load without throttle",
			link: "can", record: changed(only(onlyLoad))},
		spec{family: "channel", name: "pedal", describe: "the pedal alone", link: "can", record: changed(only(pedal))},
		spec{family: "channel", name: "cruise", describe: "the pedal alone, at rest while a cruise control works",
			link: "can", record: then(changed(only(pedal)), onCruiseControl)},
		spec{family: "channel", name: "load-stuck", describe: "a load channel that always shows the same",
			link: "can", record: changed(stuck)},
		spec{family: "channel", name: "load-scaled", describe: "a load channel scaled wrong",
			link: "can", record: changed(scaled), files: files},
		spec{family: "channel", name: "mph", describe: "whole miles per hour", link: "can", record: changed(mph)},
		spec{family: "channel", name: "coarse-rpm", describe: "engine speed in steps of 12-50 rpm",
			link: "can", record: changed(coarse)},
		spec{family: "channel", name: "fine", describe: "speed in hundredths", link: "canmulti", record: changed(fine)},
	)
}

// touchSwitch records a switch that shows a clutch pedal as soon as it is touched.
func touchSwitch(lg *sim.Logger, _ *rand.Rand) {
	lg.Fast = []string{drive.EngineSpeed, drive.VehicleSpeed, drive.Throttle, drive.EngineLoad, drive.ClutchSwitch}
}

// halfDown is a pull in which the clutch pedal is held half down for seconds.
func halfDown(rng *rand.Rand) sim.PullStyle { return sim.PullStyle{Dip: between(rng, 1, 5)} }

// Stretches of a drive that a cruise control drives instead of a foot.
const (
	cruiseAbove = 45.0 // km/h, in one gear with the clutch closed,
	cruiseLong  = 8.0  // s at least,
	cruiseShare = 0.4  // in so many of the stretches that would do
)

// onCruiseControl shows the pedal at rest over a part of the stretches in which nobody touches brake, clutch or lever.
func onCruiseControl(c *Case, o *outing, _ kind, rng *rand.Rand) {
	for i, tr := range o.truths {
		pedal := c.Logs[i].Channel(drive.Pedal)
		for lo := 0; lo < len(tr.T); lo++ {
			hi := lo
			for hi < len(tr.T) && tr.GroundKmh[hi] > cruiseAbove && tr.Engagement[hi] >= 1 && tr.Gear[hi] == tr.Gear[lo] &&
				tr.BrakeN[hi] == 0 {
				hi++
			}
			if hi == lo {
				continue
			}
			if tr.T[hi-1]-tr.T[lo] >= cruiseLong && rng.Float64() < cruiseShare {
				for k, t := range pedal.T {
					if t >= tr.T[lo] && t < tr.T[hi-1] {
						pedal.V[k] = 0
					}
				}
			}
			lo = hi
		}
	}
}
