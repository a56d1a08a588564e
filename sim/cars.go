package sim

import (
	"math"

	"flywitness/vehicle"
)

// BenchMule is the car of the demo: a five-speed petrol turbo.
func BenchMule() Car {
	return Car{
		Vehicle: file("Bench mule", 1285, 1.927, 850, 6800, "petrol", []float64{3.42, 1.95, 1.36, 1.03, 0.83}, 4.06,
			vehicle.RoadLoad{F0: 140, F1: 1.2, F2: 0.42}, vehicle.SourceDriven),
		Inertia: 0.205, DiscInertia: 0.011,
		Engine: Engine{
			FullLoad: []TorquePoint{{800, 105}, {1500, 150}, {2000, 205}, {2600, 250}, {3200, 262}, {4500, 258}, {5500, 228}, {6300, 190}, {6800, 160}},
			Boosted:  0.45, BoostLag: 0.45, Torque: 0.05,
			D0: 20.5, D1: 0.02, D2: 6e-5, DragPerK: 0.004, ThrottleTau: 0.07,
			FuelResumeRPM: 1300, LimiterHystRPM: 150, IdleNoise: 3, ReferenceNm: 300, Warm: 91,
		},
		Clutch:    clutch(340),
		Tyre:      Tyre{Creep: 0.025, CreepTau: 0.06, LoadShare: 0.58},
		Driver:    Driver{Reaction: 0.7, ClutchFoot: 0.45, Throttle: 0.25},
		DragRunSD: 0.015, DragSessionSD: 0.02, TorqueRunSD: 0.005, TorqueScaleSD: 0.03,
		RPMFilter: 0.03, RPMAverageDeg: 180,
	}
}

// Cars returns invented cars of different character: Bench mule and three more.
func Cars() []Car { return []Car{BenchMule(), naturallyAspirated(), diesel(), sport()} }

// naturallyAspirated is a light five-speed with a cable throttle, a dashpot and a gearbox speed sensor.
func naturallyAspirated() Car {
	c := BenchMule()
	c.Vehicle = file("Hedge sparrow", 1040, 1.80, 800, 6300, "petrol", []float64{3.55, 1.9, 1.31, 0.97, 0.79}, 4.25,
		vehicle.RoadLoad{F0: 115, F1: 1.0, F2: 0.40}, vehicle.SourceDriven)
	c.Vehicle.Engine.Throttle = "cable"
	c.Inertia, c.DiscInertia = 0.145, 0.008
	c.Engine = Engine{
		FullLoad: []TorquePoint{{800, 80}, {1500, 104}, {2500, 122}, {3500, 134}, {4300, 138}, {5200, 132}, {6000, 116}, {6300, 106}},
		Torque:   0.04, D0: 15, D1: 0.016, D2: 4.5e-5, DragPerK: 0.004, ThrottleTau: 0.12,
		FuelResumeRPM: 1500, LimiterHystRPM: 200, IdleNoise: 2, Warm: 89,
	}
	c.Clutch = clutch(185)
	c.RPMFilter, c.RPMAverageDeg = 0.05, 720
	return c
}

// diesel is a heavy six-speed with a dual-mass flywheel's inertia and speed from all four wheels' undriven pair.
func diesel() Car {
	c := BenchMule()
	c.Vehicle = file("Cart horse", 1620, 2.02, 780, 4800, "diesel", []float64{3.77, 2.04, 1.32, 0.95, 0.76, 0.62}, 3.65,
		vehicle.RoadLoad{F0: 175, F1: 1.5, F2: 0.46}, vehicle.SourceUndriven)
	c.Inertia, c.DiscInertia = 0.31, 0.016
	c.Engine = Engine{
		FullLoad: []TorquePoint{{780, 120}, {1300, 210}, {1700, 320}, {2500, 330}, {3200, 300}, {4000, 235}, {4500, 190}, {4800, 140}},
		Boosted:  0.55, BoostLag: 0.5, Torque: 0.04,
		D0: 27, D1: 0.045, D2: 7e-5, DragPerK: 0.005, ThrottleTau: 0.06,
		FuelResumeRPM: 1150, LimiterHystRPM: 100, IdleNoise: 4.5, ReferenceNm: 400, Warm: 88, SoftLimitRPM: 3800,
	}
	c.Clutch = clutch(430)
	c.Tyre = Tyre{Creep: 0.032, CreepTau: 0.06, LoadShare: 0.57}
	c.Driver.Throttle = 0.3
	return c
}

// sport is a quick six-speed with a soft limit at rest, rev hang, rear drive and wheel sensors on the undriven axle.
func sport() Car {
	c := BenchMule()
	c.Vehicle = file("Night jar", 1410, 1.985, 900, 7600, "petrol", []float64{3.63, 2.19, 1.54, 1.21, 1.0, 0.77}, 3.9,
		vehicle.RoadLoad{F0: 165, F1: 1.1, F2: 0.40}, vehicle.SourceUndriven)
	c.Inertia, c.DiscInertia = 0.165, 0.012
	c.Engine = Engine{
		FullLoad: []TorquePoint{{900, 150}, {2000, 240}, {3000, 285}, {4500, 318}, {5500, 322}, {6500, 300}, {7300, 262}, {7600, 240}},
		Torque:   0.045, D0: 22, D1: 0.024, D2: 5.5e-5, DragPerK: 0.004, ThrottleTau: 0.08, HangTime: 0.25, HangOpening: 0.05,
		FuelResumeRPM: 1350, LimiterHystRPM: 120, IdleNoise: 3, ReferenceNm: 400, Warm: 93, SoftLimitRPM: 4500,
	}
	c.Clutch = clutch(440)
	c.Clutch.Kinetic = 0.93
	c.Tyre = Tyre{Creep: 0.02, CreepTau: 0.05, LoadShare: 0.60}
	c.Driver.LiftsOnFlare = true
	c.Driver.Throttle = 0.18
	return c
}

func clutch(capacity float64) Clutch {
	return Clutch{
		Capacity: capacity, Kinetic: 0.95, FadePerK: 0.0016, FadeFrom: 130,
		SurfaceHeat: 500, BodyHeat: 3200, SurfaceTau: 1.5, CoolTau: 240,
	}
}

func file(name string, mass, circumference, idle, limit float64, fuel string, ratios []float64, final float64,
	load vehicle.RoadLoad, source vehicle.SpeedSource) *vehicle.Vehicle {
	r := circumference / (2 * math.Pi)
	return &vehicle.Vehicle{
		Name: name, Mass: mass, MassSD: 0.01 * mass, RollingCircumference: circumference,
		WheelInertia: 0.03 * mass * r * r / 4, DrivenWheels: 2, SpeedSource: source,
		Engine:   vehicle.Engine{IdleRPM: idle, LimitRPM: limit, Fuel: fuel, Throttle: "wire"},
		Gearbox:  vehicle.Gearbox{Type: vehicle.Manual, Ratios: ratios, FinalDrive: final, Efficiency: 0.95},
		RoadLoad: &load,
	}
}
