// Package torquecurve finds the engine's torque at full load over engine speed, with its band, from every pull
// of a car.
//
// What accelerates the car in a pull went through the clutch; what accelerates the engine did not. With k =
// total ratio over rolling radius, eta the gearbox's efficiency and alpha the engine's acceleration, the engine
// gave
//
//	T = (M alpha/k + R(w/k) + m g slope) / (k eta) + I alpha
//
// (Newton with the engine's inertia kept apart; Gillespie, Fundamentals of Vehicle Dynamics, chapter 2, from
// memory). T belongs to the engine alone, so that it holds in every gear.
package torquecurve

import (
	"math"

	"flywitness/vehicle"

	"gonum.org/v1/gonum/mat"
)

// Car is what torque is worked out with. The curve can be asked for another one, to see what an error of it does.
type Car struct {
	Mass       float64   // kg, without what turns
	Rotating   float64   // kg, the wheels' share
	Gearing    []float64 // engine rad/s per m/s of each gear, first is index 1; 0 where it is not known
	Efficiency float64   // of the gearbox
	Load       vehicle.RoadLoad
	Inertia    [2]float64 // kg m^2 of engine, flywheel and clutch, before and after the job
	Slope      float64    // rise per metre by which the slopes under all pulls may be off together; 0 as told
}

// moved is what a force at the tyres accelerates beside the engine, kg.
func (c *Car) moved() float64 { return c.Mass + c.Rotating }

// Full is the car's acceleration on the level in m/s^2 in a gear at w rad/s with a torque of the engine in N m,
// and with an inertia in kg m^2: (eta k T - R) / (M + eta k^2 I).
func (c *Car) Full(gear int, w, torque, inertia float64) float64 {
	k := c.Gearing[gear]
	return c.Force(gear, w, torque) / (c.moved() + c.Efficiency*k*k*inertia)
}

// Force is what is left of the engine's torque at the tyres after road load, N, before anything is accelerated.
func (c *Car) Force(gear int, w, torque float64) float64 {
	k := c.Gearing[gear]
	return c.Efficiency*k*torque - c.Load.Force(w/k)
}

// Point is a moment of a pull at full load.
type Point struct {
	Pull    int // which pull it belongs to
	Side    int // 0 before the job, 1 after it
	Gear    int
	RPM     float64
	Alpha   float64 // rad/s^2
	AlphaSD float64
	Slope   float64 // of the road, rise per metre, and its standard deviation
	SlopeSD float64
}

// torque is the engine's torque at a point if the car is c.
func (p *Point) torque(c *Car) float64 {
	k := c.Gearing[p.Gear]
	w := p.RPM * math.Pi / 30
	force := c.moved()*p.Alpha/k + c.Load.Force(w/k) + c.Mass*vehicle.Gravity*(p.Slope+c.Slope)
	return force/(k*c.Efficiency) + c.Inertia[p.Side]*p.Alpha
}

// perAlpha and perSlope are the torque's derivatives.
func (p *Point) perAlpha(c *Car) float64 {
	k := c.Gearing[p.Gear]
	return c.moved()/(k*k*c.Efficiency) + c.Inertia[p.Side]
}

func (p *Point) perSlope(c *Car) float64 {
	return c.Mass * vehicle.Gravity / (c.Gearing[p.Gear] * c.Efficiency)
}

const (
	knotEvery = 500.0 // rpm
	// bend is how far the torque at a knot may lie from the line through its neighbours, as a share of the
	// highest: full-load curves are smooth. Common practice, no source.
	bend = 0.08
	// repeats is how well an engine repeats its full-load torque from pull to pull: air, fuel, heat. Common
	// practice, no source.
	repeats = 0.01
	// Half of the variance of a slope is the pull's own, half is shared: what was taken for the engine's torque
	// in one pull was so in all.
	ownSlope  = math.Sqrt2 / 2
	fewest    = 6   // points
	narrowest = 800 // rpm that a curve spans at least
)

// Curve is full-load torque over engine speed: straight between knots.
type Curve struct {
	Low, High float64 // rpm that the pulls cover
	Pulls     int
	Blind     bool // full load was not recorded: it is taken from the strongest pulls

	points []Point
	knots  []float64     // rpm
	gain   *mat.Dense    // knots x points: the fit is linear in the points' torques
	cov    *mat.SymDense // of the knots from the points' own errors and the slopes, N m squared
}

// Fit fits the curve to the points of a car; nil where they are too few or too close.
func Fit(points []Point, car *Car) *Curve {
	c := &Curve{points: points, Low: math.Inf(1)}
	highest := 0.0
	pulls := map[int]bool{}
	for i := range points {
		p := &points[i]
		c.Low, c.High = math.Min(c.Low, p.RPM), math.Max(c.High, p.RPM)
		highest = math.Max(highest, p.torque(car))
		pulls[p.Pull] = true
	}
	if c.Pulls = len(pulls); len(points) < fewest || c.High-c.Low < narrowest || highest <= 0 {
		return nil
	}
	n := max(2, 1+int(math.Round((c.High-c.Low)/knotEvery)))
	for i := range n {
		c.knots = append(c.knots, c.Low+(c.High-c.Low)*float64(i)/float64(n-1))
	}
	if !c.solve(car, highest) {
		return nil
	}
	return c
}

// solve sets up the generalised least squares of the knots with one slope error for each pull, of which only
// its spread is known.
func (c *Curve) solve(car *Car, highest float64) bool {
	n, m := len(c.knots), len(c.points)
	index := map[int]int{}
	for i := range c.points {
		if _, ok := index[c.points[i].Pull]; !ok {
			index[c.points[i].Pull] = n + len(index)
		}
	}
	size := n + len(index)
	a := mat.NewSymDense(size, nil)
	add := func(i, j int, x float64) {
		if i > j {
			i, j = j, i
		}
		a.SetSym(i, j, a.At(i, j)+x)
	}
	for i := 0; i+2 < n; i++ { // smooth
		d := [3]float64{1, -2, 1}
		for p := range d {
			for q := p; q < len(d); q++ {
				add(i+p, i+q, d[p]*d[q]/(bend*highest*bend*highest))
			}
		}
	}
	pulled := map[int]float64{}
	rows := mat.NewDense(size, m, nil) // of each point: its factors over its variance
	for i := range c.points {
		p := &c.points[i]
		at, share := c.place(p.RPM)
		sd := math.Hypot(p.perAlpha(car)*p.AlphaSD, repeats*highest)
		q := index[p.Pull]
		factors := []struct {
			i int
			x float64
		}{{at, 1 - share}, {at + 1, share}, {q, p.perSlope(car)}}
		for k, f := range factors {
			rows.Set(f.i, i, rows.At(f.i, i)+f.x/(sd*sd))
			for _, g := range factors[k:] {
				add(f.i, g.i, f.x*g.x/(sd*sd))
			}
		}
		pulled[q] = math.Max(pulled[q], ownSlope*p.SlopeSD)
	}
	for q, sd := range pulled {
		add(q, q, 1/(sd*sd+1e-10))
	}
	var ch mat.Cholesky
	if !ch.Factorize(a) {
		return false
	}
	var inverse mat.SymDense
	var gain mat.Dense
	if ch.InverseTo(&inverse) != nil || ch.SolveTo(&gain, rows) != nil {
		return false
	}
	c.cov = mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			c.cov.SetSym(i, j, inverse.At(i, j))
		}
	}
	c.gain = mat.DenseCopyOf(gain.Slice(0, n, 0, m))
	return true
}

// Fastest is the highest road speed in m/s at which a pull showed the torque.
func (c *Curve) Fastest(car *Car) float64 {
	most := 0.0
	for i := range c.points {
		most = math.Max(most, c.points[i].RPM*math.Pi/30/car.Gearing[c.points[i].Gear])
	}
	return most
}

// place returns the knot at or below an engine speed and how far beyond it that is, as a share of the way to the next.
func (c *Curve) place(rpm float64) (int, float64) {
	step := c.knots[1] - c.knots[0]
	u := math.Max(0, math.Min(float64(len(c.knots)-1), (rpm-c.knots[0])/step))
	i := min(len(c.knots)-2, int(u))
	return i, u - float64(i)
}

// SlopeSD is the standard deviation of the error that the slopes under all pulls have in common.
func (c *Curve) SlopeSD() float64 {
	sum := 0.0
	for i := range c.points {
		sum += c.points[i].SlopeSD
	}
	return ownSlope * sum / float64(len(c.points))
}

// Size is the number of knots.
func (c *Curve) Size() int { return len(c.knots) }

// Cov is the covariance of the knots from what the pulls themselves do not tell.
func (c *Curve) Cov() *mat.SymDense { return c.cov }

// Of returns the torques at the knots in N m for a car, which need not be the one that the curve was fitted for.
func (c *Curve) Of(car *Car) Torques {
	y := mat.NewVecDense(len(c.points), nil)
	for i := range c.points {
		y.SetVec(i, c.points[i].torque(car))
	}
	out := mat.NewVecDense(len(c.knots), nil)
	out.MulVec(c.gain, y)
	return Torques{c, out.RawVector().Data}
}

// Torques is a curve for one car. Nm stands at the knots and may be changed.
type Torques struct {
	curve *Curve
	Nm    []float64
}

// At is the torque in N m at an engine speed; outside of what the pulls cover it is that at the end.
func (t Torques) At(rpm float64) float64 {
	i, share := t.curve.place(rpm)
	return t.Nm[i]*(1-share) + t.Nm[i+1]*share
}

// Covers tells whether the pulls reach an engine speed.
func (c *Curve) Covers(rpm float64) bool { return rpm >= c.Low-1 && rpm <= c.High+1 }
