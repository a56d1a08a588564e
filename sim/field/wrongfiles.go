package field

import (
	"math/rand/v2"
	"slices"

	"flywitness/vehicle"
)

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
