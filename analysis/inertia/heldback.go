package inertia

import (
	"cmp"
	"math"
	"slices"

	"flywitness/analysis/stats"
	"flywitness/finding"
	"flywitness/vehicle"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// A foot that stays on the brake from the lift to the end slows every overrun alike, and the closed form takes that
// for inertia. But a brake pulls alike at every engine speed, as a slope does, while the engine's drag grows with
// engine speed, by as much as the free revs show. With decelerations a of the car in that gear and b for what holds it
// beside engine and road,
//
//	a_o - a_c = k^2 I/(eta M_c) (a_d - a_o) + b
//
// is a straight line over the engine speeds of the window, and b is where it begins.
const (
	lightBrake = 0.4 // m/s^2 that a foot on the brake slows a car by at least,
	firmBrake  = 2.5 // and from which there is no doubt. Common practice, no source
	noBrake    = 2.0 // times as likely as a brake that none must be: braked, an engine seems several times as heavy
	heldSteps  = 24  // parts of the window of a gear
)

// otherwise is what may be otherwise than measured.
type otherwise struct {
	road          *rolling
	over, revs    *Shape
	lnOver, lnRev float64 // that the overruns and the free revs took longer by
	tilt          float64 // relative, by which the drag in gear differs from that in neutral, rising over the window
}

// heldBack returns what slowed the overruns of a gear beside engine and road, m/s^2, with its standard deviation: the
// road and its slope, the fits of both kinds of fall, and a drag in gear that differs from that in neutral.
func (f *closedForm) heldBack(pressureSeen bool) (b, sd float64) {
	b = f.lineBegins(otherwise{})
	variance := stats.Square(vehicle.Gravity*f.slopeSD) / f.overN
	rolls, air := *f.road, *f.road
	rolls.p0 += math.Sqrt(rolls.cov[0][0])
	air.p2 += math.Sqrt(air.cov[1][1])
	differs := dragDiffersSD
	if pressureSeen {
		differs = dragDiffersSeenSD
	}
	for _, o := range []otherwise{{road: &rolls}, {road: &air}, {tilt: differs}, {lnRev: f.revSD}, {lnOver: f.overTime}} {
		variance += stats.Square(f.lineBegins(o) - b)
	}
	variance += bendVariance(f.revs, b, func(s *Shape) float64 { return f.lineBegins(otherwise{revs: s}) })
	variance += bendVariance(f.over, b, func(s *Shape) float64 { return f.lineBegins(otherwise{over: s}) })
	return b, math.Sqrt(variance)
}

// lineBegins is b of the straight line, m/s^2; NaN where all lies at one place.
func (f *closedForm) lineBegins(o otherwise) float64 {
	road, revs, over := cmp.Or(o.road, f.road), cmp.Or(o.revs, f.revs), cmp.Or(o.over, f.over)
	var line stats.Line
	mps2 := f.scale.perRPM / 3.6 // of the car for each rpm/s
	for i := range heldSteps + 1 {
		at := float64(i) / heldSteps
		n := f.lo + (f.hi-f.lo)*at
		down := mps2 * revs.Rate(n, math.Exp(f.lnRev+o.lnRev)) * (1 + o.tilt*(2*at-1))
		slows := mps2 * over.Rate(n, math.Exp(f.lnOver+o.lnOver))
		line.Add(down-slows, slows-road.at(f.scale.perRPM*n)/3.6)
	}
	if line.Spread() <= 0 {
		return math.NaN()
	}
	return (line.Y - line.Slope()*line.X) / line.N
}

// bendVariance is the variance of what is b with a shape as fitted, by the errors of the shape's coefficients.
func bendVariance(s *Shape, b float64, with func(s *Shape) float64) (variance float64) {
	if s.CovQ == nil {
		return 0
	}
	const h = 1e-4
	slope := mat.NewVecDense(len(s.Q), nil)
	for k := range s.Q {
		moved := *s
		moved.Q = slices.Clone(s.Q)
		moved.Q[k] += h
		slope.SetVec(k, (with(&moved)-b)/h)
	}
	return mat.Inner(slope, s.CovQ.SliceSym(0, len(s.Q)), slope)
}

// footOnBrake tells whether what held the overruns of a gear back beside engine and road may well be a foot on the
// brake and not chance, given how much likelier that is than none for this driver. Where the window shows no shape, it
// stays as likely.
func footOnBrake(b, sd, odds float64) bool {
	if math.IsNaN(b) || !(sd > 0) {
		return false
	}
	within := stats.NormalCDF((firmBrake-b)/sd) - stats.NormalCDF((lightBrake-b)/sd)
	clean := distuv.Normal{Sigma: sd}.Prob(b)
	return b > firmBrake || noBrake*odds*within/(firmBrake-lightBrake) > clean
}

// brakes are the odds by which this driver's foot is on the brake off the throttle in gear: so many of the overruns
// were braked for sure, as against those that may be clean, by the rule of succession.
func brakes(runs []*Run) float64 {
	sure, maybe := 1.0, 1.0
	for _, r := range runs {
		switch {
		case r.Kind != Overrun:
		case r.Used:
			maybe++
		case r.Why == finding.Braked:
			sure++
		}
	}
	return sure / maybe
}

// withoutBrake leaves out the gears whose overruns were braked, until none is left that was: each tells of the driver.
// held is the most that held one back, m/s^2.
func withoutBrake(forms []*closedForm, runs []*Run, pressureSeen bool) (clean []*closedForm, held float64) {
	braked := func(f *closedForm) bool {
		b, sd := f.heldBack(pressureSeen)
		if !footOnBrake(b, sd, brakes(runs)) {
			return false
		}
		held = math.Max(held, b)
		for _, r := range f.used {
			refuseBrake(r, r.MeanRate*f.scale.perRPM/3.6)
		}
		return true
	}
	for left := len(forms) + 1; len(forms) < left; {
		left = len(forms)
		forms = slices.DeleteFunc(forms, braked)
	}
	return forms, held
}
