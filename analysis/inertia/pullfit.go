package inertia

import (
	"math"

	"flywitness/analysis/stats"
	"flywitness/finding"
	"flywitness/vehicle"
)

// Priors of the joint fit of pulls, relative standard deviations except the grade.
const (
	gearEfficiencySD = 0.01  // of one gear beside the others
	pullTorqueSD     = 0.005 // of one pull beside the others of its gear
	gearTorqueSD     = 0.015 // of one gear beside the others where a channel shows it the same
	gearTorqueOpen   = 0.04  // the same where none does: boost lag, a torque limit
	openSD           = 1.0   // of ln torque at a knot, and of ln I about the usual one: next to nothing is known
	pullKnots        = 6
	pullTiming       = 0.015 // s, of a time stamp, where no calibration tells
	pullsTellTo      = 0.35  // relative sd of the inertia beyond which pulls say nothing
	firstGearLimit   = 0.15
	unseenSD         = 0.08 // what turbo lag, torque limits and tyres may do that no channel shows
)

// pullFit is the joint fit of pulls in several gears,
//
//	eta (T(w) - I alpha) k = M_c alpha / k + R(v) + M g grade,
//
// with one torque curve for all of them: what differs between the gears is the inertia's share. Time is fitted
// over engine speed. Parameters, in order: ln torque at the knots, ln I, ln of mass and radius and efficiency,
// then for each gear ln efficiency and ln torque, then for each pull start time, grade and ln torque.
type pullFit struct {
	b      *body
	runs   []*Run
	gears  []int
	place  []int // of each pull's gear in gears
	k      []float64
	road   *rolling
	scale  []float64 // km/h per rpm in each gear
	lo, hi float64   // rpm
	timing float64
	apart  float64   // sd of the torque of one gear beside the others, relative
	from   []float64 // the point to begin from, where the priors stand
	made   []madePull
}

// madePull is what a pull's times err by, over their noise, and the parameters that made them so: most steps of a fit
// leave most pulls as they were.
type madePull struct {
	by     [pullCommon + 2 + 3]float64
	errors []float64
}

const pullCommon = pullKnots + 4

func (f *pullFit) sizes() (params, residuals int) {
	params = pullCommon + 2*len(f.gears) + 3*len(f.runs)
	residuals = params - len(f.runs) // a prior for all but the start times
	for _, r := range f.runs {
		residuals += len(r.T)
	}
	return params, residuals
}

// start is the point to begin from: the torque that the mean acceleration of the pulls asks for.
func (f *pullFit) start() (x, scale []float64) {
	n, _ := f.sizes()
	x, scale = make([]float64, n), make([]float64, n)
	torque := 0.0
	inertia := f.b.veh.UsualInertia()
	for i, r := range f.runs {
		k := f.k[f.place[i]]
		alpha := r.MeanRate * math.Pi / 30
		torque += (f.b.massC*alpha/k+f.force(f.place[i], r.RPM[len(r.RPM)/2]))/(f.b.efficiency*k) + inertia*alpha
	}
	for i := range pullKnots {
		x[i] = math.Log(math.Max(torque/float64(len(f.runs)), 1))
	}
	x[pullKnots] = math.Log(inertia)
	for i := range scale {
		scale[i] = 0.01
	}
	for i, r := range f.runs {
		at := f.pull(i)
		x[at], scale[at] = r.T[0], 0.1
	}
	return x, scale
}

func (f *pullFit) pull(i int) int { return pullCommon + 2*len(f.gears) + 3*i }

// force is the road load in N at an engine speed in a gear.
func (f *pullFit) force(place int, rpm float64) float64 {
	return f.road.at(f.scale[place]*rpm) / 3.6 * f.b.massC
}

// residuals fills out with time errors over their noise and the priors.
func (f *pullFit) residuals(x, out []float64) {
	at := 0
	put := func(v float64) { out[at] = v; at++ }
	x0 := f.from
	for i := range pullKnots {
		put((x[i] - x0[i]) / openSD)
	}
	put((x[pullKnots] - x0[pullKnots]) / openSD)
	put(x[pullKnots+1] / f.b.massSD)
	put(x[pullKnots+2] / f.b.veh.GearingError())
	put(x[pullKnots+3] / (f.b.efficiencySD / f.b.efficiency))
	for g := range f.gears {
		put(x[pullCommon+2*g] / gearEfficiencySD)
		put(x[pullCommon+2*g+1] / f.apart)
	}
	for i, r := range f.runs {
		p := f.pull(i)
		put(x[p+1] / gradeSD)
		put(x[p+2] / pullTorqueSD)
		at += copy(out[at:], f.errors(x, i, r))
	}
}

// errors are the time errors of a pull over their noise.
func (f *pullFit) errors(x []float64, i int, r *Run) []float64 {
	if f.made == nil {
		f.made = make([]madePull, len(f.runs))
	}
	g, p, m := pullCommon+2*f.place[i], f.pull(i), &f.made[i]
	var by [len(m.by)]float64
	copy(by[:], x[:pullCommon])
	copy(by[pullCommon:], x[g:g+2])
	copy(by[pullCommon+2:], x[p:p+3])
	if m.errors != nil && by == m.by {
		return m.errors
	}
	if m.errors == nil {
		m.errors = make([]float64, len(r.T))
	}
	f.times(x, i, func(j int, t float64) { m.errors[j] = (r.T[j] - t) / f.timing })
	m.by = by
	return m.errors
}

// times integrates dt = dw / alpha(w) along a pull by the midpoint rule and hands out the time at every sample.
func (f *pullFit) times(x []float64, i int, emit func(j int, t float64)) {
	r, g, p := f.runs[i], f.place[i], f.pull(i)
	inertia := math.Exp(x[pullKnots])
	mass := math.Exp(x[pullKnots+1])
	k := f.k[g] * math.Exp(-x[pullKnots+2])
	eta := f.b.efficiency * math.Exp(x[pullKnots+3]+x[pullCommon+2*g])
	factor := math.Exp(x[pullCommon+2*g+1] + x[p+2])
	t := x[p]
	emit(0, t)
	for j := 1; j < len(r.RPM); j++ {
		step := (r.RPM[j] - r.RPM[j-1]) / 2
		for s := range 2 {
			n := r.RPM[j-1] + step*(float64(s)+0.5)
			force := eta*k*factor*f.torque(x, n) - f.force(g, n) - mass*f.b.mass*vehicle.Gravity*x[p+1]
			alpha := force / (mass*f.b.massC/k + eta*k*inertia)
			t += step * math.Pi / 30 / max(alpha, 0.5)
		}
		emit(j, t)
	}
}

// torque is the common curve at an engine speed: linear in ln T between knots.
func (f *pullFit) torque(x []float64, rpm float64) float64 {
	u := (rpm - f.lo) / (f.hi - f.lo) * (pullKnots - 1)
	i := int(max(0, min(pullKnots-2, math.Floor(u))))
	return math.Exp(x[i] + (u-float64(i))*(x[i+1]-x[i]))
}

// pullMethod measures the inertia from pulls in two gears or more; nil when there are none, with a sentence
// that says how well such pulls can tell it, "" when there is nothing to say.
func (m *measurement) pullMethod(b *body, runs []*Run) (*Method, finding.Code) {
	seen := m.refuseOtherTorque(usedOf(runs, PullRun))
	pulls, gears := repeated(usedOf(runs, PullRun))
	if len(gears) < 2 {
		return nil, ""
	}
	f := &pullFit{b: b, runs: pulls, gears: gears, road: guessRoad(b.veh, b.massC), timing: pullTiming,
		apart: gearTorqueOpen}
	if seen {
		f.apart = gearTorqueSD
	}
	if m.cal != nil && m.cal.TimingSD > 0 {
		f.timing = m.cal.TimingSD
	}
	for i, g := range gears {
		k := b.veh.TotalRatio(g) / math.Max(b.veh.Radius(), 1e-9)
		if !(k > 0) || b.veh.Radius() == 0 {
			return nil, ""
		}
		f.k, f.scale = append(f.k, k), append(f.scale, 3.6*math.Pi/30/k)
		for _, r := range pulls {
			if r.Gear == g {
				f.place = append(f.place, i)
			}
		}
	}
	f.lo, f.hi = rpmRange(pulls)
	x0, scale := f.start()
	f.from = x0
	_, n := f.sizes()
	fit, err := stats.Fit(f.residuals, n, x0, scale)
	if err != nil {
		return nil, ""
	}
	worse := math.Max(1, fit.RSS/float64(n-len(x0)))
	fitted := math.Sqrt(fit.Cov.At(pullKnots, pullKnots) * worse)
	sd := math.Hypot(fitted, unseenSD)
	said := finding.Code("")
	if gears[0] > 1 || sd > firstGearLimit {
		said = finding.PullsCrossCheck
	}
	if sd > pullsTellTo {
		return nil, said
	}
	shared := stats.Square(b.massSD) + stats.Square(2*b.veh.GearingError()) + stats.Square(b.efficiencySD/b.efficiency)
	common := math.Min(math.Sqrt(shared), fitted) // what no channel shows is the pulls' own
	return newMethod("gear_pulls", fit.X[pullKnots], ErrorParts{Own: math.Sqrt(sd*sd - common*common), Common: common}),
		said
}
