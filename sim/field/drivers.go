package field

import (
	"math/rand/v2"

	"flywitness/sim"
)

// driverClasses are habits.
func driverClasses() []Class {
	h := func(change func(h *sim.Habits, rng *rand.Rand)) recipe { return recipe{plan: driven(change)} }
	flat := altered(func(c *sim.Car, rng *rand.Rand) { c.Driver.LiftsOnFlare, c.Driver.KeepsFoot = false, true })
	neverLifts := h(func(h *sim.Habits, _ *rand.Rand) {
		h.Ups = []sim.ShiftStyle{sim.FullThrottle, sim.LateLift}
		h.Through, h.TipIn, h.FloorsPerHour, h.Floor = 0.9, 0, 40, [2]float64{1, 1}
	})
	neverLifts.car = flat
	lap := recipe{plan: func(rng *rand.Rand, c sim.Car, minutes float64) []sim.Action {
		return []sim.Action{sim.Laps(rng, minutes)}
	}, minutes: 12}
	lapCar := lap
	lapCar.car = altered(func(c *sim.Car, rng *rand.Rand) {
		closeGears(0.08, 0.25, 5)(c, rng)
		c.Tyre.Brush, c.Tyre.Transfer = true, between(rng, -0.2, 0.2)
	})
	return written(
		spec{family: "driver", name: "never-lifts", describe: "full-throttle and late-lift shifts, never lifts on a flare or for wheelspin",
			link: "can", recipe: neverLifts, files: files},
		spec{family: "driver", name: "pulses", describe: "the accelerator is never still", link: "can",
			recipe: h(func(h *sim.Habits, _ *rand.Rand) { h.Pulses, h.FloorsPerHour = true, 60 })},
		spec{family: "driver", name: "kickdown", describe: "takes a lower gear with the foot down before he floors it",
			link:   "can",
			recipe: h(func(h *sim.Habits, _ *rand.Rand) { h.KickDown, h.FloorsPerHour = 1, 40 }), files: files},
		spec{family: "driver", name: "tip-in", describe: "eases and asks again in the middle of pulls",
			link: "can", recipe: h(func(h *sim.Habits, _ *rand.Rand) { h.TipIn = 1 })},
		spec{family: "driver", name: "skips", describe: "leaves gears out",
			link: "can", recipe: h(func(h *sim.Habits, _ *rand.Rand) { h.Skip = 0.8 })},
		spec{family: "driver", name: "double-clutch", describe: "double-declutches up and down",
			link: "can", recipe: h(func(h *sim.Habits, _ *rand.Rand) {
				h.Ups, h.Downs = []sim.ShiftStyle{sim.DoubleClutch}, []sim.ShiftStyle{sim.DoubleClutch}
			})},
		spec{family: "driver", name: "heel-and-toe", describe: "brakes late, matches engine speed under braking, drags the brake under power",
			link: "can",
			recipe: h(func(h *sim.Habits, _ *rand.Rand) {
				h.Downs, h.Brake, h.LeftFoot, h.Neutral = []sim.ShiftStyle{sim.RevMatched}, 6, 0.5, 0
			})},
		spec{family: "driver", name: "lazy-clutch", describe: "lets the clutch up over a second or more, under power",
			link: "can",
			recipe: h(func(h *sim.Habits, _ *rand.Rand) {
				h.Ups, h.Downs = []sim.ShiftStyle{sim.LazyShift, sim.EarlyThrottle}, []sim.ShiftStyle{sim.LazyShift}
				h.Through, h.Launches = 0.8, []sim.LaunchStyle{sim.LongLaunch}
			}), files: files},
		spec{family: "driver", name: "rolls", describe: "rolls in neutral whenever he can",
			link: "can", recipe: h(func(h *sim.Habits, _ *rand.Rand) { h.Neutral, h.StopShare = 1, 0.5 })},
		spec{family: "driver", name: "rides", describe: "drives with the clutch at its bite in town", link: "can",
			recipe: h(func(h *sim.Habits, _ *rand.Rand) { h.RidesClutch, h.Town, h.StopShare = 0.7, 0.8, 0.5 }), files: files},
		spec{family: "driver", name: "rests-foot", describe: "a foot that rests on the clutch pedal: a sound clutch still holds",
			link: "can", soundOnly: true,
			recipe: h(func(h *sim.Habits, rng *rand.Rand) { h.RestsFoot = between(rng, 0.03, 0.15) })},
		spec{family: "driver", name: "dabs", describe: "dabs at the clutch with the accelerator down in the middle of pulls",
			link: "can", soundOnly: true,
			recipe: recipe{plan: withPulls(dabs)}, files: files},
		spec{family: "driver", name: "gentle", describe: "never asks for more than a third",
			link: "can", soundOnly: true,
			recipe: h(func(h *sim.Habits, _ *rand.Rand) { h.Opening, h.FloorsPerHour = [2]float64{0.1, 0.35}, 0 })},
		spec{family: "driver", name: "laps", describe: "racing laps in a road car",
			link: "canmulti", recipe: lap, files: files},
		spec{family: "driver", name: "laps-close", describe: "racing laps with close gears",
			link: "canmulti", recipe: lapCar, files: files},
	)
}

// dabs is a pull in which the clutch pedal is dabbed at.
func dabs(*rand.Rand) sim.PullStyle { return sim.PullStyle{Stab: true} }

// withPulls is an ordinary drive with pulls of some style.
func withPulls(style func(rng *rand.Rand) sim.PullStyle) func(*rand.Rand, sim.Car, float64) []sim.Action {
	return func(rng *rand.Rand, c sim.Car, minutes float64) (plan []sim.Action) {
		limit := c.Vehicle.Engine.LimitRPM
		for range 5 {
			plan = append(plan, sim.Roam(rng, minutes/5, habits(rng, minutes)),
				sim.PullWith(3+rng.IntN(2), 0.3*limit, between(rng, 0.65, 0.85)*limit, style(rng)))
		}
		return plan
	}
}

// carClasses are engines, tyres and boxes of their own kind.
func carClasses() []Class {
	lag := func(c *sim.Car, rng *rand.Rand) { c.Engine.Boosted, c.Engine.BoostLag = 0.6, between(rng, 1, 2.2) }
	limits := func(c *sim.Car, rng *rand.Rand) {
		peak, _ := c.Engine.PeakNm()
		c.Engine.GearLimitNm = []float64{0.6 * peak, 0.75 * peak, 0.9 * peak}
	}
	soft := func(c *sim.Car, rng *rand.Rand) {
		undriven(c, rng)
		c.Tyre.Brush, c.Tyre.Creep, c.Tyre.CreepTau, c.Tyre.Transfer = true, between(rng, 0.04, 0.06), between(rng, 0.1, 0.25), -0.2
	}
	amt := driven(func(h *sim.Habits, rng *rand.Rand) {
		h.Ups, h.Downs, h.Launches = []sim.ShiftStyle{sim.LazyShift, sim.NormalShift}, []sim.ShiftStyle{sim.LazyShift}, []sim.LaunchStyle{sim.LongLaunch, sim.GentleLaunch}
		h.Skip, h.Neutral, h.RidesClutch = 0, 0, 0.1
	})
	return written(
		spec{family: "car", name: "turbo-lag", describe: "a turbo that takes one to two seconds",
			link: "can", recipe: recipe{car: altered(lag)}},
		spec{family: "car", name: "gear-limits", describe: "less torque in low gears",
			link: "can", recipe: recipe{car: altered(limits)}},
		spec{family: "car", name: "soft-tyres", describe: "tyres that creep much and not in proportion, front drive; speed from the rear",
			link: "canmulti", recipe: recipe{car: altered(soft)}, files: files},
		spec{family: "car", name: "robot-clutch", describe: "a dry clutch worked by a robot",
			link: "can", recipe: recipe{plan: amt}},
	)
}
