package vehicle

import "math"

// What is usual of cars and roads stands here once, each fact with its spread and its source. Whoever needs what the vehicle file does not give asks here, so no two
// parts of the program take two cars for granted. A spread is one standard deviation over the cars that a workshop sees.

// Errors of a mass, relative. Common practice, no source.
const (
	paperMassSD   = 0.04  // from papers, with fuel and people guessed
	weighedMassSD = 0.015 // of a car on scales, which were on another day
)

// MassError returns the relative standard deviation of the mass; the usual one where the file does not tell.
func (v *Vehicle) MassError() float64 {
	switch {
	case v.MassSD > 0 && v.Mass > 0:
		return v.MassSD / v.Mass
	case v.Weighed:
		return weighedMassSD
	}
	return paperMassSD
}

// Gearbox and final drive of a car with one driven axle, warm. Common practice, no source.
const (
	usualEfficiency = 0.95
	EfficiencySD    = 0.015
)

// Eta returns the efficiency of gearbox and final drive; the usual one where it is not given.
func (g Gearbox) Eta() float64 {
	if g.Efficiency > 0 {
		return g.Efficiency
	}
	return usualEfficiency
}

// PaperGearingSD is the relative error of total ratio over rolling radius where both are from paper. A tyre wears by 6 mm of 300, which is 0.6 % evenly spread,
// and make, pressure and load add a little. Common practice, no source.
const PaperGearingSD = 0.006

// GearingError returns the relative standard deviation of total ratio over rolling radius.
func (v *Vehicle) GearingError() float64 { return math.Max(PaperGearingSD, v.Gearbox.GearingSD) }

// What turns with the engine: the mass factor of a car in a gear of total ratio N is 1.04 + 0.0025 N^2 (Gillespie, Fundamentals of Vehicle Dynamics,
// chapter 2, from memory), of which the part with N is the engine's, I = 0.0025 M r^2. UsualInertiaSD is its relative spread. Common practice, no source.
const (
	engineShare    = 0.0025
	UsualInertiaSD = 0.5
)

// UsualInertia returns the inertia (kg m^2) that turns with the engine of a usual car of that mass; of a usual tyre where the file gives none.
func (v *Vehicle) UsualInertia() float64 {
	r := v.Radius()
	if r <= 0 {
		r = NominalCircumference / (2 * math.Pi)
	}
	return engineShare * v.Mass * r * r
}

// UsualIdleRPM is at what an engine idles whose idle neither file nor log tells. Common practice, no source.
const UsualIdleRPM = 850

// UsualSlopeSD is the standard deviation of the slope of ordinary roads. Common practice, no source.
const UsualSlopeSD = 0.02

// Road load of a common car: F = c m g + rho/2 A v^2, SAE J1263 (from memory) without its linear term.
const (
	// Tyres roll with 0.0065 to 0.012 of their load on the drum (classes A to E of EU 2020/740, from memory); rough asphalt, low pressure, bearings and brakes
	// that drag add up to half as much again.
	rollingCoefficient, rollingCoefficientSD = 0.012, 0.004
	// Drag coefficient times frontal area, m^2: 0.5 of a small saloon to 0.85 of an off-road car, which is ± 0.12; 1.5 m/s of wind along the road, on a day on
	// which people test, change the drag at 25 m/s by an eighth. Common practice, no source.
	dragArea, dragAreaSD = 0.65, 0.15
	airDensity           = 1.2 // kg/m^3 at 20 C and sea level
	// toldRoadLoadSD is the relative error of a road load that was measured on that car on another day: wind, tyres and their warmth. Common practice, no source.
	toldRoadLoadSD = 0.12
)

// Resistance returns the road load of the vehicle file, or that of a common car of its mass, with the relative standard deviations of rolling and air.
func (v *Vehicle) Resistance() (load RoadLoad, rollingSD, airSD float64) {
	if v.RoadLoad != nil {
		return *v.RoadLoad, toldRoadLoadSD, toldRoadLoadSD
	}
	return RoadLoad{F0: rollingCoefficient * Gravity * v.Mass, F2: airDensity / 2 * dragArea}, rollingCoefficientSD / rollingCoefficient, dragAreaSD / dragArea
}

// commonMass (kg) is that of a common car, for what goes with the weight of a car that nobody weighed.
const commonMass = 1300

// CommonResistance returns the road load of a common car at v m/s as a share of its weight.
func CommonResistance(v float64) float64 {
	return rollingCoefficient + airDensity/2*dragArea/(commonMass*Gravity)*v*v
}

// ThrottleTellsLoad tells whether the throttle and the pressure in the manifold say how hard the engine works: a diesel's say nothing. A car that nobody
// described is taken for a petrol one.
func (v *Vehicle) ThrottleTellsLoad() bool { return v == nil || v.Engine.Fuel != "diesel" }

// KmPerMile is exact by definition of the international mile.
const KmPerMile = mile / 1000

// Gears of cars, in rpm per km/h. The longest sixth gears turn the engine 1000 times a minute at 60 km/h, the shortest last gears of a drive that uses several at 11 km/h;
// a first gear does so at 5 km/h or more, but for those of cars that crawl off the road. Common practice, no source.
const (
	LongestGear   = 14.0
	ShortestTop   = 90.0
	ShortestFirst = 200.0
	CrawlerGear   = 260.0
)
