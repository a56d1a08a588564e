package motion

// measurement is what is known of road speed at one moment (km/h): the displayed speed, and where the clutch is
// surely locked the speed that engine speed stands for. A variance of 0 means that there is none.
type measurement struct{ speed, speedR, engine, engnR float64 }

// both is what the two tell together, with its variance.
func (m measurement) both() (speed, variance float64) {
	if m.engnR <= 0 {
		return m.speed, m.speedR
	}
	w := m.speedR / (m.speedR + m.engnR)
	return m.speed + w*(m.engine-m.speed), w * m.engnR
}

// State is road speed (km/h) and acceleration (km/h/s) with the variance of each, which a few digits tell.
type State struct {
	V, A       float64
	VarV, VarA float32
}

// jerkDensity is the spectral density of the white jerk that moves the car, (km/h/s)^2/s.
const jerkDensity = 9.0

// estimate is road speed (km/h) and acceleration (km/h/s) at a moment.
type estimate struct {
	course
	spread
}

type course struct{ v, a float64 }

// spread is the covariance of an estimate.
type spread struct{ p11, p12, p22 float64 }

// state is an estimate without what speed and acceleration have in common.
func (x *estimate) state() State { return State{x.v, x.a, float32(x.p11), float32(x.p22)} }

// smooth is the fixed-interval smoother of Rauch, Tung and Striebel (AIAA Journal 3, 1965; from memory) for a
// car whose acceleration is a random walk. It uses engine speed where that is road speed and falls back on the
// speed steps inside a slip. Moments t (s) must rise; at gives what was measured at each. Gaps longer than 5 s are
// bridged with little certainty only. What comes out lies in the memory of x, as far as that goes.
func smooth(t []float64, at func(i int) measurement, x []estimate) []estimate {
	if cap(x) < len(t) {
		x = make([]estimate, len(t))
	}
	x = x[:len(t)]
	for i := range t { // what was measured until then
		m := at(i)
		now, p := course{v: m.speed}, spread{p11: 25, p22: 100}
		if i > 0 {
			dt := t[i] - t[i-1]
			now, p = x[i-1].course.after(dt), x[i-1].spread.after(dt)
		}
		speed, variance := m.both()
		x[i].course, x[i].spread = now.with(p, speed, variance), p.with(variance)
	}
	for i := len(t) - 2; i >= 0; i-- { // and all that was measured
		x[i].back(&x[i+1], t[i+1]-t[i])
	}
	return x
}

// after is where the car is after so many s.
func (x course) after(dt float64) course { return course{x.v + dt*x.a, x.a} }

// after is how well that is known.
func (p spread) after(dt float64) spread {
	const q = jerkDensity
	return spread{
		p11: p.p11 + 2*dt*p.p12 + dt*dt*p.p22 + q*dt*dt*dt/3,
		p12: p.p12 + dt*p.p22 + q*dt*dt/2,
		p22: p.p22 + q*dt,
	}
}

// with is an estimate with a speed that was measured, and its variance.
func (x course) with(p spread, speed, variance float64) course {
	r := (speed - x.v) / (p.p11 + variance)
	return course{x.v + p.p11*r, x.a + p.p12*r}
}

// with is how well that is known.
func (p spread) with(variance float64) spread {
	s := 1 / (p.p11 + variance)
	left := variance * s
	return spread{left * p.p11, left * p.p12, p.p22 - p.p12*p.p12*s}
}

// back brings what is known of a moment dt later to where the filter had c.
func (c *estimate) back(later *estimate, dt float64) {
	x, s, f, p := later.course, later.spread, c.spread, c.spread.after(dt)
	// gain G = P F' Pp^-1
	a11, a12 := f.p11+dt*f.p12, f.p12
	a21, a22 := f.p12+dt*f.p22, f.p22
	d := 1 / (p.p11*p.p22 - p.p12*p.p12)
	g11, g12 := (a11*p.p22-a12*p.p12)*d, (a12*p.p11-a11*p.p12)*d
	g21, g22 := (a21*p.p22-a22*p.p12)*d, (a22*p.p11-a21*p.p12)*d
	to := c.course.after(dt)
	dv, da := x.v-to.v, x.a-to.a
	d11, d12, d22 := s.p11-p.p11, s.p12-p.p12, s.p22-p.p22
	h11, h12 := g11*d11+g12*d12, g11*d12+g12*d22
	h21, h22 := g21*d11+g22*d12, g21*d12+g22*d22
	c.course = course{c.v + g11*dv + g12*da, c.a + g21*dv + g22*da}
	c.spread = spread{f.p11 + h11*g11 + h12*g12, f.p12 + h11*g21 + h12*g22, f.p22 + h21*g21 + h22*g22}
}
