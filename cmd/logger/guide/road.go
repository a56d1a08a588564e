package guide

import (
	"fmt"
	"math"

	"flywitness/vehicle"
)

// PullOffer is a full-load pull that can be driven within a speed limit.
type PullOffer struct {
	Gear             int
	FromRPM, ToRPM   float64
	FromKmh, ToKmh   float64
	Seconds, LengthM float64 // about, on a level road
}

func (p PullOffer) String() string {
	return fmt.Sprintf("gear %d, floored from %.0f rpm (%.0f km/h) to %.0f rpm (%.0f km/h): about %.0f s and %.0f m of road, and as much again to slow down",
		p.Gear, p.FromRPM, p.FromKmh, p.ToRPM, p.ToKmh, math.Ceil(p.Seconds), math.Ceil(p.LengthM/50)*50)
}

// A pull goes from well below the torque peak to well above it; where the peak lies is not in the vehicle file, and these shares of the
// limiter's speed hold it in petrol and diesel engines alike (common practice, no source).
const (
	pullFrom = 0.30
	pullTo   = 0.75
)

// usualTorque is the torque per mass (N m per kg) of a modest car, where the clutch's rating does not say more (common practice, no
// source). Too little only makes the road longer than needed.
const usualTorque = 0.11

// Offers returns the pulls that reach pullTo within the limit, highest gear first, never first gear. The reason is given when there is
// none. limitKmh 0 means no limit was told.
func Offers(v *vehicle.Vehicle, limitKmh float64) (offers []PullOffer, whyNone string) {
	if v == nil || v.RollingCircumference == 0 || len(v.Gearbox.Ratios) == 0 {
		return nil, "gear and road of a pull need a vehicle file with ratios and tyre"
	}
	top := v.Engine.LimitRPM
	if top == 0 {
		top = 6000
	}
	from, to := math.Max(pullFrom*top, v.Engine.IdleRPM+600), pullTo*top
	for gear := len(v.Gearbox.Ratios); gear >= 2; gear-- {
		k := v.RPMPerKmh(gear)
		if limitKmh > 0 && to/k > limitKmh {
			continue
		}
		p := PullOffer{Gear: gear, FromRPM: from, ToRPM: to, FromKmh: from / k, ToKmh: to / k}
		p.Seconds, p.LengthM = stretch(v, gear, p.FromKmh/3.6, p.ToKmh/3.6)
		if p.LengthM > 0 {
			offers = append(offers, p)
		}
	}
	if len(offers) == 0 {
		k := v.RPMPerKmh(min(2, len(v.Gearbox.Ratios)))
		return nil, fmt.Sprintf("no pull is reachable within %.0f km/h (second gear needs %.0f km/h): use rollers, or a closed course", limitKmh, to/k)
	}
	return offers, ""
}

// stretch integrates a full-load pull from speed a to b (m/s) on a level road and returns time and length; zeros when the car
// would not get there.
func stretch(v *vehicle.Vehicle, gear int, a, b float64) (seconds, metres float64) {
	torque := usualTorque * v.Mass
	if v.Clutch != nil && v.Clutch.TorqueRating > 0 {
		torque = v.Clutch.TorqueRating / 1.5
	}
	g := v.TotalRatio(gear)
	mass := v.Mass * (1.04 + 0.0025*g*g) // Gillespie's mass factor (from memory)
	load := vehicle.RoadLoad{F0: 0.012 * 9.81 * v.Mass, F2: 0.45}
	if v.RoadLoad != nil {
		load = *v.RoadLoad
	}
	if v.Mass == 0 || v.Radius() == 0 {
		return 0, 0
	}
	const step = 0.05
	for speed := a; speed < b; {
		acc := (torque*g*v.Gearbox.Efficiency/v.Radius() - load.Force(speed)) / mass
		if acc < 0.1 || seconds > 120 {
			return 0, 0
		}
		metres += speed*step + acc*step*step/2
		speed += acc * step
		seconds += step
	}
	return seconds, metres
}
