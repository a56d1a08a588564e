package stats

import "math"

// Groups holds the robust means of groups of values that share one spread between values.
type Groups struct {
	Mean   []float64 // of each group
	Weight []float64 // summed inverse variances of each group, before down-weighting of outliers
	Tau    float64   // spread between values beyond their own errors
	Scale  float64   // what the inverse of Weight is multiplied by to be the variance of Mean
	DF     float64   // degrees of freedom of Scale
	Value  []float64 // final weight of every value
}

// Variance returns the variance of a group's mean.
func (g *Groups) Variance(i int) float64 { return g.Scale / g.Weight[i] }

const (
	huberK    = 1.5    // bend of the weight function, in standard deviations
	huberPsi2 = 0.7785 // mean of psi squared at that bend under the normal distribution
	tauFloor  = 0.005  // smallest spread between runs that is believed, relative
	usualRuns = 4      // how many runs the usual spread is worth beside those that were seen
)

// UsualRunSD is the spread of the closed-throttle drag from run to run, relative. Common practice, no source.
const UsualRunSD = 0.015

// RobustGroups returns Huber means of values y (natural logarithms) with error variances s2, in groups
// 0..groups-1, that share one spread between values. The spread is Huber's proposal 2 (Robust Statistics, 1981,
// section 6.4) with the usual spread weighed in as a few more values: few runs hardly tell it, and it decides
// only how the runs are weighed. The variance is Huber's for M-estimates (section 7.6: mean of psi squared over
// the squared mean of psi', with his small-sample factor), scaled by what the values really scatter as Hartung
// and Knapp do in meta-analysis, hence a t interval with DF degrees of freedom. ok is false when a group is
// empty or nothing is left to estimate the spread from.
func RobustGroups(y, s2 []float64, group []int, groups int) (*Groups, bool) {
	n := len(y)
	if n <= groups {
		return nil, false
	}
	centre, ok := groupMedians(y, group, groups)
	if !ok {
		return nil, false
	}
	g := &Groups{Mean: centre, DF: float64(n - groups), Value: make([]float64, n), Weight: make([]float64, groups)}
	tau2 := 0.0
	for range 12 { // it has settled long before
		tau2 = g.spread(y, s2, group)
		g.means(y, s2, group, tau2)
	}
	for i := range y {
		g.Weight[group[i]] += 1 / (s2[i] + tau2)
	}
	g.Tau = math.Sqrt(tau2)
	g.Scale = huberScale(y, s2, group, g.Mean, tau2, g.DF)
	return g, true
}

// bracket is how close, as a factor, the ends of a search come before it ends: far below what a spread is known to.
const bracket = 1.0001

// spread solves for the variance between values at which the sum of psi squared is what it should be.
func (g *Groups) spread(y, s2 []float64, group []int) float64 {
	usual := Median(s2)
	excess := func(tau2 float64) float64 {
		sum := usualRuns * huberPsi2 * ((UsualRunSD*UsualRunSD+usual)/(tau2+usual) - 1)
		for i := range y {
			u2 := (y[i] - g.Mean[group[i]]) * (y[i] - g.Mean[group[i]]) / (s2[i] + tau2)
			sum += math.Min(u2, huberK*huberK)
		}
		return sum - g.DF*huberPsi2
	}
	lo, hi := tauFloor*tauFloor, 1.0
	if excess(lo) <= 0 {
		return lo
	}
	for hi > bracket*lo {
		if mid := math.Sqrt(lo * hi); excess(mid) > 0 {
			lo = mid
		} else {
			hi = mid
		}
	}
	return hi
}

// means takes one step of the weighted means.
func (g *Groups) means(y, s2 []float64, group []int, tau2 float64) {
	sw, sy := make([]float64, len(g.Mean)), make([]float64, len(g.Mean))
	for i := range y {
		w := 1 / (s2[i] + tau2)
		u := math.Abs(y[i]-g.Mean[group[i]]) * math.Sqrt(w)
		g.Value[i] = w * math.Min(1, huberK/math.Max(u, 1e-12))
		sw[group[i]] += g.Value[i]
		sy[group[i]] += g.Value[i] * y[i]
	}
	for k := range g.Mean {
		g.Mean[k] = sy[k] / sw[k]
	}
}

func huberScale(y, s2 []float64, group []int, mean []float64, tau2, df float64) float64 {
	n := float64(len(y))
	sum, inside := 0.0, 0.0
	for i := range y {
		u := (y[i] - mean[group[i]]) / math.Sqrt(s2[i]+tau2)
		if math.Abs(u) < huberK {
			inside++
		}
		u = math.Max(-huberK, math.Min(huberK, u))
		sum += u * u
	}
	mp := math.Max(inside/n, 0.5)
	small := 1 + 2*(1-mp)/(n*mp)
	return sum / df / (mp * mp) * small * small
}

func groupMedians(y []float64, group []int, groups int) ([]float64, bool) {
	centre := make([]float64, groups)
	for k := range centre {
		var v []float64
		for i := range y {
			if group[i] == k {
				v = append(v, y[i])
			}
		}
		if len(v) == 0 {
			return nil, false
		}
		centre[k] = Median(v)
	}
	return centre, true
}
