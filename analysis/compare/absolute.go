package compare

import (
	"math"
	"slices"

	"flywitness/analysis/stats"
	"flywitness/finding"

	"gonum.org/v1/gonum/mat"
)

const (
	agreeP  = 0.05  // below this the ways to the inertia are said to disagree
	refuseP = 0.001 // below this they are not combined
	partSD  = 0.03  // of the larger inertia, for a known part without an uncertainty: what a pendulum reaches
)

// Both sides may have met one road or two. With these shares of the variance of what slopes leave, the mean of
// both sides is as uncertain as on one road, and their difference nearly as uncertain as on two: neither is
// trusted for what nobody knows.
const slopeOwn, slopeShared = 4.0 / 3, 2.0 / 3

// joint is the set of measurements of both inertias, theta = (ln I_before, ln I_after), with the covariance of
// their errors.
type joint struct {
	value []float64
	kind  []kind
	side  []int // of an absolute one
	cov   [][]float64
	way   [][]finding.Value // what each is called
}

type kind int

const (
	lnRatio  kind = iota // ln I_before - ln I_after, from the free revs
	absolute             // ln I of one side, from driving
	change               // I_after - I_before in kg m^2, from the parts
)

// combineInertias brings the ratio, the absolute values of both sides and the known parts together by
// generalised least squares. Errors that they share stand in the covariance: mass, radius and efficiency are
// common to all that was driven; the time scale of a side's free revs enters its absolute value and, with the
// sign of its side, the ratio. What changed in the drag from one session to the next is in the ratio alone,
// since an absolute value measures its own session's drag.
func (c *comparison) combineInertias() {
	if c.otherCar {
		return
	}
	j := c.measurements()
	start, ok := j.start()
	if !ok {
		c.partsAlone()
		return
	}
	fit, err := stats.Combine(j.value, j.matrix(), start, j.model)
	if err != nil {
		c.warn(finding.NotCombined)
		return
	}
	if fit.DF > 0 && fit.P < refuseP {
		c.warn(finding.MethodsContradict, finding.Number("p", fit.P), finding.List("ways", j.pulls(fit)...))
		c.contradiction = true
		return
	}
	if fit.DF > 0 && fit.P < agreeP {
		c.warn(finding.MethodsDisagree, finding.Number("p", fit.P), finding.List("ways", j.pulls(fit)...))
	}
	c.joint, c.fit = j, fit
	if c.answer != nil {
		c.ratioDF = c.answer.df
	}
	c.setInertias(fit)
	c.strengthen(j, fit)
}

// mostShared is how much of the variance of a ratio one side's free revs can be behind: below a half, or the
// two together would explain more than there is.
const mostShared = 0.45

// measurements lists what there is.
func (c *comparison) measurements() *joint {
	j := &joint{}
	var ratioRow = -1
	if c.answer != nil && c.blocked == nil {
		ratioRow = j.add(c.answer.ln, c.answer.variance, lnRatio, 0, finding.Flag("revs", true))
	}
	type driven struct {
		row, side     int
		common, slope float64
		revDown       float64
		revSD         float64
	}
	var abs []driven
	for k, s := range c.sides() {
		if s.Inertia == nil {
			continue
		}
		for _, m := range s.Inertia.Methods {
			if m.Inertia == nil || m.Name == "known_part" {
				continue
			}
			e := m.Error
			row := j.add(math.Log(m.Inertia.Value),
				e.Own*e.Own+e.Common*e.Common+slopeOwn*e.Slope*e.Slope+stats.Square(e.RevDown*e.RevDownSD), absolute, k,
				finding.Name("method", m.Name), finding.Flag("after", k == 1))
			abs = append(abs, driven{row, k, e.Common, e.Slope, e.RevDown, e.RevDownSD})
		}
	}
	for i, a := range abs {
		for _, b := range abs[:i] {
			v := a.common * b.common
			if a.side != b.side {
				v += slopeShared * a.slope * b.slope
			}
			if a.side == b.side {
				v += a.revDown * b.revDown * a.revSD * b.revSD
			}
			j.share(a.row, b.row, v)
		}
		if ratioRow >= 0 {
			sign := 1.0
			if a.side == 1 {
				sign = -1
			}
			// No more of the ratio's variance than it has.
			j.share(ratioRow, a.row, sign*a.revDown*math.Min(stats.Square(a.revSD), mostShared*c.answer.variance))
		}
	}
	if d, sd, ok := c.partChange(); ok {
		j.add(d, sd*sd, change, 0, finding.Flag("parts", true))
	}
	return j
}

func (j *joint) add(value, variance float64, k kind, side int, way ...finding.Value) int {
	j.value, j.kind, j.side, j.way = append(j.value, value), append(j.kind, k), append(j.side, side), append(j.way, way)
	for i := range j.cov {
		j.cov[i] = append(j.cov[i], 0)
	}
	row := make([]float64, len(j.value))
	row[len(row)-1] = variance
	j.cov = append(j.cov, row)
	return len(row) - 1
}

func (j *joint) share(a, b int, v float64) { j.cov[a][b], j.cov[b][a] = v, v }

func (j *joint) matrix() *mat.SymDense {
	m := mat.NewSymDense(len(j.value), nil)
	for i := range j.value {
		for k := i; k < len(j.value); k++ {
			m.SetSym(i, k, j.cov[i][k])
		}
	}
	return m
}

// moves is how the answer moves when all measurements of a kind do by one: the gain of the generalised least
// squares, Cov J' C^-1.
func (j *joint) moves(fit *stats.Combination, k kind) []float64 {
	jac := mat.NewDense(len(j.value), 2, nil)
	j.model(fit.Theta, jac)
	step := mat.NewVecDense(len(j.value), nil)
	for i := range j.kind {
		if j.kind[i] == k {
			step.SetVec(i, 1)
		}
	}
	var ch mat.Cholesky
	var white, pulled, out mat.VecDense
	if !ch.Factorize(j.matrix()) || ch.SolveVecTo(&white, step) != nil {
		return []float64{0, 0}
	}
	pulled.MulVec(jac.T(), &white)
	out.MulVec(fit.Cov, &pulled)
	return []float64{out.AtVec(0), out.AtVec(1)}
}

func (j *joint) has(k kind) bool { return slices.Contains(j.kind, k) }

// variance is that of the one measurement of a kind.
func (j *joint) variance(k kind) float64 {
	i := slices.Index(j.kind, k)
	return j.cov[i][i]
}

// start returns values to begin from; ok is false when the measurements do not determine both inertias.
func (j *joint) start() (theta []float64, ok bool) {
	var have [2]bool
	theta = make([]float64, 2)
	ratio, delta := math.NaN(), math.NaN()
	for i, k := range j.kind {
		switch k {
		case lnRatio:
			ratio = j.value[i]
		case change:
			delta = j.value[i]
		case absolute:
			theta[j.side[i]], have[j.side[i]] = j.value[i], true
		}
	}
	if have[0] && have[1] {
		return theta, true
	}
	if !have[0] && !have[1] {
		after := delta / (1 - math.Exp(ratio)) // I_after = DI / (1 - rho), DI after minus before
		if !(after > 0) || math.IsInf(after, 0) {
			return nil, false
		}
		return []float64{math.Log(after) + ratio, math.Log(after)}, true
	}
	known, other, sign := 0, 1, 1.0
	if have[1] {
		known, other, sign = 1, 0, -1
	}
	switch {
	case !math.IsNaN(ratio):
		theta[other] = theta[known] - sign*ratio
	case !math.IsNaN(delta):
		i := math.Exp(theta[known]) + sign*delta
		if i <= 0 {
			return nil, false
		}
		theta[other] = math.Log(i)
	default:
		return nil, false
	}
	return theta, true
}

// model predicts the measurements and fills their derivatives.
func (j *joint) model(theta []float64, jac *mat.Dense) []float64 {
	out := make([]float64, len(j.value))
	before, after := math.Exp(theta[0]), math.Exp(theta[1])
	for i, k := range j.kind {
		switch k {
		case lnRatio:
			out[i] = theta[0] - theta[1]
			jac.Set(i, 0, 1)
			jac.Set(i, 1, -1)
		case absolute:
			out[i] = theta[j.side[i]]
			jac.Set(i, j.side[i], 1)
		case change:
			out[i] = after - before
			jac.Set(i, 0, -before)
			jac.Set(i, 1, after)
		}
	}
	return out
}

// pulls tells how far each measurement lies from the common answer, in its own standard deviations.
func (j *joint) pulls(fit *stats.Combination) []finding.Finding {
	var out []finding.Finding
	for i, p := range fit.Pulls {
		out = append(out, finding.New(finding.WayOff, append(j.way[i], finding.Number("off", p))...))
	}
	return out
}

// partsAlone takes the change from the known parts where nothing tells the inertias themselves: the change is what
// pendulum or shape say, and it speaks for itself. A ratio that surely points the other way contradicts it.
func (c *comparison) partsAlone() {
	d, sd, ok := c.partChange()
	if !ok {
		return
	}
	c.finding.Change = stats.Normal(d, sd)
	if c.answer == nil || c.blocked != nil {
		c.partsOnly = true
		return
	}
	if est, p := c.answer.estimate(); p < agreeP && math.Abs(d) > stats.Normal975*sd && (est.Value > 1) != (d < 0) {
		c.contradiction = true
		c.warn(finding.MethodsContradict, finding.Flag("opposite", true))
	}
}

// partChange is the change of all listed parts together, after minus before, with its standard deviation.
func (c *comparison) partChange() (d, sd float64, ok bool) {
	v := 0.0
	for _, p := range c.opt.Parts {
		own := p.ChangeSD
		if own <= 0 {
			own = partSD * math.Max(p.Before, p.After)
		}
		d += p.After - p.Before
		v += own * own
	}
	return d, math.Sqrt(v), len(c.opt.Parts) > 0 && v > 0
}

func (c *comparison) setInertias(fit *stats.Combination) {
	f := c.finding
	f.InertiaBefore = stats.LogNormal(fit.Theta[0], math.Sqrt(fit.Cov.At(0, 0)))
	f.InertiaAfter = stats.LogNormal(fit.Theta[1], math.Sqrt(fit.Cov.At(1, 1)))
	b, a := math.Exp(fit.Theta[0]), math.Exp(fit.Theta[1])
	v := b*b*fit.Cov.At(0, 0) + a*a*fit.Cov.At(1, 1) - 2*a*b*fit.Cov.At(0, 1)
	f.Change = stats.Normal(a-b, math.Sqrt(math.Max(v, 0)))
}

// strengthen lets the combined value stand in for the ratio of the free revs where something beside them bears
// on it: an absolute value on both sides, or the parts. The interval keeps the degrees of freedom of the free
// revs.
func (c *comparison) strengthen(j *joint, fit *stats.Combination) {
	var sides [2]bool
	parts, revs := false, false
	for i, k := range j.kind {
		switch k {
		case absolute:
			sides[j.side[i]] = true
		case change:
			parts = true
		case lnRatio:
			revs = true
		}
	}
	if fit.P < agreeP || !(parts || sides[0] && sides[1]) {
		return
	}
	ln := fit.Theta[0] - fit.Theta[1]
	variance := fit.Cov.At(0, 0) + fit.Cov.At(1, 1) - 2*fit.Cov.At(0, 1)
	if c.answer == nil || !revs {
		if c.carried = true; c.answer != nil || !math.IsInf(variance, 0) {
			c.answer = &answer{ln: ln, variance: variance, df: math.Inf(1)}
		}
		return
	}
	if variance < c.answer.variance {
		c.answer = &answer{ln: ln, variance: variance, df: c.answer.df}
	}
}
