package slip

import (
	"math"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/gearstate"
	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

const gravity = 9.80665

// torqueScaleSD is what gearbox efficiency and rolling radius leave open, relative.
const torqueScaleSD = 0.02

// roadForce turns motion into the torque through the clutch: T = ((m + wheels) a + road load) r / (G eta), the wheels' share as a mass.
// The slope of the road and corrections of the road load are told by a survey of the logs, where they show it; what is left is in the uncertainty.
type roadForce struct {
	veh        *vehicle.Vehicle
	mass       float64 // kg, with the wheels' inertia
	massSD     float64
	radius     float64 // m
	load       vehicle.RoadLoad
	loadSD     float64    // relative, of what the vehicle file or a common car says
	loadCov    [3]float64 // relative: variance of rolling, covariance, variance of air
	survey     *survey    // nil: the logs tell nothing of slope and road load
	reason     string     // why there is no torque, "" when there is
	efficiency float64
	arms       []float64 // m, of each gear from 1: torque over wheel force
}

// newRoadForce returns what the vehicle file allows.
func newRoadForce(veh *vehicle.Vehicle, rollers bool) *roadForce {
	f := &roadForce{veh: veh}
	switch {
	case rollers:
		f.reason = "on a rolling road the car's mass and the air say nothing of the force, so no torque is given"
	case veh == nil:
		f.reason = "no vehicle file, so no torque: it needs mass, gear ratios and tyre size"
	case veh.Mass <= 0:
		f.reason = "the vehicle file gives no mass, so no torque"
	case len(veh.Gearbox.Ratios) == 0 || veh.Gearbox.FinalDrive <= 0:
		f.reason = "neither the vehicle file nor the log gives the gearing, so no torque"
	case veh.Radius() <= 0:
		f.reason = "the vehicle file gives no tyre size, so no torque"
	}
	if f.reason != "" {
		return f
	}
	f.radius = veh.Radius()
	f.mass = veh.InertialMass()
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
	half := f.loadSD * f.loadSD * 2
	f.loadCov = [3]float64{half, 0, half}
	eta := veh.Gearbox.Efficiency
	if eta <= 0 {
		eta = 0.95
	}
	f.efficiency = eta
	f.arms = make([]float64, len(veh.Gearbox.Ratios)+1)
	for g := range veh.Gearbox.Ratios {
		if total := veh.TotalRatio(g + 1); total > 0 { // a gear that nobody drove in is not learnt
			f.arms[g+1] = f.radius / (total * eta)
		}
	}
	return f
}

func (f *roadForce) known() bool { return f.reason == "" }

// display is by how much road speed is displayed too high, as a factor: the gears' engine speed per true road speed, by the vehicle file, over that per displayed
// one, as learnt. 1 where the file does not tell.
func display(veh *vehicle.Vehicle, cal *calibrate.Calibration) float64 {
	var ratio []float64
	for _, g := range cal.Gears {
		if k := veh.RPMPerKmh(g.Gear); k > 0 && g.RPMPerKmh != nil && g.RPMPerKmh.Value > 0 {
			ratio = append(ratio, k/g.RPMPerKmh.Value)
		}
	}
	if len(ratio) == 0 {
		return 1
	}
	return stats.Median(ratio)
}

// undisplay takes the error of the displayed speed out of all torques: an acceleration that is displayed too high makes them as much too high.
func (f *roadForce) undisplay(cal *calibrate.Calibration) {
	if !f.known() || cal == nil {
		return
	}
	by := display(f.veh, cal)
	for g := range f.arms {
		f.arms[g] /= by
	}
}

// told is the road load for those who build on the torques; nil where there are none.
func (f *roadForce) told() *Road {
	if !f.known() {
		return nil
	}
	c := f.loadCov
	return &Road{Load: f.load, SD: [2]float64{math.Sqrt(math.Max(0, c[0])), math.Sqrt(math.Max(0, c[2]))}, Covariance: c[1]}
}

// arm is torque over wheel force in a gear, m; 0 for a gear that the car has not.
func (f *roadForce) arm(gear int) float64 {
	if gear < 1 || gear >= len(f.arms) {
		return 0
	}
	return f.arms[gear]
}

// scaleSD is the relative error that all torques of a car have in common, mass aside.
func (f *roadForce) scaleSD() float64 {
	sd := math.Hypot(torqueScaleSD, 2*f.veh.Gearbox.GearingSD) // a learnt gearing errs with the displayed speed, and so does the acceleration
	if f.survey != nil {
		return math.Hypot(sd, torqueShape)
	}
	return sd
}

// loadError is the standard deviation (N) of the road load at v m/s.
func (f *roadForce) loadError(v float64) float64 {
	rolling, air := f.load.F0, f.load.Force(v)-f.load.F0
	return math.Sqrt(math.Max(0, rolling*rolling*f.loadCov[0]+2*rolling*air*f.loadCov[1]+air*air*f.loadCov[2]))
}

// clutch returns the torque (N m) through the clutch in a gear at a km/h/s and v km/h on the level; NaN when it cannot be had.
func (f *roadForce) clutch(gear int, a, v float64) float64 {
	arm := f.arm(gear)
	if arm == 0 {
		return math.NaN()
	}
	return (f.mass*a/3.6 + f.load.Force(v/3.6)) * arm
}

// clutchAt is the torque through the clutch in a gear at sample i, on the slope that the road has there as far as it is known.
func (r *record) clutchAt(f *roadForce, gear, i int) float64 {
	torque := f.clutch(gear, r.motion[i].a, r.motion[i].v)
	if r.slope != nil {
		torque += f.veh.Mass * gravity * r.slope[i] * f.arm(gear)
	}
	return torque
}

// slopeError is the standard deviation of the slope at sample i.
func (r *record) slopeError(i int) float64 {
	if r.slope == nil {
		return usualSlope
	}
	return r.slopeSD[i]
}

// commonError is the standard deviation (N m) that mass, road load, slope, gearbox and tyre leave in a torque at a km/h/s and v km/h.
func (f *roadForce) commonError(gear int, torque, a, v, slopeSD float64) float64 {
	m := f.massSD * a / 3.6
	l := f.loadError(v / 3.6)
	g := slopeSD * f.veh.Mass * gravity
	return math.Hypot(math.Sqrt(m*m+l*l+g*g)*f.arm(gear), f.scaleSD()*torque)
}

// share is wheel force over weight for the wheelspin test.
func share(a, v float64) float64 { return gearstate.PhiFromAcceleration(a, v) }
