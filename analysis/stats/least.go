package stats

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat/distuv"
)

// Steps of the integrals below: finer ones change nothing that is printed.
const (
	spreadSteps = 15  // of the spread,
	spreadReach = 3.0 // times the usual one,
	meanSteps   = 5   // of the mean on either side of its best value,
	meanReach   = 2.5 // standard deviations of it,
	leastSteps  = 60  // and of the least value
	leastReach  = 4.0 // standard deviations from a value, beyond which its truth does not lie
)

// LeastOf is the least of some true values, of which values with errors of known standard deviations are read, and its
// own standard deviation. The least of what was read errs downwards, the further the more there are. True values are
// taken for normal about a mean of which nothing is known, with a spread about as large as usual or smaller (half of a
// normal distribution): the posterior distribution of their least is integrated over both (Gelman and others, Bayesian
// Data Analysis, section 5.4, from memory). Every sd must be above 0, and there must be a value.
func LeastOf(value, sd []float64, usualSpread float64) (least, leastSD float64) {
	if len(value) == 1 {
		return value[0], sd[0]
	}
	lo, hi := math.Inf(1), math.Inf(1)
	for i, x := range value {
		lo, hi = math.Min(lo, x-leastReach*sd[i]), math.Min(hi, x+leastReach*sd[i])
	}
	at := floats.Span(make([]float64, leastSteps+1), lo, hi)
	above := aboveAll(value, sd, usualSpread, at)
	var all, sum, square float64
	for k := range leastSteps {
		p, x := above[k]-above[k+1], (at[k]+at[k+1])/2
		all, sum, square = all+p, sum+p*x, square+p*(x-at[0])*(x-at[0])
	}
	least = sum / all
	return least, math.Sqrt(math.Max(0, square/all-(least-at[0])*(least-at[0])))
}

// aboveAll is the probability, but for a factor, that all true values lie above each of some numbers.
func aboveAll(value, sd []float64, usualSpread float64, at []float64) []float64 {
	spreads, logs := make([]float64, spreadSteps), make([]float64, spreadSteps)
	for k := range spreads {
		z := spreadReach * (float64(k) + 0.5) / spreadSteps
		spreads[k] = z * usualSpread
		logs[k] = spreadLikely(value, sd, spreads[k]) + distuv.UnitNormal.LogProb(z)
	}
	best := floats.Max(logs)
	above := make([]float64, len(at))
	for k, spread := range spreads {
		mean, variance := weighted(value, sd, spread)
		for q := -meanSteps; q <= meanSteps; q++ {
			z := meanReach * float64(q) / meanSteps
			weight := math.Exp(logs[k]-best) * distuv.UnitNormal.Prob(z)
			for i, x := range at {
				above[i] += weight * aboveEach(value, sd, mean+z*math.Sqrt(variance), spread, x)
			}
		}
	}
	return above
}

// aboveEach is the probability that the true values lie above x, of a mean and a spread that are known.
func aboveEach(value, sd []float64, mean, spread, x float64) float64 {
	p := 1.0
	for i, read := range value {
		keeps := spread * spread / (spread*spread + sd[i]*sd[i])
		p *= NormalCDF((mean + keeps*(read-mean) - x) / (math.Sqrt(keeps) * sd[i]))
	}
	return p
}

// spreadLikely is the logarithm of the likelihood of a spread, whatever the mean.
func spreadLikely(value, sd []float64, spread float64) float64 {
	mean, variance := weighted(value, sd, spread)
	sum := math.Log(variance) / 2
	for i, x := range value {
		v := sd[i]*sd[i] + spread*spread
		sum -= (math.Log(v) + (x-mean)*(x-mean)/v) / 2
	}
	return sum
}

// weighted is the mean of values with errors that have a spread beside, and its variance.
func weighted(value, sd []float64, spread float64) (mean, variance float64) {
	sum := 0.0
	for i, x := range value {
		w := 1 / (sd[i]*sd[i] + spread*spread)
		sum, mean = sum+w, mean+w*x
	}
	return mean / sum, 1 / sum
}
