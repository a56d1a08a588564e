package plan

import (
	"math"

	"flywitness/finding"
	"flywitness/vehicle"
)

// Road is what is asked of a full-load pull.
type Road struct {
	SpeedLimit float64 // m/s, 0 when it was not told
	TorquePeak float64 // rpm, 0: 0.6 of the engine's limit
	Torque     float64 // N m at the clutch over the pull, 0: by the peak torque of the vehicle file
	// rpm at which the engine is held by earlier logs of the car; zeros: by what it may rev to
	Holds [2]float64
}

// Pull is a full-load pull: one gear, from below the torque peak to well above it. Where neither flag nor vehicle file
// tells the torque, time and road are given for a weak engine (the longer) and leave the strong one to the driver.
type Pull struct {
	Gear     int     `json:"gear"`
	FromRPM  float64 `json:"from_rpm"`
	ToRPM    float64 `json:"to_rpm"`
	FromKmh  float64 `json:"from_kmh"`
	ToKmh    float64 `json:"to_kmh"`
	Seconds  float64 `json:"duration_s"`
	RoadM    float64 `json:"road_m"` // settling in gear, the pull, and braking to a stop
	Assumed  bool    `json:"torque_assumed"`
	TorqueNm float64 `json:"torque_nm"`
}

// Where a pull begins and ends. Common practice, no source: from half of the torque peak, through it, to a
// tenth above it at the least, and never closer to the limit than a twentieth.
const (
	peakShare  = 0.60 // of the limit, where a petrol engine has its torque peak
	peakDiesel = 0.45
	startShare = 0.55 // of the torque peak
	endShare   = 1.10 // of the torque peak
	limitShare = 0.95 // of the limit
	slowest    = 1200 // rpm; below, engines judder at full load
	lowestGear = 2    // full load in first gear is never asked for
)

// Driving around a pull.
const (
	settleTime   = 3.0  // s in gear at steady speed before it
	braking      = 3.0  // m/s^2 after it
	weakTorque   = 0.09 // N m per kg of car: a small engine in a heavy car; common practice, no source
	meanTorque   = 0.9  // of the peak torque, over a pull about the peak; common practice, no source
	shortestPull = 1.5  // s; a torque is stated over at least that long
	pullSteps    = 200  // of road speed
)

// Drive is what a driver is asked for on the road.
type Drive struct {
	Pulls  []Pull       // within the speed limit, highest gear first
	NoPull finding.Text // why there is none; empty where there is
	// that is for lack of facts and not of road: pulls may be driven all the same, in the highest gear that is
	// lawful
	Untold  bool
	Overrun *Overrun // nil where gearing or limit are not told, or leave no useful span

	RevToRPM float64    // that a free rev has to reach
	HoldsRPM [2]float64 // at which the engine is held
}

// On returns what a car can be asked for on a road.
func On(v *vehicle.Vehicle, road Road) Drive {
	d := Drive{Overrun: planOverrun(v, road.SpeedLimit), RevToRPM: revTo(v)}
	if d.HoldsRPM = road.Holds; d.HoldsRPM[0] == 0 {
		d.HoldsRPM = holdsBelow(d.RevToRPM)
	}
	if why, untold := missing(v); why != "" {
		d.NoPull, d.Untold = finding.Say(finding.New(why)), untold
		return d
	}
	if road.SpeedLimit == 0 {
		d.NoPull, d.Untold = finding.Say(finding.New(finding.StateLimit)), true
		return d
	}
	d.Pulls, d.NoPull = pulls(v, road)
	return d
}

// pulls returns the pulls that stay within the speed limit, highest gear first, or why there is none. The
// engine speeds at which they begin and must end are the same for every gear, so a lower gear needs less road
// speed.
func pulls(v *vehicle.Vehicle, road Road) (out []Pull, whyNone finding.Text) {
	limit := v.Engine.LimitRPM
	peak := road.TorquePeak
	if peak == 0 {
		peak = peakShare * limit
		if v.Engine.Fuel == "diesel" {
			peak = peakDiesel * limit
		}
	}
	need := endShare * peak
	if need > limitShare*limit {
		return nil, finding.Say(finding.New(finding.PeakTooHigh, finding.EngineSpeed("peak", peak),
			finding.EngineSpeed("limit", limit)))
	}
	from := math.Max(slowest, startShare*peak)
	for gear := len(v.Gearbox.Ratios); gear >= lowestGear; gear-- {
		to := math.Min(limitShare*limit, road.SpeedLimit*3.6*v.RPMPerKmh(gear))
		if to < need || from >= to {
			continue
		}
		p := Pull{Gear: gear, FromRPM: from, ToRPM: to, FromKmh: from / v.RPMPerKmh(gear), ToKmh: to / v.RPMPerKmh(gear)}
		var why finding.Finding
		switch carries := p.drive(v, road.Torque); {
		case !carries:
			why = finding.New(finding.NotCarried, finding.Torque("torque", p.TorqueNm), finding.Speed("speed", p.ToKmh),
				finding.Gear(gear))
		case p.Seconds < shortestPull:
			why = finding.New(finding.PullTooBrief, finding.Gear(gear), finding.Duration("lasting", p.Seconds))
		default:
			out = append(out, p)
			continue
		}
		if len(out) == 0 {
			return nil, finding.Say(why)
		}
		break
	}
	if len(out) > 0 {
		return out, nil
	}
	kmh := need / v.RPMPerKmh(lowestGear)
	return nil, finding.Say(finding.New(finding.NotReachable, finding.Gear(lowestGear), finding.Speed("speed", kmh)))
}

// missing tells what a pull cannot be planned without; untold when it is a fact that nobody told.
func missing(v *vehicle.Vehicle) (why finding.Code, untold bool) {
	switch {
	case v == nil:
		return finding.PlanNoVehicle, true
	case v.Gearbox.SlipsByDesign():
		return finding.PlanManualOnly, false
	case v.Radius() == 0 || len(v.Gearbox.Ratios) < lowestGear || v.Gearbox.FinalDrive == 0:
		return finding.PlanNoGearing, true
	case v.Engine.LimitRPM == 0:
		return finding.PlanNoLimit, true
	case v.Mass == 0:
		return finding.PlanNoMass, true
	}
	return "", false
}

// drive works out time and road of the pull by steps of road speed: M a = T k eta - F(v), with k the total
// ratio over the rolling radius and M the car with its wheels and the usual inertia of an engine, I k^2. It
// tells whether the car gets there.
func (p *Pull) drive(v *vehicle.Vehicle, torque float64) bool {
	switch {
	case torque > 0:
	case v.Engine.PeakTorque > 0:
		torque = meanTorque * v.Engine.PeakTorque
	default:
		torque, p.Assumed = weakTorque*v.Mass, true
	}
	p.TorqueNm = torque
	load, _, _ := v.Resistance()
	k := v.TotalRatio(p.Gear) / v.Radius()
	mass := v.InertialMass() + v.UsualInertia()*k*k
	push := torque * k * v.Gearbox.Eta()
	from, to := p.FromKmh/3.6, p.ToKmh/3.6
	p.RoadM = from*settleTime + to*to/(2*braking)
	dv := (to - from) / pullSteps
	for i := range pullSteps {
		at := from + (float64(i)+0.5)*dv
		a := (push - load.Force(at)) / mass
		if a <= 0 {
			return false
		}
		p.Seconds += dv / a
		p.RoadM += at * dv / a
	}
	return true
}

// Overrun is an off-throttle run in gear and the neutral coast beside it, driven over the same stretch.
type Overrun struct {
	Gear    int     `json:"gear"`
	FromRPM float64 `json:"from_rpm"`
	ToRPM   float64 `json:"to_rpm"`
	FromKmh float64 `json:"from_kmh"`
	ToKmh   float64 `json:"to_kmh"`
}

// Where an off-throttle run begins and ends, rpm. Common practice, no source: well below the limiter, down to
// where fuel comes back.
const (
	OverrunFrom  = 5000
	OverrunTo    = 1500
	overrunShare = 0.8 // of the limit; no higher
	overrunSpan  = 1.8 // start over end; less tells next to nothing
)

// planOverrun returns the off-throttle run in second gear; nil when the vehicle file does not give gearing and
// engine limit, or no useful span is left within the speed limit (m/s, 0 for none).
func planOverrun(v *vehicle.Vehicle, speedLimit float64) *Overrun {
	if why, _ := missing(v); why != "" {
		return nil
	}
	start := math.Min(OverrunFrom, overrunShare*v.Engine.LimitRPM)
	if speedLimit > 0 {
		start = math.Min(start, speedLimit*3.6*v.RPMPerKmh(lowestGear))
	}
	if start < overrunSpan*OverrunTo {
		return nil
	}
	k := v.RPMPerKmh(lowestGear)
	return &Overrun{Gear: lowestGear, FromRPM: start, ToRPM: OverrunTo, FromKmh: start / k, ToKmh: OverrunTo / k}
}
