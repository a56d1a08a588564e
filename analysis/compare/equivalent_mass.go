package compare

import (
	"math"

	"flywitness/analysis/slip"
	"flywitness/analysis/torquecurve"
	"flywitness/finding"
	"flywitness/vehicle"
)

const (
	usualSpeed = 4000 // rpm at which a power is stated when neither the engine's limit nor a pull tells better
	lowSpeed   = 1500 // rpm from which a span of road speed begins
	beyond     = 1.1  // times the fastest pull's road speed up to which the drag of air is taken to be known
	spanEnd    = 0.9  // of the limit, up to which a span of road speed goes
	leastSpan  = 10   // km/h
	leastGain  = 0.15 // m/s^2, below which a span has ended: the car hardly gets there
	// How far the torque of one gear may be from that of another at one engine speed, relative: heat, ram air,
	// boost. Common practice, no source.
	gearsDiffer = 0.015
	blindSD     = 0.05 // relative, of a torque from the strongest pulls where nothing tells full load
	// Wheel force over weight from which the tyres of a car with one driven axle may be the limit on a dry
	// road, and with two. Common practice, no source.
	gripOne, gripTwo = 0.5, 0.85
)

// car is what the worth of a change depends on beside the change.
type car struct {
	v       *vehicle.Vehicle
	usual   torquecurve.Car // as it is told; the inertias are filled in
	curve   *torquecurve.Curve
	loadSD  [2]float64 // relative, of rolling and of air, with their covariance
	loadCov float64
}

// value fills what the change is worth in each gear.
func (c *comparison) value() {
	f := c.finding
	if f.Change == nil {
		return
	}
	car := c.car()
	if car == nil {
		c.warn(finding.NoWorthByGear)
		return
	}
	c.fitTorque(car)
	if car.v.Mass <= 0 {
		c.warn(finding.NoPower, finding.Flag("mass", true))
	} else if car.curve == nil {
		c.warn(finding.NoPower)
	}
	c.worth = c.worthOf(car)
	f.ByGear = c.worth.byGear()
	f.SpanTimes = c.worth.spanTimes()
	f.Torque = c.worth.band()
}

// car returns what is known of it; nil when no gearing is.
func (c *comparison) car() *car {
	v := c.after.Vehicle
	if v == nil || v.Mass <= 0 && c.before.Vehicle != nil {
		v = c.before.Vehicle
	}
	if v == nil || v.Radius() <= 0 {
		return nil
	}
	out := &car{v: v}
	u := &out.usual
	u.Mass, u.Rotating = v.Mass, v.InertialMass()-v.Mass
	u.Efficiency = v.Gearbox.Eta()
	u.Gearing = make([]float64, len(v.Gearbox.Ratios)+1)
	known := false
	for g := range v.Gearbox.Ratios {
		u.Gearing[g+1] = v.TotalRatio(g+1) / v.Radius()
		known = known || u.Gearing[g+1] > 0
	}
	if !known {
		return nil
	}
	u.Load, out.loadSD[0], out.loadSD[1] = v.Resistance()
	for _, s := range c.sides() {
		if s.Slip != nil && s.Slip.Road != nil {
			u.Load, out.loadSD, out.loadCov = s.Slip.Road.Load, s.Slip.Road.SD, s.Slip.Road.Covariance
		}
	}
	return out
}

// fitTorque finds the engine's torque from the pulls of both sides. Another calibration of the engine may give
// another torque: then the after side's alone.
func (c *comparison) fitTorque(car *car) {
	if car.v.Mass <= 0 {
		return
	}
	after := c.inertiaAfter(car)
	car.usual.Inertia = [2]float64{after - c.finding.Change.Value, after}
	var sources []torquecurve.Source
	for side, s := range c.sides() {
		if s.Slip == nil || s.Slip.Road == nil || side == 0 && c.blocked != nil &&
			c.blocked.Code == finding.CalibrationDiffers && c.after.Slip != nil {
			continue
		}
		for i, t := range s.Tracks {
			if t == nil || i >= len(s.Logs) || i >= len(s.Slip.Traces) || len(s.Slip.Traces[i].Slope) == 0 {
				continue
			}
			sources = append(sources, torquecurve.Source{Side: side, Log: s.Logs[i], Track: t, Trace: s.Slip.Traces[i],
				Slips: slipsOf(s.Slip, i)})
		}
	}
	points, blind := torquecurve.Gather(sources, car.v, &car.usual)
	if car.curve = torquecurve.Fit(points, &car.usual); car.curve != nil {
		car.curve.Blind = blind
	}
}

// slipsOf are the events of one log.
func slipsOf(f *slip.Finding, input int) (out []slip.Event) {
	for _, e := range f.Events {
		if e.Input == input {
			out = append(out, e)
		}
	}
	return out
}

// inertiaAfter is as measured, else as is usual.
func (c *comparison) inertiaAfter(car *car) float64 {
	if e := c.finding.InertiaAfter; e != nil {
		return e.Value
	}
	return car.v.UsualInertia()
}

// powerSpeed is the engine speed at which a power in a gear is stated: three quarters of the limit, in steps of
// 500 rpm, as far as the pulls go in engine speed and in road speed.
func (k *car) powerSpeed(gear int) float64 {
	rpm := float64(usualSpeed)
	if l := k.v.Engine.LimitRPM; l > 0 {
		rpm = math.Round(0.75*l/500) * 500
	}
	if k.curve == nil {
		return rpm
	}
	high := math.Min(k.curve.High, beyond*k.curve.Fastest(&k.usual)*k.usual.Gearing[gear]*30/math.Pi)
	switch {
	case rpm > high:
		rpm = math.Floor(high/100) * 100
	case rpm < k.curve.Low:
		rpm = math.Ceil(k.curve.Low/100) * 100
	}
	return rpm
}

// span is the stretch of road speed in a gear over which time is saved, km/h in steps of five; ok is false
// where nothing is left.
func (w *worth) span(gear int) (from, to float64, ok bool) {
	k := w.car.usual.Gearing[gear]
	low, high := math.Max(lowSpeed, w.car.curve.Low), w.car.curve.High
	if l := w.car.v.Engine.LimitRPM; l > 0 {
		high = math.Min(high, spanEnd*l)
	}
	kmh := func(rpm float64) float64 { return rpm / rpmAt(1, k) }
	high = math.Min(high, rpmAt(3.6*beyond*w.car.curve.Fastest(&w.car.usual), k))
	from, to = math.Ceil(kmh(low)/5-0.01)*5, math.Floor(kmh(high)/5+0.01)*5
	for to-from >= leastSpan {
		p := w.nominal()
		rpm := rpmAt(to, k)
		if p.car.Full(gear, rpm*math.Pi/30, p.torque.At(rpm), p.after) >= leastGain {
			return from, to, true
		}
		to -= 5
	}
	return 0, 0, false
}

// rpmAt is the engine speed at a road speed in km/h in a gear of k engine rad/s per m/s.
func rpmAt(kmh, k float64) float64 { return kmh / 3.6 * k * 30 / math.Pi }

// saved is the time in s that less inertia saves over a span of road speed in a gear: with F left of the
// engine's torque at the tyres, dt = (M + eta k^2 I)/F dv, of which eta k^2 dI/F is saved.
func (p *state) saved(gear int, from, to float64) float64 {
	k := p.car.Gearing[gear]
	sum, steps := 0.0, perKmh(from, to)
	for i := range int(steps) {
		v := (from + (to-from)*(float64(i)+0.5)/steps) / 3.6
		sum += (to - from) / 3.6 / steps / p.car.Force(gear, v*k, p.torque.At(v*k*30/math.Pi))
	}
	return -p.change * p.car.Efficiency * k * k * sum
}

// perKmh is how many steps a span of road speed has, one for each km/h.
func perKmh(from, to float64) float64 { return math.Max(1, math.Ceil(to-from)) }

// Grip is the wheel force over weight from which the tyres may be the limit.
func (k *car) grip() float64 {
	if k.v.DrivenWheels == 4 {
		return gripTwo
	}
	return gripOne
}

func (w *worth) byGear() (out []ByGear) {
	for gear := 1; gear < len(w.car.usual.Gearing); gear++ {
		if w.car.usual.Gearing[gear] > 0 {
			out = append(out, w.gear(gear))
		}
	}
	return out
}

// gear is what the change is worth in one gear. With k = total ratio / rolling radius and eta the gearbox's
// efficiency:
//
//	equivalent mass    m = -dI k^2, without the gearbox's losses
//	acceleration       a = (eta k T - R) / (M + eta k^2 I_after), T the engine's torque at that speed
//	acceleration gain  eta m / (M + eta k^2 I_after), at equal torque
//	equivalent power   m a v = -dI w alpha
//
// It exists only while accelerating.
func (w *worth) gear(gear int) ByGear {
	rpm := w.car.powerSpeed(gear)
	g := ByGear{Gear: gear, AtRPM: rpm}
	g.EquivalentMass = w.estimate(func(p *state) float64 { return p.equivalentMass(gear) })
	if w.car.v.Mass <= 0 {
		return g
	}
	g.AccelerationGain = w.estimate(func(p *state) float64 { return p.gain(gear) })
	if w.car.curve == nil || !w.car.curve.Covers(rpm) {
		return g
	}
	if a := w.estimate(func(p *state) float64 { return p.acceleration(gear, rpm) }); a.Value > 0 {
		g.Acceleration, g.AtAcceleration = a, a.Value
		g.EquivalentPower = w.estimate(func(p *state) float64 { return p.power(gear, rpm) })
		p := w.nominal()
		force := p.car.Efficiency * p.car.Gearing[gear] * p.torque.At(rpm)
		g.TyresMayLimit = force > w.car.grip()*w.car.v.Mass*vehicle.Gravity
	}
	return g
}

func (p *state) equivalentMass(gear int) float64 {
	k := p.car.Gearing[gear]
	return -p.change * k * k
}

func (p *state) gain(gear int) float64 {
	k := p.car.Gearing[gear]
	eta := p.car.Efficiency
	return 100 * eta * p.equivalentMass(gear) / (p.car.Mass + p.car.Rotating + eta*k*k*p.after)
}

func (p *state) acceleration(gear int, rpm float64) float64 {
	return p.car.Full(gear, rpm*math.Pi/30, p.torque.At(rpm), p.after)
}

// power in kW.
func (p *state) power(gear int, rpm float64) float64 {
	v := rpm * math.Pi / 30 / p.car.Gearing[gear]
	return p.equivalentMass(gear) * p.acceleration(gear, rpm) * v / 1000
}

func (w *worth) spanTimes() (out []SpanTime) {
	out = []SpanTime{}
	if w.car.curve == nil {
		return out
	}
	for gear := 1; gear < len(w.car.usual.Gearing); gear++ {
		if w.car.usual.Gearing[gear] <= 0 {
			continue
		}
		if from, to, ok := w.span(gear); ok {
			out = append(out, w.spanTime(gear, from, to))
		}
	}
	return out
}

func (w *worth) spanTime(gear int, from, to float64) SpanTime {
	p := w.nominal()
	most, steps := 0.0, perKmh(from, to)
	for i := range int(steps) {
		v := (from + (to-from)*float64(i)/steps) / 3.6
		k := p.car.Gearing[gear]
		most = math.Max(most, p.car.Efficiency*k*p.torque.At(v*k*30/math.Pi))
	}
	return SpanTime{Gear: gear, FromKmh: from, ToKmh: to, TyresMayLimit: most > w.car.grip()*w.car.v.Mass*vehicle.Gravity,
		Saved: w.estimate(func(p *state) float64 { return p.saved(gear, from, to) })}
}

// band is the torque curve for the reader; nil without one.
func (w *worth) band() []TorqueAt {
	c := w.car.curve
	if c == nil {
		return nil
	}
	var out []TorqueAt
	for rpm := math.Ceil(c.Low/500) * 500; rpm <= c.High; rpm += 500 {
		out = append(out, TorqueAt{rpm, w.estimate(func(p *state) float64 { return p.torque.At(rpm) })})
	}
	return out
}
