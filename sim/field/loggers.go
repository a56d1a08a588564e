package field

import (
	"math/rand/v2"

	"flywitness/drive"
	"flywitness/sim"
)

// kind is a link with what may be asked of it.
type kind struct {
	name   string
	asked  ask
	logger func(rng *rand.Rand) sim.Logger
}

// links are the three links of the trade and a slow old recorder.
var links = []kind{
	{"kline", slow, func(rng *rand.Rand) sim.Logger { return honest(sim.KLine, rng) }},
	{"can", quick, func(rng *rand.Rand) sim.Logger { return honest(sim.CANSequential, rng) }},
	{"canmulti", quick, func(rng *rand.Rand) sim.Logger { return honest(sim.CANMulti, rng) }},
	{"old", slow, func(rng *rand.Rand) sim.Logger {
		lg := honest(sim.KLine, rng)
		lg.RateHz = 1 / between(rng, 0.5, 1.5)
		return lg
	}},
}

// link returns the kind of that name.
func link(name string) kind {
	for _, k := range links {
		if k.name == name {
			return k
		}
	}
	panic("field: no link " + name)
}

// honest is a recorder without tricks, with the dirt of its kind.
func honest(l sim.Link, rng *rand.Rand) sim.Logger {
	lg := sim.RandomLogger(l, rng)
	lg.RateHz = l.RateHz() * between(rng, 0.7, 1.2)
	return lg
}

// noLoad are the fast channels of a recorder that shows no load, and those of one with throttle and load.
var (
	noLoad       = []string{drive.EngineSpeed, drive.VehicleSpeed}
	onlyThrottle = []string{drive.EngineSpeed, drive.VehicleSpeed, drive.Throttle}
	onlyLoad     = []string{drive.EngineSpeed, drive.VehicleSpeed, drive.EngineLoad}
)

// bare takes the load channels from a recorder.
func bare(lg sim.Logger) sim.Logger {
	lg.Fast = noLoad
	lg.Slow = []string{drive.CoolantTemp}
	return lg
}
