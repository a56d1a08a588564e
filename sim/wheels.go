package sim

import "math"

// roll advances the car with nothing on its driven wheels.
func (p *plant) roll(drag, dt float64) {
	p.pull = 0
	p.spinning = false
	p.relax(dt)
	p.move(-(drag+p.braking())/p.moving, drag, dt)
	p.tread = p.v * (1 + p.creep)
}

// move changes the car's speed at accel m/s^2 and books the work of road and brake; the car never rolls back.
func (p *plant) move(accel, drag, dt float64) {
	before := p.v
	p.v = max(0, before+accel*dt)
	p.accel += (accel - p.accel) * min(1, dt/0.3)
	mean := 0.5 * (before + p.v)
	p.ledger.road += drag * mean * dt
	p.ledger.brake += p.braking() * mean * dt
}

// relax lets the creep of the tyre follow its force and returns its rate in 1/s.
func (p *plant) relax(dt float64) float64 {
	t := &p.car.Tyre
	want := t.Creep * p.pull / (p.mass * gravity) * p.softening()
	rate := (want - p.creep) / max(t.CreepTau, 2*dt)
	p.creep += rate * dt
	return rate
}

// wheels advances the car in gear with a torque (N m) at the gearbox input and an inertia (kg m^2) that turns with it.
func (p *plant) wheels(torque, inertia, drag, dt float64) {
	k := p.ratio()
	grip := p.grip()
	if p.spinning {
		p.spin(torque, inertia, drag, grip*0.93, k, dt)
		return
	}
	creep := p.creep
	rate := p.relax(dt)
	// One efficiency when the engine drives, its inverse when the road does.
	eta := p.eta
	accel, shaft := p.drive(torque, inertia, drag+p.braking(), eta, k, creep, rate)
	if shaft < 0 {
		eta = 1 / eta
		accel, shaft = p.drive(torque, inertia, drag+p.braking(), eta, k, creep, rate)
	}
	p.pull = eta * k * shaft
	if p.pull > grip {
		p.spinning = true
		p.creep = creep
		p.spin(torque, inertia, drag, grip*0.93, k, dt)
		return
	}
	was := p.tread
	p.move(accel, drag, dt)
	p.tread = p.v * (1 + p.creep)
	p.wi = k * p.tread
	mean := 0.5 * (was + p.tread)
	p.ledger.gearbox += (shaft*k - p.pull) * mean * dt
	p.ledger.gearbox += gearboxDrag * k * mean * dt
	p.ledger.tyre += p.pull * (mean - mean/(1+p.creep)) * dt
}

// drive returns the car's acceleration in m/s^2 and the torque at the gearbox input that is left for the wheels.
// From eta k (T - I dw/dt) - R = M dv/dt with w = k (1+creep) v.
func (p *plant) drive(torque, inertia, resist, eta, k, creep, rate float64) (accel, shaft float64) {
	if p.freeRate != 0 {
		torque -= inertia * p.freeRate * (1 + creep) * p.v
	}
	accel = eta*k*(torque-inertia*k*p.v*rate) - resist
	accel /= p.moving + eta*k*k*(1+creep)*inertia
	return accel, torque - inertia*k*((1+creep)*accel+p.v*rate)
}

// spin advances the car with its driven wheels sliding under a force of slide N.
func (p *plant) spin(torque, inertia, drag, slide, k, dt float64) {
	slide = min(slide, p.grip())
	before, was := p.v, p.tread
	p.pull = slide
	p.move((slide-drag-p.braking())/(p.moving-p.driven), drag, dt)
	p.tread = max(0, p.tread+(p.eta*k*torque-slide)/(p.driven+p.eta*k*k*inertia)*dt)
	p.wi = k * p.tread
	mean := 0.5 * (was + p.tread)
	shaft := torque - inertia*k*(p.tread-was)/dt
	p.ledger.gearbox += ((1-p.eta)*shaft + gearboxDrag) * k * mean * dt
	p.ledger.tyre += slide * (mean - 0.5*(before+p.v)) * dt
	limit := p.car.Tyre.Creep * p.road.Mu * p.car.Tyre.LoadShare
	if p.car.Tyre.Brush {
		limit *= 3 // the brush model's slip at the grip, over the linear one's
	}
	if p.tread <= p.v*(1+limit) {
		p.spinning = false
		p.creep = 0
		if p.v > 0.5 {
			p.creep = p.tread/p.v - 1
		}
	}
}

// heat warms and cools clutch, oil and coolant.
func (p *plant) heat(dt float64) {
	c := &p.car.Clutch
	power := 0.0
	if p.clutch == Slipping {
		power = math.Abs(p.torque * (p.we - p.wi))
	}
	flow := (p.surface - p.body) * c.SurfaceHeat / c.SurfaceTau
	p.surface += (power - flow) / c.SurfaceHeat * dt
	p.body += (flow/c.BodyHeat - (p.body-70)/c.CoolTau) * dt
	work := max(0, p.motor.given*p.we) / 1000 // kW
	p.coolant += (p.car.Engine.Warm - p.coolant) / 300 * dt
	p.oil += (p.car.Engine.Warm - 4 + 0.2*work - p.oil) / 500 * dt
}
