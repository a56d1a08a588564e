package motion

// measurement is what is known of road speed at one moment (km/h): the displayed speed, and where the clutch is
// surely locked the speed that engine speed stands for. A variance of 0 means that there is none.
type measurement struct {
	t             float64
	speed, speedR float64
	engine, engnR float64
}

// State is road speed (km/h) and acceleration (km/h/s) with the variance of each.
type State struct{ V, A, VarV, VarA float64 }

// jerkDensity is the spectral density of the white jerk that moves the car, (km/h/s)^2/s.
const jerkDensity = 9.0

// smooth is the fixed-interval smoother of Rauch, Tung and Striebel (AIAA Journal 3, 1965; from memory) for a
// car whose acceleration is a random walk. It uses engine speed where that is road speed and falls back on the
// speed steps inside a slip. Moments must rise. Gaps longer than 5 s are bridged with little certainty only.
func smooth(z []measurement) []State {
	n := len(z)
	out := make([]State, n)
	if n == 0 {
		return out
	}
	type step struct{ v, a, p11, p12, p22 float64 } // filtered
	f := make([]step, n)
	x := step{v: z[0].speed, p11: 25, p22: 100}
	for i := range z {
		if i > 0 {
			x = predict(x.v, x.a, x.p11, x.p12, x.p22, z[i].t-z[i-1].t)
		}
		for _, m := range [2][2]float64{{z[i].speed, z[i].speedR}, {z[i].engine, z[i].engnR}} {
			if m[1] <= 0 {
				continue
			}
			s := x.p11 + m[1]
			k1, k2 := x.p11/s, x.p12/s
			r := m[0] - x.v
			x.v += k1 * r
			x.a += k2 * r
			x.p11, x.p12, x.p22 = (1-k1)*x.p11, (1-k1)*x.p12, x.p22-k2*x.p12
		}
		f[i] = x
	}
	out[n-1] = State{x.v, x.a, x.p11, x.p22}
	sv, sa, s11, s12, s22 := x.v, x.a, x.p11, x.p12, x.p22
	for i := n - 2; i >= 0; i-- {
		dt := z[i+1].t - z[i].t
		c := f[i]
		p := predict(c.v, c.a, c.p11, c.p12, c.p22, dt)
		// gain G = P F' Pp^-1
		a11, a12 := c.p11+dt*c.p12, c.p12
		a21, a22 := c.p12+dt*c.p22, c.p22
		det := p.p11*p.p22 - p.p12*p.p12
		g11, g12 := (a11*p.p22-a12*p.p12)/det, (a12*p.p11-a11*p.p12)/det
		g21, g22 := (a21*p.p22-a22*p.p12)/det, (a22*p.p11-a21*p.p12)/det
		dv, da := sv-p.v, sa-p.a
		d11, d12, d22 := s11-p.p11, s12-p.p12, s22-p.p22
		sv, sa = c.v+g11*dv+g12*da, c.a+g21*dv+g22*da
		h11, h12 := g11*d11+g12*d12, g11*d12+g12*d22
		h21, h22 := g21*d11+g22*d12, g21*d12+g22*d22
		s11 = c.p11 + h11*g11 + h12*g12
		s12 = c.p12 + h11*g21 + h12*g22
		s22 = c.p22 + h21*g21 + h22*g22
		out[i] = State{sv, sa, s11, s22}
	}
	return out
}

// predict moves a state and its covariance on by dt.
func predict(v, a, p11, p12, p22, dt float64) struct{ v, a, p11, p12, p22 float64 } {
	q := jerkDensity
	return struct{ v, a, p11, p12, p22 float64 }{
		v: v + dt*a, a: a,
		p11: p11 + 2*dt*p12 + dt*dt*p22 + q*dt*dt*dt/3,
		p12: p12 + dt*p22 + q*dt*dt/2,
		p22: p22 + q*dt,
	}
}
