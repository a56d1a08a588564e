package sim

import (
	"math"
	"math/rand/v2"

	"flywitness/vehicle"
)

const (
	gravity   = 9.81
	radPerRPM = math.Pi / 30
)

// Car is a vehicle file that happens to be true, and the truth that a vehicle file has no room for.
// It is passed by value; Vehicle is shared and never changed.
type Car struct {
	Vehicle *vehicle.Vehicle // true mass, ratios, radius, road load; WheelInertia is one wheel of four

	Inertia     float64 // kg m^2, effective: engine, flywheel, cover, disc and gearbox input, foot off the clutch
	DiscInertia float64 // kg m^2, the part of Inertia on the gearbox side of the clutch: disc and input shaft

	Engine Engine
	Clutch Clutch
	Tyre   Tyre
	Driver Driver
	Auto   *Automatic // nil for a gearbox that the driver shifts

	DragRunSD     float64 // relative standard deviation of the drag from one action to the next
	DragSessionSD float64 // relative standard deviation of the drag from one drive to the next
	DragPerHour   float64 // relative change of the drag per hour of driving (battery charging up, gearbox oil warming)
	DragInGear    float64 // drag in gear over that in neutral at equal speed: many cars cut fuel in the one and not in the other; 0 means 1
	TorqueRunSD   float64 // relative standard deviation of the full-load torque from one action to the next
	TorqueScaleSD float64 // relative standard deviation of the torque that the control unit reports, drive to drive

	RPMFilter     float64 // s, first-order filter of the engine speed in the control unit; 0 for none
	RPMAverageDeg float64 // crank degrees over which the control unit averages engine speed; 0 for none

	TractionControl bool    // cuts torque while the driven wheels turn more than 6 % too fast
	CubicDrag       float64 // N per (m/s)^3 on top of the road load: a roof box that whistles, a body that changes its flow
	ColdDrag        float64 // share of F0 that cold tyres and wheel bearings add, decaying over ten minutes of driving
}

// TorquePoint is one point of a full-load curve.
type TorquePoint struct{ RPM, Nm float64 }

// Engine is what drives and what drags.
type Engine struct {
	FullLoad []TorquePoint // net torque at full load, warm, boost up; rising in RPM
	Boosted  float64       // share of the full-load torque (0-1) that needs boost
	BoostLag float64       // s, first-order, at 3000 rpm and above; longer below
	Torque   float64       // s, first-order lag of torque behind the throttle (manifold filling)

	// Closed-throttle drag D0 + D1 w + D2 w^2 in N m, w in rad/s, with oil at 90 C and everything that turns in
	// neutral with the foot off the clutch.
	D0, D1, D2  float64
	DragPerK    float64 // relative fall of the drag per kelvin of oil temperature (0.004)
	ThrottleTau float64 // s, exponential decay of the air after the foot lifts (dashpot, manifold); 0.05 and up
	HangTime    float64 // s that the throttle is held open after the foot lifts in neutral (rev hang); 0 for none
	HangOpening float64 // 0-1, how far it is held open

	GearLimitNm []float64 // torque limit by gear from first up; 0 or missing for none

	FuelResumeRPM  float64 // fuel comes back below this on a closed throttle
	LimiterHystRPM float64 // the limiter cuts at the vehicle's limit_rpm and resumes this far below
	SoftLimitRPM   float64 // limit when stationary; 0 for none

	IdleNoise   float64 // N m, standard deviation of combustion torque noise at idle (20 ms correlation)
	ReferenceNm float64 // reference torque of the torque channel; 0 when the car has no torque channel
	Warm        float64 // C, coolant temperature when warm
}

// Clutch is a dry clutch: torque that it can carry, and how that fades.
type Clutch struct {
	Capacity     float64 // N m, sticking, cold, foot off the pedal
	Kinetic      float64 // slipping / sticking friction (0.9-1)
	SlopePerRadS float64 // relative rise of slipping friction per rad/s of slip, from -30 to +10 % at most; positive lets it creep, negative flare
	FadePerK     float64 // relative loss of friction per kelvin of the surface above FadeFrom
	FadeFrom     float64 // C
	SurfaceHeat  float64 // J/K of the friction surface
	BodyHeat     float64 // J/K of pressure plate and flywheel face
	SurfaceTau   float64 // s, surface to body
	CoolTau      float64 // s, body to bell housing

	GrabSD      float64 // relative standard deviation of what it holds, correlated over 0.3 s: oil on the lining grabs and lets go
	CreepPerNm  float64 // rad/s of slip per N m: a lining that never sticks but shears a film; 0 for a dry one
	WeakFromRPM float64 // above this centrifugal force on the fingers takes clamp load; 0 for none
	WeakPerKRPM float64 // relative loss of hold per 1000 rpm above that
}

// Tyre is the contact to the road.
type Tyre struct {
	Creep     float64 // slip ratio per unit of tractive force / weight (1.5-4.5 % per unit is 0.015-0.045)
	CreepTau  float64 // s, relaxation of the tyre and the driveline
	LoadShare float64 // share of the weight on the driven wheels
	Brush     bool    // creep grows towards the grip as the brush model says; else it is linear
	Transfer  float64 // centre of gravity's height over the wheelbase: weight that acceleration moves to the driven axle (rear drive) or off it (negative)
}

// Driver is how the person behind the wheel behaves.
type Driver struct {
	LiftsOnFlare bool    // lifts when the engine runs away from the road; else keeps the foot down
	Reaction     float64 // s until he does
	ClutchFoot   float64 // s, time in which the clutch pedal comes up after a normal shift
	Throttle     float64 // s, time for the accelerator from nothing to full
	KeepsFoot    bool    // does not ease the accelerator when wheels spin
}

// Drag returns the closed-throttle drag in N m, warm, at w rad/s.
func (e *Engine) Drag(w float64) float64 { return e.D0 + e.D1*w + e.D2*w*w }

// FullLoadNm returns the full-load torque at an engine speed, with boost up: linear between points, flat outside.
func (e *Engine) FullLoadNm(rpm float64) float64 {
	p := e.FullLoad
	if len(p) == 0 {
		return 0
	}
	if rpm <= p[0].RPM {
		return p[0].Nm
	}
	for i := 1; i < len(p); i++ {
		if rpm <= p[i].RPM {
			f := (rpm - p[i-1].RPM) / (p[i].RPM - p[i-1].RPM)
			return p[i-1].Nm + f*(p[i].Nm-p[i-1].Nm)
		}
	}
	return p[len(p)-1].Nm
}

// PeakNm returns the highest full-load torque and the engine speed at which it is reached.
func (e *Engine) PeakNm() (nm, rpm float64) {
	for _, p := range e.FullLoad {
		if p.Nm > nm {
			nm, rpm = p.Nm, p.RPM
		}
	}
	return nm, rpm
}

// K returns engine rad/s per m/s of tyre tread in a gear.
func (c *Car) K(gear int) float64 { return c.Vehicle.TotalRatio(gear) / c.Vehicle.Radius() }

// EquivalentMass returns the car mass in kg that weighs as much on acceleration as an inertia in kg m^2 in a gear.
func (c *Car) EquivalentMass(inertia float64, gear int) float64 {
	k := c.K(gear)
	return inertia * k * k
}

// RotatingMass returns the mass in kg as which the four wheels count in a straight line.
func (c *Car) RotatingMass() float64 {
	r := c.Vehicle.Radius()
	return 4 * c.Vehicle.WheelInertia / (r * r)
}

// WithInertia returns the car with another effective inertia in kg m^2.
func (c Car) WithInertia(inertia float64) Car { c.Inertia = inertia; return c }

// Tired returns the car with a clutch that holds share of the engine's peak torque when cold, and with friction of a
// random character: some flare once they break away, some creep.
func (c Car) Tired(share float64, rng *rand.Rand) Car {
	peak, _ := c.Engine.PeakNm()
	c.Clutch.Capacity = share * peak
	c.Clutch.Kinetic = 0.92 + 0.08*rng.Float64()
	c.Clutch.SlopePerRadS = -0.0005 + 0.0045*rng.Float64()
	c.Clutch.FadePerK = 0.0008 + 0.0016*rng.Float64()
	return c
}

// WithCapacity returns the car with another cold clutch capacity in N m.
func (c Car) WithCapacity(nm float64) Car { c.Clutch.Capacity = nm; return c }
