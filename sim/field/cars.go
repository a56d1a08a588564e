package field

import (
	"math"
	"math/rand/v2"

	"flywitness/sim"
	"flywitness/vehicle"
)

// anyCar draws a car of the road: small to heavy, five or six gears, petrol with and without a turbo, or diesel.
func anyCar(rng *rand.Rand) sim.Car {
	mass := between(rng, 880, 2050)
	fuel, perTonne, idle, limit := "petrol", between(rng, 105, 150), between(rng, 700, 900), between(rng, 6000, 7200)
	boosted, lag := 0.0, 0.0
	switch rng.IntN(3) {
	case 0:
		perTonne, boosted, lag = between(rng, 140, 240), 0.45, between(rng, 0.3, 0.8)
		limit = between(rng, 5800, 6800)
	case 1:
		fuel, perTonne, boosted, lag = "diesel", between(rng, 160, 240), 0.55, between(rng, 0.3, 1.0)
		limit = between(rng, 4500, 5000)
	}
	peak := perTonne * mass / 1000
	inertia := 0.05 + peak*between(rng, 0.0005, 0.0009)
	c := sim.Car{
		Vehicle: body(rng, mass, idle, limit, fuel), Inertia: inertia, DiscInertia: inertia * between(rng, 0.04, 0.08),
		Engine: sim.Engine{
			FullLoad: curve(rng, peak, idle, limit, boosted > 0), Boosted: boosted, BoostLag: lag, Torque: between(rng, 0.03, 0.08),
			D0: 0.06*peak + 6, D1: between(rng, 0.012, 0.045), D2: between(rng, 4e-5, 8e-5), DragPerK: 0.004, ThrottleTau: between(rng, 0.05, 0.15),
			FuelResumeRPM: idle + between(rng, 350, 700), LimiterHystRPM: between(rng, 80, 200), IdleNoise: between(rng, 2, 5), Warm: between(rng, 84, 95),
		},
		Clutch: sim.Clutch{
			Capacity: peak * between(rng, 1.3, 1.8), Kinetic: between(rng, 0.9, 1), FadePerK: 0.0016, FadeFrom: 130,
			SurfaceHeat: between(rng, 400, 700), BodyHeat: between(rng, 2500, 5000), SurfaceTau: 1.5, CoolTau: 240,
		},
		Tyre:      sim.Tyre{Creep: between(rng, 0.015, 0.045), CreepTau: between(rng, 0.03, 0.1), LoadShare: between(rng, 0.5, 0.63)},
		Driver:    sim.Driver{LiftsOnFlare: chance(rng, 0.3), Reaction: between(rng, 0.5, 1.5), ClutchFoot: between(rng, 0.3, 0.7), Throttle: between(rng, 0.12, 0.4)},
		DragRunSD: 0.015, DragSessionSD: 0.02, TorqueRunSD: 0.005, RPMFilter: between(rng, 0, 0.08), RPMAverageDeg: 180,
	}
	if chance(rng, 0.4) {
		c.Engine.ReferenceNm = 50 * math.Ceil(peak/50)
	}
	if fuel == "petrol" && chance(rng, 0.3) {
		c.Engine.HangTime, c.Engine.HangOpening = 0.3, 0.04
	}
	c.Tyre.Brush = chance(rng, 0.5)
	return c
}

// body is the car around the engine: its gears are chosen so that the top one turns the engine as such cars do.
func body(rng *rand.Rand, mass, idle, limit float64, fuel string) *vehicle.Vehicle {
	n := 5 + rng.IntN(2)
	around := between(rng, 1.75, 2.15)
	final := between(rng, 3.3, 4.6)
	topRPM := between(rng, 24, 31) // per km/h in the top gear
	if fuel == "diesel" {
		topRPM = between(rng, 17, 22)
	}
	top := topRPM * around * 0.06 / final
	first := top * between(rng, 4.1, 5.0)
	v := &vehicle.Vehicle{
		Name: "any", Mass: mass, MassSD: 0.04 * mass, RollingCircumference: around, DrivenWheels: 2,
		SpeedSource: vehicle.SourceDriven,
		Engine:      vehicle.Engine{IdleRPM: idle, LimitRPM: limit, Fuel: fuel, Throttle: "wire"},
		Gearbox:     vehicle.Gearbox{Type: vehicle.Manual, Ratios: ratios(first, top, n, between(rng, 0.03, 0.08)), FinalDrive: round(final, 0.001), Efficiency: between(rng, 0.91, 0.97)},
		RoadLoad:    &vehicle.RoadLoad{F0: mass * between(rng, 0.09, 0.14), F1: between(rng, 0.6, 1.8), F2: between(rng, 0.34, 0.5)},
	}
	r := v.Radius()
	v.WheelInertia = between(rng, 0.02, 0.04) * mass * r * r / 4
	if chance(rng, 0.5) {
		v.SpeedSource = vehicle.SourceUndriven
	}
	return v
}

// ratios are n gears from first to top whose steps grow smaller by a progression each (0: equal steps).
func ratios(first, top float64, n int, progression float64) []float64 {
	steps, sum := make([]float64, n-1), 0.0
	for i := range steps {
		steps[i] = 1 + progression*float64(n-2-2*i)
		sum += steps[i]
	}
	out := []float64{round(first, 0.001)}
	x := math.Log(first)
	for _, s := range steps {
		x -= math.Log(first/top) * s / sum
		out = append(out, round(math.Exp(x), 0.001))
	}
	return out
}

func round(x, step float64) float64 { return math.Round(x/step) * step }

// curve is a full-load torque curve with its peak in N m.
func curve(rng *rand.Rand, peak, idle, limit float64, turbo bool) []sim.TorquePoint {
	shape := []struct{ at, share float64 }{{0, 0.62}, {0.15, 0.78}, {0.35, 0.9}, {0.55, 1}, {0.75, 0.95}, {0.9, 0.83}, {1, 0.7}}
	if turbo {
		shape = []struct{ at, share float64 }{{0, 0.42}, {0.1, 0.62}, {0.2, 0.92}, {0.28, 1}, {0.55, 0.98}, {0.8, 0.82}, {1, 0.6}}
	}
	out := make([]sim.TorquePoint, len(shape))
	for i, s := range shape {
		out[i] = sim.TorquePoint{RPM: idle + s.at*(limit-idle), Nm: peak * s.share * between(rng, 0.98, 1.0)}
	}
	return out
}

// anyRoad is hilly, windy, dry four times in five, with bends.
func anyRoad(rng *rand.Rand) sim.Road {
	r := sim.HillyRoad(rng, between(rng, 0.004, 0.022), between(rng, 120, 500))
	r.Wind = 3 * rng.NormFloat64()
	if chance(rng, 0.2) {
		r.Mu = between(rng, 0.55, 0.75)
	}
	return r
}

// weaken gives the car a clutch that slips under load, worn to a share of the engine's peak torque, with a friction
// of one of three characters: it runs away once it breaks loose, it creeps because friction rises with the speed of
// sliding, or it lets go at the very peak alone. Each further try wears it more.
func weaken(c *sim.Car, rng *rand.Rand, try int) {
	peak, _ := c.Engine.PeakNm()
	lo, hi := 0.78, 0.97
	switch rng.IntN(3) {
	case 0:
		c.Clutch.Kinetic, c.Clutch.SlopePerRadS = between(rng, 0.88, 1), between(rng, -0.0005, 0.002)
	case 1:
		lo, hi = 0.86, 0.98
		c.Clutch.Kinetic, c.Clutch.SlopePerRadS = between(rng, 0.98, 1), between(rng, 0.002, 0.008)
	case 2:
		lo, hi = 0.92, 1.0
		c.Clutch.Kinetic, c.Clutch.SlopePerRadS = between(rng, 0.96, 1), between(rng, 0, 0.004)
	}
	c.Clutch.Capacity = peak * (between(rng, lo, hi) - 0.02*float64(try))
	c.Clutch.FadePerK = between(rng, 0.0005, 0.002)
	c.Clutch.FadeFrom = between(rng, 90, 150)
}
