package motion

import (
	"math"

	"flywitness/finding"
	"flywitness/vehicle"
)

// Force turns motion into the torque through the clutch: T = ((m + wheels) a + road load) r / (G eta), the
// wheels' share as a mass. The slope of the road and corrections of the road load are told by EstimateGrade,
// where the logs show them; what is left is in the uncertainty.
type Force struct {
	Vehicle    *vehicle.Vehicle
	Mass       float64 // kg, with the wheels' inertia
	MassSD     float64
	Efficiency float64        // of gearbox and final drive
	Grade      *GradeEstimate // nil: the logs tell nothing of slope and road load
	Reason     finding.Code   // why there is no torque, "" when there is

	radius  float64 // m
	load    vehicle.RoadLoad
	loadSD  [2]float64 // relative, of rolling and of air, of what the vehicle file or a common car says
	loadCov [3]float64 // relative: variance of rolling, covariance, variance of air
	arms    []float64  // m, of each gear from 1: torque over wheel force
}

// NewForce returns what the vehicle file allows.
func NewForce(veh *vehicle.Vehicle, rollers bool) *Force {
	f := &Force{Vehicle: veh}
	switch {
	case rollers:
		f.Reason = finding.RollersNoTorque
	case veh == nil:
		f.Reason = finding.NoVehicleNoTorque
	case veh.Mass <= 0:
		f.Reason = finding.NoMassNoTorque
	case len(veh.Gearbox.Ratios) == 0 || veh.Gearbox.FinalDrive <= 0:
		f.Reason = finding.NoGearingNoTorque
	case veh.Radius() <= 0:
		f.Reason = finding.NoTyreNoTorque
	}
	if f.Reason != "" {
		return f
	}
	f.radius = veh.Radius()
	f.Mass = veh.InertialMass()
	f.MassSD = veh.MassError() * veh.Mass
	f.load, f.loadSD[0], f.loadSD[1] = veh.Resistance()
	f.loadCov = [3]float64{f.loadSD[0] * f.loadSD[0], 0, f.loadSD[1] * f.loadSD[1]}
	eta := veh.Gearbox.Eta()
	f.Efficiency = eta
	f.arms = make([]float64, len(veh.Gearbox.Ratios)+1)
	for g := range veh.Gearbox.Ratios {
		if total := veh.TotalRatio(g + 1); total > 0 { // a gear that nobody drove in is not learnt
			f.arms[g+1] = f.radius / (total * eta)
		}
	}
	return f
}

// Known tells whether torque can be had.
func (f *Force) Known() bool { return f.Reason == "" }

// Undisplay takes the error of the displayed speed out of all torques. A display that is too high by a factor makes
// acceleration, and so torque, too high by the same factor.
func (f *Force) Undisplay(by float64) {
	for g := range f.arms {
		f.arms[g] /= by
	}
}

// Road is the road load that torques rest on.
type Road struct {
	Load       vehicle.RoadLoad
	SD         [2]float64 // relative standard deviation of rolling resistance and of air
	Covariance float64    // relative, of the two
}

// Road is the road load for those who build on the torques; nil where there are none.
func (f *Force) Road() *Road {
	if !f.Known() {
		return nil
	}
	c := f.loadCov
	return &Road{Load: f.load, SD: [2]float64{math.Sqrt(math.Max(0, c[0])), math.Sqrt(math.Max(0, c[2]))},
		Covariance: c[1]}
}

// Arm is torque over wheel force in a gear, m; 0 for a gear that the car has not.
func (f *Force) Arm(gear int) float64 {
	if gear < 1 || gear >= len(f.arms) {
		return 0
	}
	return f.arms[gear]
}

// ScaleSD is the relative error that all torques of a car have in common, mass aside.
func (f *Force) ScaleSD() float64 {
	// a gearing errs with the displayed speed, and so does the acceleration
	sd := math.Hypot(vehicle.EfficiencySD, 2*f.Vehicle.GearingError())
	if f.Grade != nil && len(f.Grade.knots) > 0 {
		return math.Hypot(sd, torqueShape)
	}
	return sd
}

// loadError is the standard deviation (N) of the road load at v m/s.
func (f *Force) loadError(v float64) float64 {
	rolling, air := f.load.F0, f.load.Force(v)-f.load.F0
	return math.Sqrt(math.Max(0, rolling*rolling*f.loadCov[0]+2*rolling*air*f.loadCov[1]+air*air*f.loadCov[2]))
}

// clutch returns the torque (N m) through the clutch in a gear at a km/h/s and v km/h on the level; NaN when it
// cannot be had.
func (f *Force) clutch(gear int, a, v float64) float64 {
	arm := f.Arm(gear)
	if arm == 0 {
		return math.NaN()
	}
	return (f.Mass*a/3.6 + f.load.Force(v/3.6)) * arm
}

// ClutchTorque is the torque through the clutch in a gear at sample i, on the slope that the road has there as
// far as it is known.
func (r *Record) ClutchTorque(f *Force, gear, i int) float64 {
	torque := f.clutch(gear, r.State(i).A, r.State(i).V)
	if r.slope != nil {
		torque += f.Vehicle.Mass * vehicle.Gravity * r.slope[i] * f.Arm(gear)
	}
	return torque
}

// SlopeError is the standard deviation of the slope at sample i.
func (r *Record) SlopeError(i int) float64 {
	if r.slope == nil {
		return vehicle.UsualSlopeSD
	}
	return r.slopeSD[i]
}

// Slope is the slope of the road at sample i and its standard deviation; 0 where nothing is known of it.
func (r *Record) Slope(i int) (slope, sd float64) {
	if r.slope == nil {
		return 0, r.SlopeError(i)
	}
	return r.slope[i], r.SlopeError(i)
}

// SharedError is the standard deviation (N m) that mass, road load, gearbox and tyre leave in a torque at a km/h/s and
// v km/h: all torques of a car err by it together.
func (f *Force) SharedError(gear int, torque, a, v float64) float64 {
	m := f.MassSD * a / 3.6
	l := f.loadError(v / 3.6)
	return math.Hypot(math.Hypot(m, l)*f.Arm(gear), f.ScaleSD()*torque)
}

// CommonError is that with the error of the slope beside, which torques read near each other have in common.
func (f *Force) CommonError(gear int, torque, a, v, slopeSD float64) float64 {
	return math.Hypot(f.SharedError(gear, torque, a, v), slopeSD*f.Vehicle.Mass*vehicle.Gravity*f.Arm(gear))
}
