package compare

import (
	"math"

	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

const (
	radiusSD   = 0.005 // relative, of a rolling radius from the tyre size
	gravity    = 9.81
	usualSpeed = 4000 // rpm at which a power is stated when the engine's limit is not known
	spanSteps  = 60
)

// car is what the worth of a change depends on beside the change.
type car struct {
	mass   float64 // kg, with the wheels' inertia
	load   vehicle.RoadLoad
	torque float64 // N m that went through the clutch under full load, 0 when not known
	v      *vehicle.Vehicle
}

// car returns what is known of it; nil when mass, tyre or ratios are not.
func (c *comparison) car() *car {
	v := c.after.Vehicle
	if v == nil {
		v = c.before.Vehicle
	}
	if v == nil || v.Mass <= 0 || v.Radius() <= 0 || v.TotalRatio(1) <= 0 {
		return nil
	}
	out := &car{v: v, mass: v.InertialMass(), load: vehicle.RoadLoad{F0: 0.012 * v.Mass * gravity, F2: 0.39}} // common practice, no source
	if v.RoadLoad != nil {
		out.load = *v.RoadLoad
	}
	for _, s := range c.sides() {
		if s.Slip == nil {
			continue
		}
		for _, e := range []*stats.Estimate{s.Slip.HighestTorqueHeld, s.Slip.OnsetTorque} {
			if e != nil && e.Value > out.torque {
				out.torque = e.Value
			}
		}
	}
	return out
}

// value fills what the change is worth in each gear. With k = total ratio / rolling radius:
//
//	equivalent mass    m = -dI k^2
//	acceleration gain  m / (M + I_after k^2), at equal wheel force
//	equivalent power   m a v = -dI w alpha
//
// It exists only while accelerating.
func (c *comparison) value() {
	f := c.finding
	if f.Change == nil {
		return
	}
	car := c.car()
	if car == nil {
		c.warn("no_worth_by_gear", "what the change is worth in each gear needs mass, tyre size, ratios and final drive in the vehicle file")
		return
	}
	if car.torque == 0 {
		c.warn("no_equivalent_power", "the power that the change is worth needs a full-load pull on either side, from which the acceleration is known")
	}
	for gear := range car.v.Gearbox.Ratios {
		f.ByGear = append(f.ByGear, c.worth(car, gear+1))
	}
	for gear := 1; gear <= min(2, len(car.v.Gearbox.Ratios)); gear++ {
		if s := c.spanTime(car, gear); s != nil {
			f.SpanTimes = append(f.SpanTimes, *s)
		}
	}
}

func (c *comparison) worth(car *car, gear int) ByGear {
	d, after := c.finding.Change, c.finding.InertiaAfter
	k := car.v.TotalRatio(gear) / car.v.Radius()
	mass := -d.Value * k * k
	massSD := math.Hypot(d.SD*k*k, 2*radiusSD*mass)
	if after == nil {
		after = car.usualInertia()
	}
	total := car.mass + after.Value*k*k
	gain := 100 * mass / total
	gainSD := math.Hypot(100*massSD/total, gain*after.SD*k*k/total)
	w := ByGear{Gear: gear, EquivalentMass: stats.Normal(mass, massSD), AccelerationGain: stats.Normal(gain, gainSD),
		AtRPM: car.powerSpeed()}
	if a := car.acceleration(gear, w.AtRPM, after.Value); a > 0 {
		w.AtAcceleration = a
		speed := w.AtRPM * math.Pi / 30 / k
		w.EquivalentPower = stats.Normal(mass*a*speed/1000, massSD*a*speed/1000)
	}
	return w
}

// usualInertia stands in for an inertia that was not measured: the mass factor 1.04 + 0.0025 N^2 (Gillespie, Fundamentals of
// Vehicle Dynamics, chapter 2, from memory) is I = 0.0025 M r^2, here within half of it.
func (k *car) usualInertia() *stats.Estimate {
	i := 0.0025 * k.v.Mass * k.v.Radius() * k.v.Radius()
	return stats.Normal(i, i/2)
}

// powerSpeed is the engine speed at which a power is stated: three quarters of the limit, in steps of 500 rpm.
func (k *car) powerSpeed() float64 {
	if l := k.v.Engine.LimitRPM; l > 0 {
		return math.Round(0.75*l/500) * 500
	}
	return usualSpeed
}

// acceleration in m/s^2 at full load in a gear with that inertia; 0 when the torque is not known.
func (k *car) acceleration(gear int, rpm, inertia float64) float64 {
	if k.torque == 0 {
		return 0
	}
	ratio := k.v.TotalRatio(gear) / k.v.Radius()
	eta := k.v.Gearbox.Efficiency
	if eta == 0 {
		eta = 0.95
	}
	v := rpm * math.Pi / 30 / ratio
	// The torque was measured behind the engine's own inertia, so it accelerates the car alone.
	return (k.torque*ratio*eta - k.load.Force(v)) / k.mass
}

// spanTime is the most that the change saves from 1500 rpm to nine tenths of the limit in a gear, at the greatest torque that went through
// the clutch: dt = integral of m / F dv, F being what accelerates the car. nil when the torque is not known.
func (c *comparison) spanTime(car *car, gear int) *SpanTime {
	limit := car.v.Engine.LimitRPM
	if car.torque == 0 || limit == 0 {
		return nil
	}
	k := car.v.TotalRatio(gear) / car.v.Radius()
	lo, hi := roundKmh(1500*math.Pi/30/k), roundKmh(0.9*limit*math.Pi/30/k)
	mass := -c.finding.Change.Value * k * k
	sum := 0.0
	for i := range spanSteps {
		v := (lo + (hi-lo)*(float64(i)+0.5)/spanSteps) / 3.6
		a := car.acceleration(gear, v*k*30/math.Pi, 0)
		if a <= 0.1 {
			return nil
		}
		sum += (hi - lo) / 3.6 / spanSteps / (a * car.mass)
	}
	sd := math.Hypot(c.finding.Change.SD*k*k, 2*radiusSD*mass)
	return &SpanTime{Gear: gear, FromKmh: lo, ToKmh: hi, Saved: stats.Normal(mass*sum, sd*sum)}
}

func roundKmh(mps float64) float64 { return math.Round(mps*3.6/5) * 5 }
