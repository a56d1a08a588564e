package vehicle

import "math"

// What is usual of cars stands here once, each fact with its spread and its source. Whoever needs what the vehicle file does not give asks here, so no two
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

// PaperGearingSD is the relative error of total ratio over rolling radius where both are from paper. Common practice, no source.
const PaperGearingSD = 0.005

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
		r = usualRadius
	}
	return engineShare * v.Mass * r * r
}

// usualRadius (m) is the rolling radius of a usual tyre.
const usualRadius = 0.3

// ThrottleTellsLoad tells whether the throttle and the pressure in the manifold say how hard the engine works: a diesel's say nothing. A car that nobody
// described is taken for a petrol one.
func (v *Vehicle) ThrottleTellsLoad() bool { return v == nil || v.Engine.Fuel != "diesel" }

// KmPerMile is exact by definition of the international mile.
const KmPerMile = mile / 1000
