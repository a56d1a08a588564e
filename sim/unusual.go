package sim

import "math"

// unusual is the resistance in N that no road-load polynomial of second order holds.
func (p *plant) unusual() float64 {
	c := p.car
	if c.CubicDrag == 0 && c.ColdDrag == 0 {
		return 0
	}
	rolled := p.x * p.dir
	return c.CubicDrag*p.v*p.v*p.v + c.ColdDrag*c.Vehicle.RoadLoad.F0*math.Exp(-math.Abs(rolled)/coldRoad)
}

const coldRoad = 8000 // m, over which tyres and bearings warm: about ten minutes of driving

// grip is the greatest force in N that the driven tyres can pass on.
func (p *plant) grip() float64 {
	t := &p.car.Tyre
	share := t.LoadShare
	if t.Transfer != 0 {
		share = max(0.2, min(0.9, share+t.Transfer*p.accel/gravity))
	}
	return p.road.Mu * share * p.mass * gravity
}

// braking is the force in N of the brakes: all wheels brake, and hold what the road does.
func (p *plant) braking() float64 { return min(p.brake, p.road.Mu*p.mass*gravity) }

// softening is how much more a tyre creeps than its stiffness at small force says. Brush model with a parabolic
// pressure: force over grip is 1 - (1 - s)^3 with s the creep over that of full sliding (Pacejka, Tyre and Vehicle
// Dynamics, chapter 3, from memory).
func (p *plant) softening() float64 {
	if !p.car.Tyre.Brush {
		return 1
	}
	f := min(1, math.Abs(p.pull)/p.grip())
	if f < 1e-6 {
		return 1
	}
	return 3 * (1 - math.Cbrt(1-f)) / f
}

// control is traction control: it takes torque away quickly and gives it back slowly.
func (p *plant) control(dt float64) {
	if !p.car.TractionControl {
		return
	}
	if p.gear > 0 && p.tread > 1.06*p.v+0.3 {
		p.allowed = max(0.1, p.allowed-dt/0.15)
	} else {
		p.allowed = min(1, p.allowed+dt/0.8)
	}
	if p.net > 0 {
		p.net *= p.allowed
	}
}

// carried is the torque in N m of a clutch that slides: its kinetic friction, or what the film on its lining shears.
func (p *plant) carried(slide, direction, slip float64) float64 {
	if c := p.car.Clutch.CreepPerNm; c > 0 {
		slide = min(slide, math.Abs(slip)/c)
	}
	return math.Copysign(slide, direction)
}

// neverSticks tells of a clutch whose lining always shears a film.
func (p *plant) neverSticks() bool { return p.car.Clutch.CreepPerNm > 0 }

// shake moves what chance moves: gusts of wind, and a lining that grabs. It draws nothing where there is none.
func (d *run) shake(dt float64) {
	wander := func(x *float64, sd, tau float64) {
		keep := math.Exp(-dt / tau)
		*x = keep**x + sd*math.Sqrt(1-keep*keep)*d.rng.NormFloat64()
	}
	if d.road.GustSD > 0 {
		wander(&d.gust, d.road.GustSD, 3)
	}
	if sd := d.car.Clutch.GrabSD; sd > 0 {
		wander(&d.capacityNoise, sd, 0.3)
	}
}

// bend is the curvature in 1/m of the path at x m along the road at v m/s: no driver goes through a bend at more
// than 4 m/s^2 to the side.
func (r *Road) bend(x, v float64) float64 {
	limit := 4 / max(v*v, 4)
	return max(-limit, min(limit, knot(r.Bends, x/r.Spacing)))
}
