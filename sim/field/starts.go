package field

import (
	"math/rand/v2"

	"flywitness/drive"
	"flywitness/sim"
	"flywitness/vehicle"
)

// startClasses are ways of setting off.
func startClasses() []Class {
	second := func(h *sim.Habits, rng *rand.Rand) {
		h.SecondStarts, h.StopShare, h.Town = between(rng, 0.6, 1), 0.6, 0.8
		h.Launches = []sim.LaunchStyle{sim.NormalLaunch, sim.HardLaunch, sim.LongLaunch}
	}
	rare := func(h *sim.Habits, rng *rand.Rand) {
		h.StopShare, h.ShortFirst, h.Town = between(rng, 0.03, 0.1), 1, 0.15
		h.Launches = []sim.LaunchStyle{sim.LongLaunch, sim.NormalLaunch, sim.HardLaunch}
	}
	slurred := func(h *sim.Habits, rng *rand.Rand) { h.Slurs, h.StopShare, h.Town = 1, between(rng, 0.1, 0.5), 0.6 }
	rareBrisk := func(h *sim.Habits, rng *rand.Rand) {
		h.StopShare, h.ShortFirst, h.Slurs, h.Opening, h.UpAt = between(rng, 0.02, 0.08), 0, 0, [2]float64{0.5, 1}, [2]float64{0.4, 0.7}
		h.Launches = []sim.LaunchStyle{sim.HardLaunch, sim.LongLaunch, sim.NormalLaunch}
	}
	brisk := func(h *sim.Habits, rng *rand.Rand) {
		h.StopShare = 0.6
		h.Launches = []sim.LaunchStyle{sim.HardLaunch, sim.HardLaunch, sim.LongLaunch, sim.SpinLaunch}
		h.Opening = [2]float64{0.5, 1}
	}
	crawl := func(rng *rand.Rand, c sim.Car, minutes float64) []sim.Action {
		h := habits(rng, minutes)
		h.Town, h.Road, h.Fast, h.StopShare, h.HoldS, h.RidesClutch = 1, 0, 0, 0.9, [2]float64{0, 3}, 0.2
		h.MaxKmh, h.FloorsPerHour = between(rng, 15, 25), 0
		o := habits(rng, minutes)
		return []sim.Action{sim.Roam(rng, minutes/2, h), sim.Roam(rng, minutes/2, o)}
	}
	steep := func(rng *rand.Rand) sim.Road { return sim.HillyRoad(rng, between(rng, 0.05, 0.08), 150) }
	hill := func(h *sim.Habits, rng *rand.Rand) {
		h.StopShare, h.MaxKmh = 0.6, 100
		h.Launches = []sim.LaunchStyle{sim.LongLaunch, sim.HardLaunch, sim.NormalLaunch}
	}
	spins := func(c *sim.Car, rng *rand.Rand) { undriven(c, rng); c.Driver.KeepsFoot = true }
	return written(
		spec{family: "start", name: "second", describe: "sets off in second gear again and again",
			link: "can", recipe: recipe{plan: driven(second)}, files: files},
		spec{family: "start", name: "rare", describe: "few starts, first gear left at once: it is hardly ever seen locked",
			link: "can", recipe: recipe{plan: driven(rare), minutes: 10}, files: files},
		spec{family: "start", name: "rare-brisk", describe: "few starts, each brisk: first gear is seen for seconds alone, and never without load", link: "can",
			recipe: recipe{plan: driven(rareBrisk), minutes: 10}, files: files},
		spec{family: "start", name: "slurred", describe: "the clutch slides all through first gear, second follows at once", link: "can",
			recipe: recipe{plan: driven(slurred)}, files: files},
		spec{family: "start", name: "hard", describe: "many hard, long and dropped starts",
			link: "canmulti", recipe: recipe{plan: driven(brisk)}, files: files},
		spec{family: "start", name: "wheelspin", describe: "wheels spin while setting off on a wet road; speed from wheels that do not",
			link:   "can",
			recipe: recipe{plan: driven(brisk), road: wet, car: altered(spins)}, files: files},
		spec{family: "start", name: "crawl", describe: "stop and go, the clutch ridden, then a drive",
			link: "can", recipe: recipe{plan: crawl}},
		spec{family: "start", name: "hill", describe: "starts on hills of 5-15 %",
			link: "can", recipe: recipe{plan: driven(hill), road: steep}},
	)
}

// roadClasses are roads, winds and loads.
func roadClasses() []Class {
	steps := func(rng *rand.Rand) sim.Road {
		r := anyRoad(rng)
		r.Spacing = 10
		for i, g := 0, 0.0; i < len(r.Grades); i++ {
			if chance(rng, 0.06) {
				g = 0.05 * rng.NormFloat64()
			}
			r.Grades[i] = g
		}
		return r
	}
	gusts := func(rng *rand.Rand) sim.Road {
		r := anyRoad(rng)
		r.Wind, r.GustSD = 8*rng.NormFloat64(), between(rng, 3, 7)
		return r
	}
	bends := func(rng *rand.Rand) sim.Road {
		r := anyRoad(rng)
		r.Spacing = 20
		r.Bends = make([]float64, len(r.Grades))
		for i, k := 0, 0.0; i < len(r.Bends); i++ {
			if chance(rng, 0.2) {
				k = 0
				if chance(rng, 0.6) {
					k = sign(rng) / between(rng, 12, 150)
				}
			}
			r.Bends[i] = k
		}
		return r
	}
	oneWheel := changed(func(lg *sim.Logger, rng *rand.Rand) { lg.Dial.HalfTrack = 0.75 * sign(rng) })
	trailer := func(c *sim.Car, rng *rand.Rand) {
		v := *c.Vehicle
		load := *v.RoadLoad
		v.Mass *= between(rng, 1.3, 1.8)
		load.F0, load.F2 = load.F0*between(rng, 1.3, 1.8), load.F2*between(rng, 1.4, 2)
		v.RoadLoad = &load
		c.Vehicle = &v
	}
	// The owner writes down the car without its trailer.
	alone := func(c *Case, o *outing, _ kind, _ *rand.Rand) {
		if c.Vehicle != nil {
			c.Vehicle = edited(c.Vehicle, func(v *vehicle.Vehicle) { v.Mass, v.MassSD = v.Mass/1.5, v.MassSD/1.5 })
		}
	}
	rough := changed(func(lg *sim.Logger, rng *rand.Rand) {
		lg.Dial.NoiseKmh, lg.Dial.NoiseTau = between(rng, 0.2, 0.8), between(rng, 0.1, 0.8)
	})
	slides := func(c *sim.Car, rng *rand.Rand) {
		undriven(c, rng)
		c.Driver.KeepsFoot = true
		for i := range c.Engine.FullLoad {
			c.Engine.FullLoad[i].Nm *= 1.4
		}
		c.Clutch.Capacity *= 1.4
		c.Tyre.Brush, c.Tyre.Transfer = true, between(rng, -0.2, 0.2)
	}
	slippery := func(rng *rand.Rand) sim.Road { r := anyRoad(rng); r.Mu = between(rng, 0.25, 0.5); return r }
	cut := func(c *sim.Car, rng *rand.Rand) { slides(c, rng); c.TractionControl = true }
	loose := func(c *sim.Car, rng *rand.Rand) { undriven(c, rng); c.Tyre.Creep = between(rng, 0.1, 0.25) }
	gravel := func(rng *rand.Rand) sim.Road { r := anyRoad(rng); r.Mu = between(rng, 0.5, 0.65); return r }
	blind := changed(func(lg *sim.Logger, _ *rand.Rand) {
		lg.Fast, lg.Slow = []string{drive.EngineSpeed, drive.VehicleSpeed}, []string{drive.CoolantTemp}
	})
	low := driven(func(h *sim.Habits, rng *rand.Rand) { h.FloorGears, h.FloorsPerHour, h.Through = [2]int{2, 3}, 50, 0.5 })
	drag := func(c *sim.Car, rng *rand.Rand) {
		c.CubicDrag, c.ColdDrag = between(rng, 0, 0.012), between(rng, 0, 0.6)
	}
	cold := changed(func(lg *sim.Logger, rng *rand.Rand) { lg.Dial.Cold = between(rng, 0.003, 0.012) })
	return written(
		spec{family: "road", name: "steps", describe: "a road whose slope steps",
			link: "can", recipe: recipe{road: steps}},
		spec{family: "road", name: "gusts", describe: "a gusty wind", link: "can", recipe: recipe{road: gusts}},
		spec{family: "road", name: "rough", describe: "potholes: coloured noise on the speed",
			link: "canmulti", record: rough},
		spec{family: "road", name: "bends", describe: "bends and roundabouts, speed from one wheel",
			link: "canmulti", recipe: recipe{road: bends}, record: oneWheel, files: files},
		spec{family: "road", name: "trailer", describe: "a trailer that the file does not know",
			link: "can", recipe: recipe{car: altered(trailer)}, record: then(nil, alone)},
		spec{family: "road", name: "drag", describe: "drag that is not quadratic, cold tyres and bearings",
			link: "can", recipe: recipe{car: altered(drag)}, record: cold},
		spec{family: "road", name: "spin", describe: "wheels spin in second and third on a slippery road; speed from wheels that do not",
			link:   "can",
			recipe: recipe{road: slippery, car: altered(slides), plan: low}, files: files},
		spec{family: "road", name: "gravel", describe: "a loose road on which tyres creep by per cents, no load recorded",
			link: "can", recipe: recipe{road: gravel, car: altered(loose)}, record: blind, files: files},
		spec{family: "road", name: "traction-control", describe: "the same with the engine's torque cut",
			link: "canmulti", recipe: recipe{road: slippery, car: altered(cut), plan: low}},
	)
}
