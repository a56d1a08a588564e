package inertia

import (
	"errors"
	"math"
	"slices"

	"flywitness/analysis/stats"

	"gonum.org/v1/gonum/mat"
)

// ShapeRun is one fall of engine speed as the common fit sees it: times in s and speeds in rpm of equal length, in
// arrival order. Runs of one Group share one timing noise (one logger, one link).
type ShapeRun struct {
	T, RPM []float64
	// s since the release, by the fall's engine speed and not by its time stamps; nil: no transient is fitted
	Since []float64
	Group int
}

// Shape is the common fit of a set of falls,
//
//	t = A_i - B_i g(x),  g(x) = x + Q[0] x^2 + Q[1] x^3 + ..,  x = (rpm - (High+Low)/2) / ((High-Low)/2)
//
// Time on speed, because the noise is in the time; exact for any drag that is a function of speed only: g is
// then the integral of the slowness 1/|dw/dt|, and B_i is proportional to the inertia over the drag of that
// run. Where the runs say how long after the release a sample is, t has one more term, D exp(-since/0.15 s):
// what a throttle that shuts slowly, an emptying manifold or a filter in the control unit leaves of the time
// before. It is a matter of time, so it is the same for any inertia.
type Shape struct {
	Low, High float64 // rpm that x = -1 and x = +1 stand for
	Q         []float64
	D         float64       // s
	CovQ      *mat.SymDense // of Q, and of D last where it is fitted; nil when there are none
	Runs      []RunFit
	Sigma     []float64 // timing noise of each group, s
	Samples   int
}

// RunFit is one run in the common fit.
type RunFit struct {
	A, B     float64   // s
	VarLnB   float64   // variance of ln B from the timing noise
	SumSq    float64   // weighted sum of squares of g about its mean
	L        []float64 // fall of ln B for a rise of each of Q and D
	Residual []float64 // s
	Weight   []float64 // robust weights, 0-1
}

// errShape says that no common shape can be had.
var errShape = errors.New("no common fall can be fitted to these runs")

const (
	// 98 % efficiency on normal noise (Mosteller and Tukey 1977); falls of few samples have none to lose
	bisquare   = 6.0
	sigmaFloor = 0.0001 // s; below a tenth of a millisecond no time stamp is believed
	// s; throttles, manifolds and filters have 0.1 to 0.2 s (common practice, no source), and D makes up for
	// the rest
	transientTau = 0.15
)

// FitShape fits runs in the window low..high with a polynomial g of the degree given (1 to 4), by variable projection:
// each run's own A and B are eliminated, Gauss-Newton steps go over Q alone, and bisquare weights take out late time
// stamps. Every run needs at least three samples and a fall over the window.
func FitShape(runs []ShapeRun, low, high float64, degree int) (*Shape, error) {
	if len(runs) == 0 || high <= low || degree < 1 {
		return nil, errShape
	}
	for ; degree >= 1; degree-- {
		f := newShapeFit(runs, low, high, degree)
		if s, ok := f.solve(); ok {
			return s, nil
		}
	}
	return nil, errShape
}

// G returns g at an engine speed in rpm.
func (s *Shape) G(rpm float64) float64 { return poly(s.Q, s.x(rpm)) }

// Rate returns the fall in rpm/s at an engine speed of a run with this B: h / (B g'(x)).
func (s *Shape) Rate(rpm, b float64) float64 {
	return (s.High - s.Low) / 2 / (b * polySlope(s.Q, s.x(rpm)))
}

func (s *Shape) x(rpm float64) float64 { return (2*rpm - s.High - s.Low) / (s.High - s.Low) }

func poly(q []float64, x float64) float64 {
	g := 0.0
	for k := len(q) - 1; k >= 0; k-- {
		g = (g + q[k]) * x
	}
	return (g + 1) * x
}

func polySlope(q []float64, x float64) float64 {
	d := 0.0
	for k := len(q) - 1; k >= 0; k-- {
		d = (d + float64(k+2)*q[k]) * x
	}
	return 1 + d
}

// shapeFit is the state of one fit.
type shapeFit struct {
	runs      []ShapeRun
	low, high float64
	degree    int
	groups    int
	x         [][]float64
	power     [][][]float64 // x^2.. of the samples of each run, last the transient where it is fitted
	transient bool
	w         [][]float64
	sigma     []float64 // robust noise scale of each group, s
	q         []float64
	out       []RunFit
	total     int
	gc        []float64   // of the run at hand: g about its mean
	pc        [][]float64 // of the run at hand: the powers about their means
}

func newShapeFit(runs []ShapeRun, low, high float64, degree int) *shapeFit {
	f := &shapeFit{runs: runs, low: low, high: high, degree: degree, out: make([]RunFit, len(runs))}
	longest := 0
	f.transient = true
	for _, r := range runs {
		f.transient = f.transient && r.Since != nil
	}
	for _, r := range runs {
		x, w := make([]float64, len(r.T)), make([]float64, len(r.T))
		for j, n := range r.RPM {
			x[j] = (2*n - high - low) / (high - low)
			w[j] = 1
		}
		columns := powers(x, degree)
		if f.transient {
			columns = append(columns, fading(r.Since))
		}
		f.x, f.w, f.power = append(f.x, x), append(f.w, w), append(f.power, columns)
		f.total += len(x)
		f.groups = max(f.groups, r.Group+1)
		longest = max(longest, len(x))
	}
	f.sigma = slices.Repeat([]float64{1}, f.groups)
	f.q = make([]float64, len(f.power[0]))
	f.gc = make([]float64, longest)
	for range f.q {
		f.pc = append(f.pc, make([]float64, longest))
	}
	return f
}

// fading is what is left of the transient.
func fading(since []float64) []float64 {
	h := make([]float64, len(since))
	for j, s := range since {
		h[j] = math.Exp(-math.Max(s, 0) / transientTau)
	}
	return h
}

// powers returns x^2 to x^degree.
func powers(x []float64, degree int) [][]float64 {
	var out [][]float64
	last := x
	for range degree - 1 {
		p := make([]float64, len(x))
		for j := range x {
			p[j] = last[j] * x[j]
		}
		out, last = append(out, p), p
	}
	return out
}

func (f *shapeFit) solve() (*Shape, bool) {
	df := f.total - 2*len(f.runs) - len(f.q)
	if df < 1 {
		return nil, false
	}
	var normal *mat.SymDense
	for pass := range 60 { // weights that still go to and fro then move less than a stamp tells
		var grad *mat.VecDense
		var ok bool
		if normal, grad, ok = f.project(); !ok {
			return nil, false
		}
		step, ok := newtonStep(normal, grad)
		if !ok {
			return nil, false
		}
		moved := 0.0
		for k, d := range step {
			f.q[k] += d
			moved = math.Max(moved, math.Abs(d))
		}
		if pass >= 1 {
			f.reweigh(df)
		}
		if pass > 2 && moved < 1e-8 { // weights begin with the third
			break
		}
	}
	normal, _, ok := f.project()
	if !ok || !f.falls() {
		return nil, false
	}
	return f.result(normal, df)
}

// project eliminates A and B of every run at the present Q, fills out, and returns the normal equations of the
// step in Q.
func (f *shapeFit) project() (*mat.SymDense, *mat.VecDense, bool) {
	m := len(f.q)
	a, c := make([]float64, m*m), make([]float64, m)
	z := make([]float64, m)
	for i := range f.runs {
		prec := 1 / (f.sigma[f.runs[i].Group] * f.sigma[f.runs[i].Group])
		if !f.projectRun(i) {
			return nil, nil, false
		}
		o := &f.out[i]
		for j, w := range f.w[i] {
			if w == 0 {
				continue
			}
			for k := range z {
				z[k] = o.B * o.L[k] * f.gc[j]
				if k < f.degree-1 {
					z[k] -= o.B * f.pc[k][j]
				} else {
					z[k] += f.pc[k][j]
				}
			}
			for k := range z {
				c[k] += w * prec * z[k] * o.Residual[j]
				for l := range z {
					a[k*m+l] += w * prec * z[k] * z[l]
				}
			}
		}
	}
	if m == 0 {
		return nil, nil, true
	}
	return mat.NewSymDense(m, a), mat.NewVecDense(m, c), true
}

// projectRun is the weighted straight line of time on g for one run; it leaves g and the powers x^2.. about
// their means in gc and pc.
func (f *shapeFit) projectRun(i int) bool {
	x, w, t := f.x[i], f.w[i], f.runs[i].T
	o, g := &f.out[i], f.gc[:len(f.x[i])]
	if f.transient {
		t = slices.Clone(t)
		for j, h := range f.power[i][f.degree-1] {
			t[j] -= f.q[f.degree-1] * h
		}
	}
	sw, gm, tm := 0.0, 0.0, 0.0
	for j := range x {
		g[j] = poly(f.q[:f.degree-1], x[j])
		sw += w[j]
		gm += w[j] * g[j]
		tm += w[j] * t[j]
	}
	if sw == 0 {
		return false
	}
	gm, tm = gm/sw, tm/sw
	sum, cross := 0.0, 0.0
	for j := range g {
		g[j] -= gm
		sum += w[j] * g[j] * g[j]
		cross += w[j] * g[j] * t[j]
	}
	if sum < 1e-9 {
		return false
	}
	o.SumSq, o.B = sum, -cross/sum
	o.A = tm + o.B*gm
	if o.Residual == nil {
		o.Residual, o.L = make([]float64, len(x)), make([]float64, len(f.q))
	}
	for j := range g {
		o.Residual[j] = t[j] - tm + o.B*g[j]
	}
	for k, power := range f.power[i] {
		p, pm := f.pc[k], 0.0
		for j, v := range power {
			pm += w[j] * v
		}
		pm /= sw
		o.L[k] = 0
		for j, v := range power {
			p[j] = v - pm
			o.L[k] += w[j] * g[j] * p[j] / sum
		}
		if k == f.degree-1 {
			o.L[k] /= -o.B
		}
	}
	return true
}

func intPow(x float64, k int) float64 {
	p := 1.0
	for range k {
		p *= x
	}
	return p
}

func newtonStep(a *mat.SymDense, c *mat.VecDense) ([]float64, bool) {
	if a == nil {
		return nil, true
	}
	var ch mat.Cholesky
	if !ch.Factorize(a) {
		return nil, false
	}
	var d mat.VecDense
	if err := ch.SolveVecTo(&d, c); err != nil {
		return nil, false
	}
	step := slices.Clone(d.RawVector().Data)
	if big := slices.Max(append([]float64{0}, absAll(step)...)); big > 1 {
		for k := range step {
			step[k] /= big
		}
	}
	return step, true
}

func absAll(v []float64) []float64 {
	a := make([]float64, len(v))
	for i, x := range v {
		a[i] = math.Abs(x)
	}
	return a
}

const (
	ownScatter   = 24   // residuals of a group that show its own scatter,
	scatterApart = 1.4  // where it differs by this factor
	countsStill  = 0.05 // weight of a sample that still counts
)

// reweigh sets the noise scale of each group and the bisquare weights. Groups whose noise is alike, or too few samples
// to tell, share one scale.
func (f *shapeFit) reweigh(df int) {
	share := math.Sqrt(float64(df) / float64(f.total))
	residuals, all := make([][]float64, f.groups), make([]float64, 0, f.total)
	for g := range residuals {
		residuals[g] = make([]float64, 0, f.total)
	}
	for i, r := range f.runs {
		residuals[r.Group] = append(residuals[r.Group], f.out[i].Residual...)
		all = append(all, f.out[i].Residual...)
	}
	common := math.Max(stats.MADScale*stats.MAD(all, 0)/share, sigmaFloor)
	for g, r := range residuals {
		f.sigma[g] = common
		if len(r) < ownScatter {
			continue
		}
		if own := math.Max(stats.MADScale*stats.MAD(r, 0)/share, sigmaFloor); own > scatterApart*common ||
			own < common/scatterApart {
			f.sigma[g] = own
		}
	}
	for i, r := range f.runs {
		kept := 0
		for j, e := range f.out[i].Residual {
			f.w[i][j] = bisquareWeight(e / (bisquare * f.sigma[r.Group]))
			if f.w[i][j] > countsStill {
				kept++
			}
		}
		if kept < minKept {
			for j := range f.w[i] {
				f.w[i][j] = 1
			}
		}
	}
}

func bisquareWeight(u float64) float64 {
	if u*u >= 1 {
		return 0
	}
	return (1 - u*u) * (1 - u*u)
}

// falls tells whether every run falls and g rises all over the window.
func (f *shapeFit) falls() bool {
	for i := range f.out {
		if !(f.out[i].B > 0) {
			return false
		}
	}
	lo, hi := 1.0, -1.0
	for _, x := range f.x {
		lo, hi = math.Min(lo, slices.Min(x)), math.Max(hi, slices.Max(x))
	}
	for k := range 21 {
		if polySlope(f.q[:f.degree-1], lo+(hi-lo)*float64(k)/20) <= 0 {
			return false
		}
	}
	return true
}

// result turns the last pass into estimates: the residual variance is that of an M-estimate, mean of psi squared over
// the squared mean of psi' (Huber, Robust Statistics, 1981, chapter 7).
func (f *shapeFit) result(normal *mat.SymDense, df int) (*Shape, bool) {
	s := &Shape{Low: f.low, High: f.high, Q: f.q[:f.degree-1], Runs: f.out, Samples: f.total,
		Sigma: make([]float64, f.groups)}
	if f.transient {
		s.D = f.q[f.degree-1]
	}
	inflate := make([]float64, f.groups)
	for g := range f.groups {
		v := f.robustVariance(g, df)
		s.Sigma[g] = math.Sqrt(v)
		inflate[g] = v / (f.sigma[g] * f.sigma[g])
	}
	worst := 0.0
	for i, r := range f.runs {
		o := &s.Runs[i]
		o.Weight = f.w[i]
		sw := 0.0
		for _, w := range o.Weight {
			sw += w
		}
		v := s.Sigma[r.Group] * s.Sigma[r.Group]
		o.VarLnB = v / (float64(len(o.Weight)) * o.SumSq / sw * o.B * o.B)
		worst = math.Max(worst, inflate[r.Group])
	}
	if normal == nil {
		return s, true
	}
	var ch mat.Cholesky
	if !ch.Factorize(normal) {
		return nil, false
	}
	s.CovQ = mat.NewSymDense(len(f.q), nil)
	if err := ch.InverseTo(s.CovQ); err != nil {
		return nil, false
	}
	s.CovQ.ScaleSym(worst, s.CovQ)
	return s, true
}

func (f *shapeFit) robustVariance(group, df int) float64 {
	n, psi2, slope := 0.0, 0.0, 0.0
	for i, r := range f.runs {
		// Groups of one scale are one population.
		if f.sigma[r.Group] != f.sigma[group] {
			continue
		}
		for j, e := range f.out[i].Residual {
			n++
			psi2 += e * e * f.w[i][j] * f.w[i][j]
			if u := e / (bisquare * f.sigma[group]); u*u < 1 {
				slope += (1 - u*u) * (1 - 5*u*u)
			}
		}
	}
	m := math.Max(slope/n, 1e-6) // none is no fit
	return math.Max(psi2/n/(m*m)*float64(f.total)/float64(df), sigmaFloor*sigmaFloor)
}
