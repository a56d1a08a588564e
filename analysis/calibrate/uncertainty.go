package calibrate

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"flywitness/analysis/stats"
)

// uncertainty is how far the unknowns may be off: what the residuals tell, what they do not tell of a gear that was
// driven seldom, and how far the priors of creep and offset may have drawn them.
func (s *solution) uncertainty(p *pool, c *choice) {
	inv := s.scatter(p, c)
	if inv == nil {
		return
	}
	s.cov.Add(s.cov, sandwich(inv, s.untold(p)))
	g := len(s.inverse)
	drawn := mat.NewVecDense(g+3, nil)
	drawn.ScaleVec(creepRidge*usualCreep, inv.ColView(g+1))
	s.cov.RankOne(s.cov, 1, drawn, drawn)
	if s.known.sd == 0 {
		return
	}
	drawn.ScaleVec(usualRest*usualRest/s.known.sd, inv.ColView(g+2))
	s.cov.RankOne(s.cov, 1, drawn, drawn)
	if p.coarse {
		s.bend(offsetLeft) // a line from one engine speed to the next, a second later, cuts the corners of the way between
	}
}

// bend takes an offset for known no better than by so much (km/h). The gears stay where they are at the speeds that
// they were learnt at.
func (s *solution) bend(sd float64) {
	g := len(s.inverse)
	off := mat.NewVecDense(g+3, nil)
	for i, x := range s.inverse {
		if v := s.speed(i, false); v > 0 {
			off.SetVec(i, sd*x/v)
		}
	}
	off.SetVec(g+2, sd)
	s.cov.RankOne(s.cov, 1, off, off)
}

// untold is the scatter that the residuals of a fit do not tell. A gear takes what its cells have in common for its
// ratio: of n cells the nth part is not seen, of one nothing. How far cells are off tell all gears together. Where a
// car keeps one speed, what it is rounded by does not average out however long it does. And engine speed may be
// rounded to its steps or cut off: a quarter of one either way.
func (s *solution) untold(p *pool) *mat.SymDense {
	g := len(s.inverse)
	out := mat.NewSymDense(g+3, nil)
	whole := make([]*mat.VecDense, g) // gradients of an error of all of a gear's driving
	for i := range whole {
		whole[i] = mat.NewVecDense(g+3, nil)
	}
	common, parts := s.common()
	each := mat.NewVecDense(g+3, nil)
	for _, x := range s.cells {
		each.Zero()
		each.SetVec(x.gear, x.by[0])
		for i := range 3 {
			each.SetVec(g+i, x.by[i+1])
		}
		whole[x.gear].AddVec(whole[x.gear], each)
		out.SymRankOne(out, common*parts[x.gear], each)
	}
	cut := mat.NewVecDense(g+3, nil)
	for i, share := range s.rest() {
		out.SymRankOne(out, roundedVariance*p.step*p.step*share, whole[i])
		cut.AddScaledVec(cut, s.inverse[i]*p.rpmStep/4, whole[i])
	}
	out.SymRankOne(out, 1, cut)
	return out
}

// roundedVariance is that of what lies anywhere in a step, in steps.
const roundedVariance = 1.0 / 12

// common is the variance ((km/h)^2) of what the samples of a cell have in common, and for each gear the part of it
// that its own fit hides: one over the number of its cells, as they weigh.
func (s *solution) common() (variance float64, parts []float64) {
	weight, square := make([]float64, len(s.inverse)), make([]float64, len(s.inverse))
	sum, n := 0.0, 0.0
	for _, x := range s.cells {
		weight[x.gear] += x.weight
		square[x.gear] += x.weight * x.weight
		part := math.Min(1, x.weight) // less than a second of driving tells little
		sum, n = sum+part*stats.Square(x.sum/x.weight), n+part
	}
	for i, w := range weight {
		if w > 0 {
			square[i] /= w * w
			n--
		}
	}
	return sum / math.Max(1, n), square
}

// stepped counts a sample where it lies on the steps of road speed.
func (s *solution) stepped(r *used, step float64) {
	at, of := int(math.Round(r.v/step)), &s.steps[r.gear]
	if missing := at + 1 - len(*of); missing > 0 {
		*of = append(*of, make([]float64, missing)...)
	}
	(*of)[at] += r.w
}

// rest is for each gear how much of the variance of rounding is left in the mean of its driving: all of it at one
// step, and where it is spread over n of them one in 2n - 1, as the edges that were crossed tell too.
func (s *solution) rest() []float64 {
	out := make([]float64, len(s.inverse))
	for i, steps := range s.steps {
		sum, square := 0.0, 0.0
		for _, w := range steps {
			sum, square = sum+w, square+w*w
		}
		if sum > 0 {
			out[i] = 1 / (2*sum*sum/square - 1)
		}
	}
	return out
}

// logSD is the standard deviation of a weighted mean of ln k, with that of the offset as it shows at a road speed
// (km/h) where one is given: a gear is known best where it was driven.
func (s *solution) logSD(weights []float64, v float64) float64 {
	if s.cov == nil {
		return 0
	}
	g := len(s.inverse)
	x := mat.NewVecDense(g+3, nil)
	for i, w := range weights {
		x.SetVec(i, -w/s.inverse[i])
	}
	if v > 0 {
		x.SetVec(g+2, 1/v)
	}
	return math.Sqrt(math.Max(0, mat.Inner(x, s.cov, x)))
}

// sandwich is the covariance that a scatter of gradients makes.
func sandwich(inv *mat.Dense, meat mat.Matrix) *mat.Dense {
	var half, cov mat.Dense
	half.Mul(inv, meat)
	cov.Mul(&half, inv)
	return &cov
}

// sd returns the standard deviation of unknown i; 0 when it could not be had.
func (s *solution) sd(i int) float64 {
	if s.cov == nil {
		return 0
	}
	return math.Sqrt(math.Max(0, s.cov.At(i, i)))
}
