package field

import (
	"math/rand/v2"
	"slices"

	"flywitness/sim"
	"flywitness/vehicle"
)

// The kinds of vehicle file, by how much somebody knows.
const (
	full     = "full"     // papers and gear ratios
	massTyre = "masstyre" // mass and tyre
	none     = "nofile"   // nothing
	typed    = "manual"   // no file, but that the gearbox is a manual one
)

var files = []string{full, massTyre, none, typed}

// told is what the owner writes down of his car: mass by the papers, tyre by its size, ratios by the handbook, the
// speed's source when he happens to know it.
func told(kind string, c sim.Car, rng *rand.Rand) (v *vehicle.Vehicle, gearbox string) {
	t := *c.Vehicle
	mass := t.Mass * (1 + 0.03*max(-2, min(2, rng.NormFloat64())))
	around := round(t.RollingCircumference*(1+0.01*max(-2, min(2, rng.NormFloat64()))), 0.001)
	source := t.SpeedSource
	if chance(rng, 0.5) {
		source = vehicle.SourceUnknown
	}
	switch kind {
	case none:
		return nil, ""
	case typed:
		return nil, string(vehicle.Manual)
	}
	r := around / (2 * 3.141592653589793)
	v = &vehicle.Vehicle{
		Name: "told", Mass: mass, MassSD: 0.04 * mass, RollingCircumference: around, WheelInertia: 0.03 * mass * r * r / 4, DrivenWheels: 2,
		SpeedSource: source, Engine: vehicle.Engine{Throttle: "wire"}, Gearbox: vehicle.Gearbox{Type: vehicle.Manual, Efficiency: 0.95},
	}
	if kind == massTyre {
		return v, ""
	}
	v.Engine = t.Engine
	v.Gearbox.FinalDrive = t.Gearbox.FinalDrive
	for _, x := range t.Gearbox.Ratios {
		v.Gearbox.Ratios = append(v.Gearbox.Ratios, round(x, 0.01))
	}
	if chance(rng, 0.3) {
		load := *t.RoadLoad
		v.RoadLoad = &load
	}
	return v, ""
}

// edited returns a copy of a vehicle file with a change.
func edited(v *vehicle.Vehicle, change func(v *vehicle.Vehicle)) *vehicle.Vehicle {
	c := *v
	c.Gearbox.Ratios = slices.Clone(c.Gearbox.Ratios)
	change(&c)
	return &c
}
