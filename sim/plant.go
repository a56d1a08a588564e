package sim

import "math"

// plant is the car in motion. Two inertias meet at the clutch, wheel and road meet at the tyre; each contact holds or
// slides. Formulas: Newton with the inertias reflected by the ratio k (engine rad/s per m/s of tread), efficiency in
// the direction of power.
type plant struct {
	car    *Car
	road   *Road
	motor  motor
	mass   float64 // kg
	moving float64 // kg, mass and all wheels
	driven float64 // kg, the driven wheels' share of that
	i1, i2 float64 // kg m^2, engine side and gearbox side of the clutch
	ks     []float64
	eta    float64

	we, wi   float64 // rad/s, engine and gearbox input
	v        float64 // m/s over ground
	tread    float64 // m/s of the driven tread
	creep    float64 // tread/v - 1 while the tyre grips
	spinning bool
	clutch   ClutchState
	torque   float64 // N m through the clutch, positive drives
	pull     float64 // N at the driven tyres
	x, dir   float64 // m along the road, and which way
	turned   float64 // rad, crank angle

	oil, coolant, surface, body float64 // C

	pedal, engagement, brake float64 // controls: 0-1, 0-1, N
	gear                     int
	free, freeRate           float64 // rad/s per m/s and its change per s: the ratio while it moves without steps; 0 when it does not
	extra                    float64 // N m that a converter adds behind itself
	accel                    float64 // m/s^2, smoothed: what shifts weight between the axles
	gust                     float64 // m/s, wind on top of the road's
	allowed                  float64 // share of the torque that traction control leaves, 1 for all
	capacityNoise            float64 // relative, of a lining that grabs

	net    float64 // N m, engine net of drag
	ledger ledger
}

// ledger is where the energy went, J.
type ledger struct{ engine, clutch, gearbox, synchro, tyre, road, brake float64 }

const gearboxDrag = 0.8 // N m of the closed-throttle drag that belongs to the gearbox input

func newPlant(car *Car, road *Road) *plant {
	r := car.Vehicle.Radius()
	wheel := car.Vehicle.WheelInertia / (r * r)
	p := &plant{
		car: car, road: road, motor: newMotor(car), mass: car.Vehicle.Mass,
		moving: car.Vehicle.Mass + 4*wheel, driven: float64(car.Vehicle.DrivenWheels) * wheel,
		i1: car.Inertia - car.DiscInertia, i2: car.DiscInertia, eta: car.Vehicle.Gearbox.Efficiency,
		dir: 1, engagement: 1, clutch: Stuck, allowed: 1,
		oil: 90, coolant: car.Engine.Warm, surface: 80, body: 80,
	}
	p.ks = make([]float64, len(car.Vehicle.Gearbox.Ratios)+1)
	for g := 1; g < len(p.ks); g++ {
		p.ks[g] = car.K(g)
	}
	p.we = p.motor.idle
	p.wi = p.we
	return p
}

// kinetic energy of everything, J.
func (p *plant) kinetic() float64 {
	e := 0.5*p.i1*p.we*p.we + 0.5*p.i2*p.wi*p.wi
	if p.spinning {
		return e + 0.5*(p.moving-p.driven)*p.v*p.v + 0.5*p.driven*p.tread*p.tread
	}
	return e + 0.5*p.moving*p.v*p.v
}

// capacities returns what the clutch can hold and what it carries when it slips at a difference of speeds, N m.
func (p *plant) capacities(slip float64) (hold, slide float64) {
	c := &p.car.Clutch
	friction := 1 - c.FadePerK*max(0, p.surface-c.FadeFrom)
	hold = c.Capacity * p.engagement * max(0.25, friction)
	if c.GrabSD > 0 {
		hold *= max(0.2, 1+p.capacityNoise)
	}
	if over := p.we/radPerRPM - c.WeakFromRPM; c.WeakFromRPM > 0 && over > 0 {
		hold *= max(0.3, 1-c.WeakPerKRPM*over/1000)
	}
	return hold, hold * c.Kinetic * (1 + max(-0.3, min(0.1, c.SlopePerRadS*math.Abs(slip))))
}

// step advances everything by dt s.
func (p *plant) step(dt float64) {
	standing := p.v < 0.3
	most := 0.0
	if p.gear > 0 && p.gear <= len(p.car.Engine.GearLimitNm) {
		most = p.car.Engine.GearLimitNm[p.gear-1]
	}
	p.net = p.motor.torque(p.we, p.pedal, p.oil, most, standing, p.gear == 0 || p.engagement < 0.05 && p.car.Auto == nil, dt)
	air := p.car.Vehicle.RoadLoad
	vw := p.v + p.dir*p.road.Wind + p.gust
	drag := air.F0 + air.F1*p.v + air.F2*vw*math.Abs(vw)
	drag += p.mass * gravity * p.dir * p.road.grade(p.x)
	drag += p.unusual()
	p.control(dt)
	hold, slide := p.capacities(p.we - p.wi)
	before := p.we - p.wi
	// The gearbox input's own drag sits behind the clutch.
	front := p.net + gearboxDrag
	was := p.we
	if hold < 1e-9 {
		p.clutch = Open
	} else if p.clutch == Open || p.neverSticks() {
		p.clutch = Slipping
	}
	if p.clutch == Stuck {
		p.torque = p.together(front, drag, dt)
		if math.Abs(p.torque) > hold {
			p.clutch = Slipping
			before = 0
		}
	}
	if p.clutch != Stuck {
		p.torque = 0
		if p.clutch == Slipping {
			p.torque = p.carried(slide, p.direction(before), before)
		}
		p.convert()
		p.apart(front, drag, before, dt)
	}
	p.heat(dt)
	p.x += p.dir * p.v * dt
	p.turned += p.we * dt
	p.ledger.engine += front * 0.5 * (was + p.we) * dt
}

// direction is the sign of the clutch's torque: of the slip, or at the moment of breaking away of what was asked of it.
func (p *plant) direction(slip float64) float64 {
	if slip != 0 {
		return slip
	}
	return p.torque
}

// together advances engine and gearbox input as one and returns the torque through the clutch.
func (p *plant) together(front, drag, dt float64) float64 {
	if p.gear == 0 {
		alpha := (front - gearboxDrag) / (p.i1 + p.i2)
		p.roll(drag, dt)
		p.we = max(0, p.we+alpha*dt)
		p.wi = p.we
		p.ledger.gearbox += gearboxDrag * p.we * dt
		return front - p.i1*alpha
	}
	before := p.wi
	tread, v, creep, spinning, pull := p.tread, p.v, p.creep, p.spinning, p.pull
	p.wheels(front-gearboxDrag, p.i1+p.i2, drag, dt)
	alpha := (p.wi - before) / dt
	torque := front - p.i1*alpha
	hold, _ := p.capacities(0)
	if math.Abs(torque) > hold {
		// It will not hold: undo, the caller lets it slip over this same step.
		p.tread, p.v, p.creep, p.spinning, p.pull, p.wi = tread, v, creep, spinning, pull, before
		return torque
	}
	p.we = p.wi
	return torque
}

// apart advances engine and gearbox input on their own, and joins them when their speeds meet.
func (p *plant) apart(front, drag, before, dt float64) {
	slip := p.we - p.wi
	turned := p.wi
	defer func() {
		p.ledger.clutch += p.torque * 0.5 * (slip + p.we - p.wi) * dt
		if p.extra != 0 {
			p.ledger.clutch -= p.extra * 0.5 * (turned + p.wi) * dt
		}
	}()
	p.we = max(0, p.we+(front-p.torque)/p.i1*dt)
	if p.gear == 0 {
		lag := gearboxDrag
		if p.wi < 1 {
			lag = 0
		}
		p.wi = max(0, p.wi+(p.torque+p.extra-lag)/p.i2*dt)
		p.ledger.gearbox += lag * p.wi * dt
		p.roll(drag, dt)
	} else {
		p.wheels(p.torque+p.extra-gearboxDrag, p.i2, drag, dt)
	}
	after := p.we - p.wi
	if p.clutch == Slipping && !p.neverSticks() && (before*after < 0 || after == 0) {
		p.join()
	}
}

// join sets engine and gearbox input to their common speed, keeping the momentum.
func (p *plant) join() {
	p.clutch = Stuck
	load := p.i2
	if p.gear > 0 && !p.spinning {
		k := p.ratio()
		load += p.moving / (k * k)
	}
	w := (p.i1*p.we + load*p.wi) / (p.i1 + load)
	p.we = w
	p.wi = w
	if p.gear > 0 {
		p.tread = w / p.ratio()
		if !p.spinning {
			p.v = p.tread / (1 + p.creep)
		}
	}
}
