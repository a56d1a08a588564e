package compare

import (
	"math"

	"flywitness/analysis/stats"
	"flywitness/analysis/torquecurve"
	"flywitness/vehicle"

	"gonum.org/v1/gonum/mat"
)

// What a worth rests on, each with its error. All errors are carried together, since they hang together: a mass
// that is wrong is wrong in the inertia, in the torque and in the car that both accelerate.
const (
	byChange  = iota // kg m^2, after minus before
	byAfter          // kg m^2
	byMass           // ln
	byGearing        // ln
	byLosses         // ln of the gearbox's efficiency
	byRolling        // ln
	byAir            // ln
	bySlope          // rise per metre under all pulls
	byKnots          // N m at each knot of the torque curve, and on
)

// worth is everything that what a change is worth is worked out from.
type worth struct {
	car     *car
	value   []float64     // of change and inertia; all others are 0 as told
	cov     *mat.SymDense // of all errors
	ratio   [2]float64    // how an error of the ratio moves change and inertia
	ratioV  float64       // its variance
	ratioDF float64
	driven  [2]float64 // how an error of all that was driven moves change and inertia
	slopeV  float64    // variance of what the slopes under the runs leave in it
	slopeDF float64

	none *state             // without an error
	kept map[movedBy]*state // with one error each
}

// state is the car with one set of errors.
type state struct {
	change, after float64
	car           torquecurve.Car
	torque        torquecurve.Torques
}

// worthOf brings the errors together.
func (c *comparison) worthOf(car *car) *worth {
	f := c.finding
	n := byKnots
	if car.curve != nil {
		n += car.curve.Size()
	}
	w := &worth{car: car, value: []float64{f.Change.Value, c.inertiaAfter(car)}, cov: mat.NewSymDense(n, nil),
		ratioDF: math.Inf(1)}
	v := car.v
	massSD := 0.0
	if v.Mass > 0 {
		massSD = v.MassError()
	}
	gearingSD := v.GearingError()
	lossSD := vehicle.EfficiencySD / car.usual.Efficiency
	w.set(byMass, massSD)
	w.set(byGearing, gearingSD)
	w.set(byLosses, lossSD)
	w.set(byRolling, car.loadSD[0])
	w.set(byAir, car.loadSD[1])
	w.cov.SetSym(byRolling, byAir, car.loadCov)
	c.inertiaErrors(w, massSD, gearingSD, lossSD)
	if car.curve != nil {
		w.curveErrors()
	}
	return w
}

func (w *worth) set(i int, sd float64) { w.cov.SetSym(i, i, sd*sd) }

// inertiaErrors fills what change and inertia err by, and how that hangs together with what they were measured with.
func (c *comparison) inertiaErrors(w *worth, massSD, gearingSD, lossSD float64) {
	f := c.finding
	if c.fit == nil {
		w.set(byChange, f.Change.SD)
		w.set(byAfter, vehicle.UsualInertiaSD*w.value[1])
		return
	}
	b, a := math.Exp(c.fit.Theta[0]), math.Exp(c.fit.Theta[1])
	// Of change and inertia after, by the logarithms of both inertias.
	jac := mat.NewDense(2, 2, []float64{-b, a, 0, a})
	var cov mat.Dense
	cov.Product(jac, c.fit.Cov, jac.T())
	for i := range 2 {
		for j := i; j < 2; j++ {
			w.cov.SetSym(i, j, cov.At(i, j))
		}
	}
	moves := func(share []float64) (out [2]float64) {
		for i := range 2 {
			out[i] = jac.At(i, 0)*share[0] + jac.At(i, 1)*share[1]
		}
		return out
	}
	// An inertia from driving goes with the mass, with the gearing to the power of -2 and with the gearbox's efficiency.
	driven := moves(c.joint.moves(c.fit, absolute))
	w.driven = driven
	w.slopeV, w.slopeDF = c.slopes()
	for i := range 2 {
		w.cov.SetSym(i, byMass, driven[i]*massSD*massSD)
		w.cov.SetSym(i, byGearing, -2*driven[i]*gearingSD*gearingSD)
		w.cov.SetSym(i, byLosses, driven[i]*lossSD*lossSD)
	}
	if c.answer != nil && c.joint.has(lnRatio) {
		w.ratio, w.ratioV, w.ratioDF = moves(c.joint.moves(c.fit, lnRatio)), c.joint.variance(lnRatio), c.ratioDF
	}
}

// slopes is the variance that the slopes of the road leave in the logarithm of an inertia from driving, with
// its degrees of freedom; both sides meet the same road.
func (c *comparison) slopes() (variance, df float64) {
	for _, s := range c.sides() {
		if s.Inertia == nil {
			continue
		}
		for _, m := range s.Inertia.Methods {
			if m.Error.Slope > 0 {
				variance, df = math.Max(variance, m.Error.Slope*m.Error.Slope), math.Max(df, m.Error.SlopeDF)
			}
		}
	}
	return variance, df
}

// curveErrors fills what the torque curve errs by.
func (w *worth) curveErrors() {
	c := w.car.curve
	w.set(bySlope, c.SlopeSD())
	nm := c.Of(&w.car.usual).Nm
	common := gearsDiffer
	if c.Blind {
		common = math.Hypot(common, blindSD)
	}
	for i := range nm {
		for j := i; j < len(nm); j++ {
			w.cov.SetSym(byKnots+i, byKnots+j, c.Cov().At(i, j)+common*nm[i]*common*nm[j])
		}
	}
}

// at is the car with errors e.
func (w *worth) at(e []float64) *state {
	p := &state{change: w.value[0] + e[byChange], after: w.value[1] + e[byAfter], car: w.car.usual}
	car := &p.car
	car.Mass *= math.Exp(e[byMass])
	car.Rotating *= math.Exp(e[byMass])
	car.Gearing = make([]float64, len(w.car.usual.Gearing))
	for g, k := range w.car.usual.Gearing {
		car.Gearing[g] = k * math.Exp(e[byGearing])
	}
	car.Efficiency *= math.Exp(e[byLosses])
	car.Load.F0 *= math.Exp(e[byRolling])
	car.Load.F1 *= math.Exp(e[byAir])
	car.Load.F2 *= math.Exp(e[byAir])
	car.Slope = e[bySlope]
	car.Inertia = [2]float64{p.after - p.change, p.after}
	if c := w.car.curve; c != nil {
		p.torque = c.Of(car)
		for i := range p.torque.Nm {
			p.torque.Nm[i] += e[byKnots+i]
		}
	}
	return p
}

// nominal is the car as told and measured.
func (w *worth) nominal() *state {
	if w.none == nil {
		w.none = w.at(make([]float64, w.cov.SymmetricDim()))
	}
	return w.none
}

// estimate is a quantity with what all errors together leave open: the law of propagation of uncertainty (JCGM
// 100, from memory), with degrees of freedom after Satterthwaite, of which the ratio's and the slopes' are few.
func (w *worth) estimate(of func(*state) float64) *stats.Estimate {
	n := w.cov.SymmetricDim()
	grad := mat.NewVecDense(n, nil)
	for i := range n {
		sd := math.Sqrt(w.cov.At(i, i))
		if sd == 0 {
			continue
		}
		h := 0.1 * sd
		grad.SetVec(i, (of(w.moved(i, h))-of(w.moved(i, -h)))/(2*h))
	}
	variance := math.Max(0, mat.Inner(grad, w.cov, grad))
	move := grad.AtVec(byChange)*w.ratio[0] + grad.AtVec(byAfter)*w.ratio[1]
	own := math.Min(variance, move*move*w.ratioV)
	move = grad.AtVec(byChange)*w.driven[0] + grad.AtVec(byAfter)*w.driven[1]
	slope := 0.0
	if w.slopeDF > 0 {
		slope = math.Min(variance-own, move*move*w.slopeV)
	}
	df := stats.Satterthwaite([]float64{own, slope, variance - own - slope},
		[]float64{w.ratioDF, math.Max(w.slopeDF, 1), math.Inf(1)})
	value, half := of(w.nominal()), stats.TQuantile(0.975, df)*math.Sqrt(variance)
	return &stats.Estimate{Value: value, SD: math.Sqrt(variance), CI95: [2]float64{value - half, value + half}}
}

// moved is the car with one error of x; the few that are asked for again and again are kept.
func (w *worth) moved(i int, x float64) *state {
	key := movedBy{i, x}
	if p, ok := w.kept[key]; ok {
		return p
	}
	e := make([]float64, w.cov.SymmetricDim())
	e[i] = x
	p := w.at(e)
	if w.kept == nil {
		w.kept = map[movedBy]*state{}
	}
	w.kept[key] = p
	return p
}

type movedBy struct {
	which int
	by    float64
}
