package inertia

import (
	"math"
	"slices"

	"flywitness/analysis/calibrate"
	"flywitness/analysis/stats"
	"flywitness/finding"
	"flywitness/vehicle"

	"gonum.org/v1/gonum/mat"
)

// body is what the absolute methods need of the car.
type body struct {
	mass, massSD float64 // kg, sd relative
	massC        float64 // kg, with the wheels' inertia
	efficiency   float64
	efficiencySD float64
	veh          *vehicle.Vehicle
}

// bodyOf returns nil when the mass is not known.
func bodyOf(veh *vehicle.Vehicle) *body {
	if veh == nil || !(veh.Mass > 0) {
		return nil
	}
	b := &body{mass: veh.Mass, veh: veh, efficiency: veh.Gearbox.Eta(), efficiencySD: vehicle.EfficiencySD}
	b.massSD = veh.MassError()
	b.massC = veh.InertialMass()
	return b
}

// gearing returns engine rad/s per m/s in a gear with its relative sd: from ratios and tyre, else from
// displayed speed.
func (b *body) gearing(gear int, c speedScale) (k, sd float64) {
	if b.veh.TotalRatio(gear) > 0 && b.veh.Radius() > 0 {
		return b.veh.TotalRatio(gear) / b.veh.Radius(), b.veh.GearingError()
	}
	return math.Pi / 30 * 3.6 / c.perRPM, vehicle.LearntGearingSD
}

// How far the closed-throttle drag in gear may differ from that in neutral, relative: many cars cut fuel in the
// one and not in the other. With the manifold pressure seen equal it is small. Common practice, no source.
const (
	dragDiffersSD     = 0.08
	dragDiffersSeenSD = 0.02
	pressureAlike     = 3.0  // kPa
	dragDiffersOwn    = 0.25 // share of it that is not the same before and after: how a car fuels is its nature
)

// closedForm is the overrun, coast-down and rev-down method for one gear:
//
//	coast     M_c a_c = R(v)
//	overrun   M_c a_o = R(v) + (k/eta) (T_d - I alpha_o)
//	rev-down  T_d = I alpha_d
//
// with alpha = k a, hence
//
//	I = eta M_c / k^2 * (alpha_o - alpha_c) / (alpha_d - alpha_o),
//
// as a ratio of sums over the engine speeds that all three cover.
type closedForm struct {
	b        *body
	k, kSD   float64
	gear     int
	overs    overrunsOf
	used     []*Run // of those, the clean ones
	revs     *Shape
	lnRev    float64 // mean ln B of the rev-downs
	revSD    float64
	over     *Shape
	lnOver   float64
	lnOvers  []float64
	overTime float64 // sd of lnOver from timing
	scale    speedScale
	road     *rolling
	slopeSD  float64 // of the road under one run
	// Overruns and coast-downs of the sitting that has most of them: sittings on one road meet its slopes
	// again, and so do those after the job.
	overN, coastN float64
	lo, hi        float64 // rpm
}

// rates returns the mean rates over the window in rpm/s with the logarithms of the time scales moved by dRev and dOver
// and the coast-down's rate by dCoast rpm/s.
func (f *closedForm) rates(dRev, dOver, dCoast float64) (down, over, coast float64) {
	const steps = 24
	for i := range steps + 1 {
		n := f.lo + (f.hi-f.lo)*float64(i)/steps
		v := f.scale.perRPM * n
		down += f.revs.Rate(n, math.Exp(f.lnRev+dRev))
		over += f.over.Rate(n, math.Exp(f.lnOver+dOver))
		coast += f.road.at(v)/f.scale.perRPM + dCoast
	}
	return down / (steps + 1), over / (steps + 1), coast / (steps + 1)
}

func (f *closedForm) ln(dRev, dOver, dCoast float64) float64 {
	d, o, c := f.rates(dRev, dOver, dCoast)
	return math.Log(f.b.efficiency * f.b.massC / (f.k * f.k) * (o - c) / (d - o))
}

// estimate returns ln I and where its error comes from; ok is false when the rates contradict the model.
func (f *closedForm) estimate(sameSession, pressureSeen bool) (ln float64, e ErrorParts, ok bool) {
	ln = f.ln(0, 0, 0)
	if math.IsNaN(ln) || math.IsInf(ln, 0) {
		return 0, e, false
	}
	_, o, c := f.rates(0, 0, 0)
	const h = 1e-4
	perRev := (f.ln(h, 0, 0) - f.ln(-h, 0, 0)) / (2 * h)
	perOver := (f.ln(0, h, 0) - f.ln(0, -h, 0)) / (2 * h)
	perCoast := (f.ln(0, 0, h*c) - f.ln(0, 0, -h*c)) / (2 * h * c)

	// Grade under single runs: a slope moves the overrun by g*slope of the car, less what the engine's inertia takes.
	inertia := math.Exp(ln)
	total := f.b.massC + f.k*f.k*inertia/f.b.efficiency
	slopeOver := vehicle.Gravity * f.k * 30 / math.Pi * f.b.mass / total // rpm/s for a slope of 1
	slopeCoast := vehicle.Gravity * f.k * 30 / math.Pi * f.b.mass / f.b.massC
	grade := f.gradeSD(o / slopeOver)
	slope := stats.Square(perOver * slopeOver / o * grade / math.Sqrt(f.overN))
	coastSD := 0.0
	for i := range 5 {
		n := f.lo + (f.hi-f.lo)*float64(i)/4
		coastSD += f.road.sdAt(f.scale.perRPM*n) / f.scale.perRPM / 5
	}
	if f.road.n > 0 {
		slope += stats.Square(perCoast * slopeCoast * grade / math.Sqrt(f.coastN))
	}
	differs := dragDiffersSD
	if pressureSeen {
		differs = dragDiffersSeenSD
	}
	engineShare := 1 - f.b.massC*c/(total*o)
	drag := perOver * engineShare
	own := stats.Square(perRev*f.revShapeSD()) + stats.Square(perOver*f.overTime) + stats.Square(perCoast*coastSD) +
		stats.Square(drag*differs*dragDiffersOwn)
	if !sameSession {
		own += stats.Square(drag * 0.04)
	}
	common := stats.Square(f.b.massSD) + stats.Square(2*f.kSD) + stats.Square(f.b.efficiencySD/f.b.efficiency) +
		stats.Square(drag*differs)*(1-dragDiffersOwn*dragDiffersOwn)
	return ln, ErrorParts{Own: math.Sqrt(own), Common: math.Sqrt(common), Slope: math.Sqrt(slope),
		SlopeDF: usualSlopeDF + float64(len(f.lnOvers)-1),
		RevDown: perRev, RevDownSD: f.revSD}, true
}

// revShapeSD is how well the shape of the rev-downs tells their mean rate in this window, relative: few samples
// a run tell how long a fall takes better than where in it how much of it happens. With t = A - B g, a change
// of the coefficient of x^k by d changes g' by k x^(k-1) d and, since the fit holds the length of the fall, ln
// B by -L d.
func (f *closedForm) revShapeSD() float64 {
	s := f.revs
	if s.CovQ == nil {
		return 0
	}
	const steps = 24
	grad := mat.NewVecDense(len(s.Q), nil)
	sum := 0.0
	for i := range steps + 1 {
		n := f.lo + (f.hi-f.lo)*float64(i)/steps
		x, rate := s.x(n), s.Rate(n, 1)
		sum += rate
		for k := range s.Q {
			l := 0.0
			for _, r := range s.Runs {
				l += r.L[k] / float64(len(s.Runs))
			}
			grad.SetVec(k, grad.AtVec(k)+rate*(l-float64(k+2)*intPow(x, k+1)/polySlope(s.Q, x)))
		}
	}
	grad.ScaleVec(1/sum, grad)
	return math.Sqrt(math.Max(0, mat.Inner(grad, s.CovQ, grad)))
}

// usualSlopeDF is how many runs the usual slope weighs.
const usualSlopeDF = 2

// gradeSD is the sd of the slope under one overrun: what is usual, weighed as two runs, with what the overruns
// differ by.
func (f *closedForm) gradeSD(perLn float64) float64 {
	s := stats.Summarise(f.lnOvers)
	seen := stats.Square(s.SD*perLn) * float64(s.N-1)
	return math.Sqrt((usualSlopeDF*f.slopeSD*f.slopeSD + seen) / (usualSlopeDF + float64(s.N-1)))
}

// overrunMethod measures the inertia by the closed form in every gear with overruns and combines the gears; nil, with
// what is missing, when it cannot.
func overrunMethod(scenes []*preparedLog, runs []*Run, b *body, cal *calibrate.Calibration, opt Options) (*Method,
	*finding.Finding) {
	revs := usedOf(runs, RevDown)
	if rolling := usedOf(runs, RollingRevDown); len(rolling) > len(revs) {
		revs = rolling
	}
	overs := usedOf(runs, Overrun)
	switch {
	case len(revs) < fewestRevs:
		return nil, because(finding.ThreeFreeRevs)
	case len(overs) == 0:
		return nil, because(finding.RunsInGear)
	}
	revShape, err := ShapeOf(revs)
	if err != nil {
		return nil, because(finding.MoreFreeRevs)
	}
	bent, why := smoothed(scenes, revs)
	if why != nil {
		return nil, why
	}
	lnRev, revSD := meanLnB(revShape)
	byGear := map[int][]*Run{}
	var gears []int
	for _, r := range overs {
		if byGear[r.Gear] == nil {
			gears = append(gears, r.Gear)
		}
		byGear[r.Gear] = append(byGear[r.Gear], r)
	}
	seen := pressureAgrees(scenes, revs, overs)
	var forms []*closedForm
	var levels []float64
	for _, g := range gears {
		f := &closedForm{b: b, gear: g, revs: revShape, lnRev: lnRev, revSD: revSD}
		if f.trim(scenes, byGear[g], cal) {
			forms, levels = append(forms, f), append(levels, f.overs.level...)
		}
	}
	common := leastAlike(levels, brakeBetween)
	forms = slices.DeleteFunc(forms, func(f *closedForm) bool { return !f.prepare(common, usedOf(runs, Coast), opt) })
	clean, held := withoutBrake(forms, runs, seen)
	all := combined{bent: bent}
	for _, f := range clean {
		all.add(f, oneSession(revs, byGear[f.gear]), seen)
	}
	switch times := math.Exp(all.ln()) / b.veh.UsualInertia(); {
	case all.weight == 0 && held > 0:
		return nil, because(finding.RunsHeldBack, finding.Acceleration("by", held))
	case all.weight == 0:
		return nil, because(finding.RunsOverSameSpeed)
	case perhapsBraked(times, all.runs):
		return nil, because(finding.RunsNotBraked, finding.Number("times", times))
	}
	return all.method(), nil
}

// combined is the weighted mean of the gears.
type combined struct {
	sum, weight float64
	parts       ErrorParts // sums, until they are divided by the weight
	runs        int
	bent        float64 // relative, by smoothing
}

func (c *combined) ln() float64 { return c.sum / c.weight }

// add adds a gear, unless its rates contradict the model.
func (c *combined) add(f *closedForm, sameSession, pressureSeen bool) {
	ln, e, ok := f.estimate(sameSession, pressureSeen)
	if !ok {
		return
	}
	w := 1 / (e.Own*e.Own + e.Common*e.Common + e.Slope*e.Slope)
	c.sum, c.weight, c.runs = c.sum+w*ln, c.weight+w, c.runs+len(f.lnOvers)
	c.parts.Own += stats.Square(w * e.Own)
	c.parts.Common += w * e.Common
	c.parts.Slope += w * e.Slope
	c.parts.SlopeDF = math.Max(c.parts.SlopeDF, e.SlopeDF)
	c.parts.RevDown += w * e.RevDown
	c.parts.RevDownSD = e.RevDownSD
}

func (c *combined) method() *Method {
	parts := c.parts
	parts.Own = math.Hypot(math.Sqrt(parts.Own)/c.weight, c.bent)
	parts.Common, parts.Slope, parts.RevDown = parts.Common/c.weight, parts.Slope/c.weight, parts.RevDown/c.weight
	return newMethod("overrun", c.ln(), parts)
}

// trim prepares the overruns of one gear; false when none is left.
func (f *closedForm) trim(scenes []*preparedLog, overs []*Run, cal *calibrate.Calibration) bool {
	var ok bool
	if f.scale, ok = learnSpeedScale(scenes, overs, cal); !ok {
		return false
	}
	f.k, f.kSD = f.b.gearing(f.gear, f.scale)
	guess := guessRoad(f.b.veh, f.b.massC)
	within := brakeWithin
	if len(f.revs.Q) < 2 {
		within = brakeSparse
	}
	f.overs = trimOverruns(overs, f.expectedOverrun(guess), f.scale.perRPM, within)
	return len(f.overs.runs) > 0
}

// sharedSpan is the highest over the lowest engine speed that all three kinds of run must share.
const sharedSpan = 1.15

// prepare fits the overruns and coast-downs of one gear, given the level of all gears; false when they do not meet.
func (f *closedForm) prepare(common float64, coasts []*Run, opt Options) bool {
	overs := f.overs.clean(common, f.scale.perRPM)
	if len(overs) == 0 {
		return false
	}
	guess := guessRoad(f.b.veh, f.b.massC)
	var err error
	if f.over, err = ShapeOf(overs); err != nil {
		return false
	}
	f.lnOvers = f.lnOvers[:0]
	timing := 0.0
	for _, o := range f.over.Runs {
		f.lnOvers = append(f.lnOvers, math.Log(o.B))
		timing += o.VarLnB
	}
	n := float64(len(f.lnOvers))
	f.lnOver, f.overTime = stats.Summarise(f.lnOvers).Mean, math.Sqrt(timing)/n
	if opt.Rollers {
		coasts = nil
	}
	coasts = refuseBrakedCoasts(coasts, guess)
	f.used, f.slopeSD = overs, slopeUnder(overs, coasts)
	f.overN, f.coastN = mostOfOneSession(overs), mostOfOneSession(coasts)
	f.road = fitCoasts(coasts, guess, f.scale.offset, 0.02)
	f.lo, f.hi = math.Max(f.revs.Low, f.over.Low), math.Min(f.revs.High, f.over.High)
	return f.hi > sharedSpan*f.lo
}

// mostOfOneSession is how many of the runs are of the session that has most of them; at least one.
func mostOfOneSession(runs []*Run) float64 {
	n, most := map[int]int{}, 1
	for _, r := range runs {
		n[r.Session]++
		most = max(most, n[r.Session])
	}
	return float64(most)
}

func newMethod(name string, ln float64, e ErrorParts) *Method {
	sd := math.Sqrt(e.Own*e.Own + e.Common*e.Common + e.Slope*e.Slope + stats.Square(e.RevDown*e.RevDownSD))
	x := stats.LogNormal(ln, sd)
	if e.SlopeDF > 0 && e.Slope > 0 && sd > 0 {
		df := stats.Satterthwaite([]float64{e.Slope * e.Slope, sd*sd - e.Slope*e.Slope}, []float64{e.SlopeDF, math.Inf(1)})
		h := stats.TQuantile(0.975, df) * sd
		x.CI95 = [2]float64{x.Value * math.Exp(-h), x.Value * math.Exp(h)}
	}
	return &Method{Name: name, Error: e, Inertia: x}
}

// meanLnB is the robust mean of ln B of runs with its standard deviation.
func meanLnB(s *Shape) (mean, sd float64) {
	y, v, group := make([]float64, len(s.Runs)), make([]float64, len(s.Runs)), make([]int, len(s.Runs))
	for i, r := range s.Runs {
		y[i], v[i] = math.Log(r.B), r.VarLnB
	}
	g, ok := stats.RobustGroups(y, v, group, 1)
	if !ok {
		return stats.Median(y), 0.03
	}
	return g.Mean[0], math.Sqrt(g.Variance(0))
}

func usedOf(runs []*Run, kind Kind) []*Run {
	var out []*Run
	for _, r := range runs {
		if r.Used && r.Kind == kind {
			out = append(out, r)
		}
	}
	return out
}

func oneSession(a, b []*Run) bool {
	for _, r := range b {
		found := false
		for _, o := range a {
			found = found || o.Session == r.Session
		}
		if !found {
			return false
		}
	}
	return true
}

// pressureAgrees tells whether the manifold pressure was recorded and alike in the rev-downs and the overruns.
func pressureAgrees(scenes []*preparedLog, revs, overs []*Run) bool {
	mean := func(runs []*Run) (float64, bool) {
		var v []float64
		for _, r := range runs {
			if p := scenes[r.Input].pressure; p != nil {
				i, j := p.between(r.T[0], r.T[len(r.T)-1])
				v = append(v, p.v[i:j]...)
			}
		}
		return stats.Median(v), len(v) >= fewestRevs
	}
	a, okA := mean(revs)
	b, okB := mean(overs)
	return okA && okB && math.Abs(a-b) <= pressureAlike
}
