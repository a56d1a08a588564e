package motion

import "flywitness/internal/parts"

// measurement is what is known of road speed at one moment (km/h): the displayed speed, and where the clutch is
// surely locked the speed that engine speed stands for. A variance of 0 means that there is none.
type measurement struct{ speed, speedR, engine, engnR float64 }

// State is road speed (km/h) and acceleration (km/h/s) with the variance of each.
type State struct{ V, A, VarV, VarA float64 }

// jerkDensity is the spectral density of the white jerk that moves the car, (km/h/s)^2/s.
const jerkDensity = 9.0

// estimate is road speed and acceleration at a moment with their covariance.
type estimate struct{ v, a, p11, p12, p22 float64 }

// smooth is the fixed-interval smoother of Rauch, Tung and Striebel (AIAA Journal 3, 1965; from memory) for a
// car whose acceleration is a random walk. It uses engine speed where that is road speed and falls back on the
// speed steps inside a slip. Moments t (s) must rise; at gives what was measured at each. Gaps longer than 5 s are
// bridged with little certainty only.
func smooth(t []float64, at func(i int) measurement) []State {
	return smoothInParts(t, at, partMoments)
}

// partMoments is how many moments a part of a drive has that is filtered for itself.
const partMoments = 1 << 15

// The filter soon forgets how it began, to the last bit. So every part of a drive is filtered as if it were a
// drive of its own; then what came before is carried on into it until it makes no difference any more. That is
// the filter of the whole drive, worked out on all cores. The way back is the same from the end, in the same
// memory.

// smoother is the estimate at every moment: of forward from what was measured until then, of backward from all
// that was measured.
type smoother struct {
	t     []float64
	at    func(i int) measurement
	state []State
	cov   []float64    // of speed and acceleration
	ends  [][]estimate // the last estimates of forward in each part, which backward writes over
}

// longestMemory is how many moments before the end of a part the way back may need once more.
const longestMemory = 1024

func smoothInParts(t []float64, at func(i int) measurement, part int) []State {
	n := len(t)
	s := &smoother{t: t, at: at, state: make([]State, n), cov: make([]float64, n)}
	if s.forward(part); !s.backward(part) {
		s.forward(n)
		s.backward(n)
	}
	return s.state
}

func (s *smoother) get(i int) estimate {
	x := &s.state[i]
	return estimate{x.V, x.A, x.VarV, s.cov[i], x.VarA}
}

func (s *smoother) put(i int, x *estimate) {
	s.state[i], s.cov[i] = State{x.v, x.a, x.p11, x.p22}, x.p12
}

// forward filters the drive in parts.
func (s *smoother) forward(part int) {
	n := len(s.t)
	parts.Each(n, part, func(lo, hi int) {
		first := s.at(lo)
		x := estimate{v: first.speed, p11: 25, p22: 100}
		x.take(first.speed, first.speedR)
		x.take(first.engine, first.engnR)
		s.put(lo, &x)
		for i := lo + 1; i < hi; i++ {
			s.next(&x, i)
			s.put(i, &x)
		}
	})
	for lo := part; lo < n; lo += part {
		x := s.get(lo - 1)
		for i := lo; i < min(n, lo+part); i++ {
			if s.next(&x, i); x == s.get(i) {
				break
			}
			s.put(i, &x)
		}
	}
}

// next makes the estimate of the moment before that at moment i.
func (s *smoother) next(x *estimate, i int) {
	*x = x.after(s.t[i] - s.t[i-1])
	m := s.at(i)
	x.take(m.speed, m.speedR)
	x.take(m.engine, m.engnR)
}

// backward turns the estimates of forward into those from all that was measured. false: a part was not forgotten
// within the longest memory, and the drive must be smoothed as one.
func (s *smoother) backward(part int) bool {
	n := len(s.t)
	if n == 0 {
		return true
	}
	s.ends = make([][]estimate, (n+part-1)/part)
	parts.Each(n, part, func(lo, hi int) { s.partBack(lo, hi, lo/part) })
	for k := len(s.ends) - 2; k >= 0; k-- {
		if !s.carryBack(k*part, (k+1)*part, s.ends[k]) {
			return false
		}
	}
	return true
}

// partBack smooths moments [lo, hi), part k, for themselves.
func (s *smoother) partBack(lo, hi, k int) {
	for i := max(lo, hi-longestMemory); i < hi; i++ {
		s.ends[k] = append(s.ends[k], s.get(i))
	}
	x := s.get(hi - 1)
	for i := hi - 2; i >= lo; i-- {
		f := s.get(i)
		x.before(&f, s.t[i+1]-s.t[i])
		s.put(i, &x)
	}
}

// carryBack carries what comes from moment hi on back into [lo, hi) until it makes no difference any more; end are
// the estimates of forward before hi. It returns false when they end first.
func (s *smoother) carryBack(lo, hi int, end []estimate) bool {
	x := s.get(hi)
	for i := hi - 1; i >= hi-len(end); i-- {
		if x.before(&end[i-hi+len(end)], s.t[i+1]-s.t[i]); x == s.get(i) {
			return true
		}
		s.put(i, &x)
	}
	return hi-len(end) == lo
}

// take takes a speed that was measured, and its variance, into an estimate.
func (x *estimate) take(speed, variance float64) {
	if variance <= 0 {
		return
	}
	s := x.p11 + variance
	k1, k2 := x.p11/s, x.p12/s
	r := speed - x.v
	x.v += k1 * r
	x.a += k2 * r
	x.p11, x.p12, x.p22 = (1-k1)*x.p11, (1-k1)*x.p12, x.p22-k2*x.p12
}

// before moves a smoothed estimate back by dt, to where the filter had c.
func (s *estimate) before(c *estimate, dt float64) {
	p := c.after(dt)
	// gain G = P F' Pp^-1
	a11, a12 := c.p11+dt*c.p12, c.p12
	a21, a22 := c.p12+dt*c.p22, c.p22
	det := p.p11*p.p22 - p.p12*p.p12
	g11, g12 := (a11*p.p22-a12*p.p12)/det, (a12*p.p11-a11*p.p12)/det
	g21, g22 := (a21*p.p22-a22*p.p12)/det, (a22*p.p11-a21*p.p12)/det
	dv, da := s.v-p.v, s.a-p.a
	d11, d12, d22 := s.p11-p.p11, s.p12-p.p12, s.p22-p.p22
	h11, h12 := g11*d11+g12*d12, g11*d12+g12*d22
	h21, h22 := g21*d11+g22*d12, g21*d12+g22*d22
	*s = estimate{v: c.v + g11*dv + g12*da, a: c.a + g21*dv + g22*da,
		p11: c.p11 + h11*g11 + h12*g12,
		p12: c.p12 + h11*g21 + h12*g22,
		p22: c.p22 + h21*g21 + h22*g22}
}

// after moves an estimate on by dt.
func (x *estimate) after(dt float64) estimate {
	q := jerkDensity
	return estimate{
		v: x.v + dt*x.a, a: x.a,
		p11: x.p11 + 2*dt*x.p12 + dt*dt*x.p22 + q*dt*dt*dt/3,
		p12: x.p12 + dt*x.p22 + q*dt*dt/2,
		p22: x.p22 + q*dt,
	}
}
