package sim

// Automatic is a gearbox that takes its gears by itself. The vehicle's ratios are its gears; a stepless one moves
// between the first and the last.
type Automatic struct {
	Stepless   bool
	DualClutch bool // two clutches that hand over; else a converter
	Converter  Converter

	LockFromKmh float64 // road speed from which the converter's clutch closes in third and higher (any gear if stepless); 0: it never does
	OpensFrom   float64 // pedal from which that clutch is opened, so that the converter multiplies; 0: it is not
	SlipRPM     float64 // slip that the clutch is held at when closed, against noise; 0: it sticks
	ShiftS      float64 // s that a change of gear takes
	Eager       float64 // 0-1: how high it revs for a given foot
	HeldGear    int     // gear that the driver has chosen by hand; 0: it chooses
}

// Converter is a hydrodynamic torque converter. Pump torque is Capacity w^2 from stall to the bend of the curve,
// then falls to nothing at equal speeds; turbine torque is up to StallRatio times that, falling linearly to one at
// the coupling point (the usual shape of measured curves, from memory).
type Converter struct {
	Capacity   float64 // N m per (rad/s)^2
	StallRatio float64 // torque ratio at stall (1.8-2.4)
	Coupling   float64 // speed ratio from which it no longer multiplies (0.84-0.9)
	Bend       float64 // speed ratio from which pump torque falls (0.7-0.85)
}

// torques returns what the pump takes and the turbine gives, N m, at their speeds in rad/s. Driven backwards it
// brakes without multiplying.
func (c *Converter) torques(pump, turbine float64) (in, out float64) {
	if pump <= 0 && turbine <= 0 {
		return 0, 0
	}
	if turbine > pump {
		in = -c.Capacity * turbine * turbine * min(1, (1-pump/turbine)/(1-c.Bend))
		return in, in
	}
	ratio := turbine / pump
	in = c.Capacity * pump * pump * min(1, (1-ratio)/(1-c.Bend))
	return in, in * (1 + (c.StallRatio-1)*max(0, 1-ratio/c.Coupling))
}

// ratio is engine rad/s per m/s of tread now.
func (p *plant) ratio() float64 {
	if p.free > 0 {
		return p.free
	}
	return p.ks[p.gear]
}

// convert adds the converter's torques to those of its clutch, which does not stick now.
func (p *plant) convert() {
	p.extra = 0
	a := p.car.Auto
	if a == nil || a.DualClutch || p.gear == 0 {
		return
	}
	in, out := a.Converter.torques(p.we, p.wi)
	p.torque += in
	p.extra = out - in
}
