package field

import (
	"math/rand/v2"

	"flywitness/drive"
	"flywitness/sim"
)

// dialClasses are speeds that are not in proportion to the truth, all lawful.
func dialClasses() []Class {
	offset := func(lg *sim.Logger, rng *rand.Rand) { lg.Dial.Offset = between(rng, 1.5, 4) }
	growth := func(lg *sim.Logger, rng *rand.Rand) { lg.Dial.Growth = between(rng, 0.015, 0.05) }
	both := func(lg *sim.Logger, rng *rand.Rand) { offset(lg, rng); growth(lg, rng) }
	return written(
		spec{family: "dial", name: "offset", describe: "speed 1.5-4 km/h too high",
			link: "can", record: changed(offset), files: files},
		spec{family: "dial", name: "growth", describe: "speed too high in proportion to itself, 1.5-5 % at 100 km/h",
			link: "can", record: changed(growth)},
		spec{family: "dial", name: "both", describe: "offset and growth", link: "canmulti", record: changed(both)},
	)
}

// delayClasses are delays that do not stay.
func delayClasses() []Class {
	wanders := func(lg *sim.Logger, rng *rand.Rand) {
		lg.LagWander, lg.LagTau = between(rng, 0.1, 0.3), between(rng, 5, 120)
	}
	large := func(lg *sim.Logger, rng *rand.Rand) {
		lg.SpeedLag, lg.SpeedFilter = between(rng, 0.7, 1.2), between(rng, 0.1, 0.6)
	}
	late := func(lg *sim.Logger, rng *rand.Rand) {
		lg.RPMLag, lg.RPMAverage = between(rng, 0.2, 0.7), between(rng, 0, 0.5)
	}
	bursts := func(lg *sim.Logger, rng *rand.Rand) {
		lg.BurstShare, lg.BurstS = between(rng, 0.1, 0.5), between(rng, 0.4, 1.2)
	}
	coloured := func(lg *sim.Logger, rng *rand.Rand) {
		lg.Jitter, lg.JitterTau = between(rng, 0.05, 0.15), between(rng, 1, 20)
	}
	// Another device stamped everything but engine speed.
	twoClocks := func(c *Case, _ *outing, _ kind, rng *rand.Rand) {
		rate := 1 + between(rng, 3e-4, 5e-3)*float64(2*rng.IntN(2)-1)
		for _, l := range c.Logs {
			l.Clocks = 2
			for _, ch := range l.Channels {
				if ch.Name == drive.EngineSpeed {
					continue
				}
				for i := range ch.T {
					ch.T[i] *= rate
				}
			}
		}
	}
	return written(
		spec{family: "delay", name: "two-clocks", describe: "road speed stamped by another clock, 0.3-5 thousandths apart",
			link: "can", record: then(nil, twoClocks), files: files},
		spec{family: "delay", name: "wanders", describe: "a delay that wanders by 0.1-0.3 s over 5-120 s",
			link: "can", record: changed(wanders), files: files},
		spec{family: "delay", name: "large", describe: "a speed late by 0.8-1.8 s",
			link: "can", record: changed(large)},
		spec{family: "delay", name: "rpm-late", describe: "an engine speed late and averaged",
			link: "can", record: changed(late)},
		spec{family: "delay", name: "bursts", describe: "stamps late in bursts", link: "can", record: changed(bursts)},
		spec{family: "delay", name: "coloured", describe: "stamp errors that last",
			link: "can", record: changed(coloured)},
	)
}

// smoothClasses are recorders that make values up.
func smoothClasses() []Class {
	averaged := func(lg *sim.Logger, rng *rand.Rand) {
		lg.Dial.Average = between(rng, 0.5, 2)
		if chance(rng, 0.5) {
			lg.RPMAverage = lg.Dial.Average
		}
	}
	exponential := func(lg *sim.Logger, rng *rand.Rand) { lg.SpeedFilter = between(rng, 0.4, 1.2) }
	joined := func(how sim.Join) amendment {
		return func(c *Case, o *outing, k kind, rng *rand.Rand) {
			for i, l := range c.Logs {
				c.Logs[i] = sim.Resampled(l, []float64{2, 4, 5, 10}[rng.IntN(4)], how)
			}
		}
	}
	slower := changed(func(lg *sim.Logger, rng *rand.Rand) { lg.RateHz = between(rng, 1.2, 4) })
	return written(
		spec{family: "smooth", name: "average", describe: "speed (and engine speed half the time) averaged over 0.5-2 s",
			link: "can", record: changed(averaged), files: files},
		spec{family: "smooth", name: "exponential", describe: "speed filtered with 0.4-1.2 s",
			link: "can", record: changed(exponential)},
		spec{family: "smooth", name: "line", describe: "values on straight lines between polls, at a fixed rate",
			link: "kline", record: then(slower, joined(sim.Straight))},
		spec{family: "smooth", name: "spline", describe: "values on a spline through polls, at a fixed rate",
			link: "kline", record: then(slower, joined(sim.Spline)), files: files},
		spec{family: "smooth", name: "fitted", describe: "values on fitted curves, at a fixed rate",
			link: "kline", record: then(slower, joined(sim.Fitted)), files: files},
	)
}
