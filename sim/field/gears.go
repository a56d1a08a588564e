package field

import (
	"math/rand/v2"

	"flywitness/sim"
)

// gearClasses are gears unlike those of most cars.
func gearClasses() []Class {
	return written(
		spec{family: "gears", name: "4-8pct", describe: "gears 4-8 % apart",
			link: "canmulti", recipe: recipe{car: altered(closeGears(0.04, 0.08, 6))}, files: files},
		spec{family: "gears", name: "6-15pct", describe: "gears 6-15 % apart",
			link: "can", recipe: recipe{car: altered(closeGears(0.06, 0.15, 6))}, files: files},
		spec{family: "gears", name: "seven", describe: "seven gears 10-20 % apart",
			link: "can", recipe: recipe{car: altered(closeGears(0.1, 0.2, 7))}},
	)
}

// closeGears gives a car n gears whose steps from the top down lie between two shares; first is as low as it must
// be to set off.
func closeGears(lo, hi float64, n int) func(c *sim.Car, rng *rand.Rand) {
	return func(c *sim.Car, rng *rand.Rand) {
		g := &c.Vehicle.Gearbox
		x := g.Ratios[len(g.Ratios)-1]
		r := make([]float64, n)
		for i := n - 1; i >= 1; i-- {
			r[i] = round(x, 0.001)
			x *= 1 + between(rng, lo, hi)
		}
		r[0] = round(max(r[1]*1.2, g.Ratios[0]*between(rng, 0.7, 0.9)), 0.001)
		g.Ratios = r
	}
}
