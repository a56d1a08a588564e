package field

import (
	"math/rand/v2"

	"flywitness/sim"
)

// pairClasses are two logs in one call.
func pairClasses() []Class {
	second := func(change tuning) recorderFor {
		return func(file string, k kind) recorder {
			return func(o *outing, rng *rand.Rand) Case {
				var c Case
				c.Vehicle, c.Gearbox = told(file, o.car, rng)
				lg := k.logger(rng)
				for i, tr := range o.truths {
					if i > 0 {
						change(&lg, rng)
					}
					c.Logs = append(c.Logs, lg.Record(tr, rng))
				}
				c.Qualified = !o.sound && k.asked.qualifies(o.truths, false)
				return c
			}
		}
	}
	tyre := func(lg *sim.Logger, rng *rand.Rand) { lg.SpeedScale *= 1 + 0.03*sign(rng) }
	delay := func(lg *sim.Logger, rng *rand.Rand) { lg.SpeedLag += 0.3 }
	other := func(lg *sim.Logger, rng *rand.Rand) {
		scale := lg.SpeedScale
		*lg = honest([]sim.Link{sim.KLine, sim.CANMulti}[rng.IntN(2)], rng)
		lg.SpeedScale = scale
	}
	all := func(lg *sim.Logger, rng *rand.Rand) { other(lg, rng); tyre(lg, rng) }
	r := recipe{minutes: 10, drives: 2}
	cars := r
	cars.between = func(_ sim.Car, _ int, rng *rand.Rand) sim.Car { return anyCar(rng) }
	same := func(*sim.Logger, *rand.Rand) {}
	return written(
		spec{family: "pair", name: "tyre", describe: "two logs whose speed differs by 3 %",
			link: "can", recipe: r, record: second(tyre), files: files},
		spec{family: "pair", name: "delay", describe: "two logs whose delay differs by 0.3 s",
			link: "can", recipe: r, record: second(delay), files: files},
		spec{family: "pair", name: "link", describe: "two logs by two links",
			link: "can", recipe: r, record: second(other)},
		spec{family: "pair", name: "all", describe: "two logs by two links with two tyres",
			link: "can", recipe: r, record: second(all)},
		spec{family: "pair", name: "other-car", describe: "two logs of two cars in one call",
			link: "can", recipe: cars, record: second(same), soundOnly: true, files: files},
	)
}

func sign(rng *rand.Rand) float64 { return float64(2*rng.IntN(2) - 1) }
