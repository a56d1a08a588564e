package slip

import (
	"math"

	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

const gravity = 9.80665

// torqueScaleSD is what gearbox efficiency and rolling radius leave open, relative.
const torqueScaleSD = 0.02

// gradeSD is the usual standard deviation of the slope of a road that a log does not show.
const gradeSD = 0.015

// roadForce turns motion into the torque through the clutch: T = ((m + wheels) a + road load) r / (G eta), the wheels' share as a mass.
// Grade is not in a log; its spread is in the uncertainty.
type roadForce struct {
	veh     *vehicle.Vehicle
	mass    float64 // kg, with the wheels' inertia
	massSD  float64
	radius  float64 // m
	load    vehicle.RoadLoad
	loadSD  float64 // relative
	reason  string  // why there is no torque, "" when there is
	perGear map[int]float64
}

// newRoadForce returns what the vehicle file allows.
func newRoadForce(veh *vehicle.Vehicle, rollers bool) *roadForce {
	f := &roadForce{veh: veh, perGear: map[int]float64{}}
	switch {
	case rollers:
		f.reason = "on a rolling road the car's mass and the air say nothing of the force, so no torque is given"
	case veh == nil:
		f.reason = "no vehicle file, so no torque: it needs mass, gear ratios and tyre size"
	case veh.Mass <= 0:
		f.reason = "the vehicle file gives no mass, so no torque"
	case len(veh.Gearbox.Ratios) == 0 || veh.Gearbox.FinalDrive <= 0:
		f.reason = "the vehicle file gives no gear ratios and final drive, so no torque"
	case veh.Radius() <= 0:
		f.reason = "the vehicle file gives no tyre size, so no torque"
	}
	if f.reason != "" {
		return f
	}
	f.radius = veh.Radius()
	wheel := veh.WheelInertia
	if wheel <= 0 {
		wheel = 0.03 * veh.Mass * f.radius * f.radius / 4 // UN GTR 15: 3 % of the mass for four wheels (from memory)
	}
	f.mass = veh.Mass + 4*wheel/(f.radius*f.radius)
	f.massSD = veh.MassSD
	if f.massSD <= 0 {
		f.massSD = 0.04 * veh.Mass
	}
	f.loadSD = 0.1
	if veh.RoadLoad != nil {
		f.load = *veh.RoadLoad
	} else { // a common car: rolling resistance 1.1 % of weight, drag area 0.7 m^2
		f.load = vehicle.RoadLoad{F0: 0.011 * veh.Mass * gravity, F2: 0.5 * 1.2 * 0.7}
		f.loadSD = 0.25
	}
	eta := veh.Gearbox.Efficiency
	if eta <= 0 {
		eta = 0.95
	}
	for g := range veh.Gearbox.Ratios {
		f.perGear[g+1] = f.radius / (veh.TotalRatio(g+1) * eta)
	}
	return f
}

func (f *roadForce) known() bool { return f.reason == "" }

// clutch returns the torque (N m) through the clutch in a gear at a km/h/s and v km/h; NaN when it cannot be had.
func (f *roadForce) clutch(gear int, a, v float64) float64 {
	arm := f.perGear[gear]
	if arm == 0 {
		return math.NaN()
	}
	return (f.mass*a/3.6 + f.load.Force(v/3.6)) * arm
}

// estimate puts the uncertainty of mass, road load, grade and acceleration (sdA, km/h/s) on a torque.
func (f *roadForce) estimate(gear int, torque, a, sdA, v float64) *stats.Estimate {
	arm := f.perGear[gear]
	if arm == 0 || math.IsNaN(torque) {
		return nil
	}
	m := f.massSD * a / 3.6
	l := f.loadSD * f.load.Force(v/3.6)
	g := gradeSD * f.veh.Mass * gravity
	s := f.mass * sdA / 3.6
	sd := math.Sqrt(m*m+l*l+g*g+s*s) * arm
	return stats.Normal(torque, math.Hypot(sd, torqueScaleSD*torque))
}

// share is wheel force over weight for the wheelspin test.
func share(a, v float64) float64 { return gearstate.PhiFromAcceleration(a, v) }
