package motion

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"flywitness/analysis/stats"
)

// slopes returns the slope at every piece and its variance: the fixed-interval smoother over the pieces, and
// what the unknowns' errors add.
func (s *GradeEstimate) slopes() (slope, variance []float64) {
	n, w := len(s.pieces), s.n+1
	level := s.spread * s.spread
	m := make([]float64, n*w) // filtered, every column
	p := make([]float64, n)
	before := make([]float64, n) // predicted variance
	at := level
	cur := make([]float64, w)
	for i := range s.pieces {
		keep := math.Exp(-s.pieces[i].way / s.length)
		at = keep*keep*at + level*(1-keep*keep)
		before[i] = at
		gain := 0.0
		if !s.bad[i] {
			gain = at / (at + s.variance(&s.pieces[i]))
		}
		for c := range cur {
			cur[c] = keep*cur[c]*(1-gain) + gain*s.rows[i*w+c]
		}
		at *= 1 - gain
		p[i] = at
		copy(m[i*w:], cur)
	}
	slope, variance = make([]float64, n), make([]float64, n)
	sp := at
	u := mat.NewVecDense(s.n, nil)
	for i := n - 1; i >= 0; i-- {
		row := m[i*w : (i+1)*w]
		if i == n-1 {
			sp = p[i]
		} else {
			keep := math.Exp(-s.pieces[i+1].way / s.length)
			g := p[i] * keep / before[i+1]
			for c := range row {
				row[c] += g * (m[(i+1)*w+c] - keep*row[c])
			}
			sp = p[i] + g*g*(sp-before[i+1])
		}
		left := row[s.n]
		for c := range s.n {
			left -= row[c] * s.x.AtVec(c)
			u.SetVec(c, row[c])
		}
		slope[i] = -left
		variance[i] = math.Min(level, s.scale*(sp+mat.Inner(u, s.cov, u))+stats.Square(slopeLeak*slope[i]))
	}
	return slope, variance
}

// apply gives every sample of the records its slope, and the road load its corrections.
func (s *GradeEstimate) apply(records []*Record, f *Force) {
	slope, variance := s.slopes()
	for lo := 0; lo < len(s.pieces); {
		hi := lo + 1
		for hi < len(s.pieces) && s.pieces[hi].record == s.pieces[lo].record {
			hi++
		}
		records[s.pieces[lo].record].bridge(s.pieces[lo:hi], slope[lo:hi], variance[lo:hi], s.spread*math.Sqrt(s.scale),
			s.length)
		lo = hi
	}
	q := s.rolling()
	rolling, air := 1+s.x.AtVec(q), 1+s.x.AtVec(q+1)
	f.load.F0 *= rolling
	f.load.F1 *= air
	f.load.F2 *= air
	f.loadCov = [3]float64{s.cov.At(q, q) / (rolling * rolling), s.cov.At(q, q+1) / (rolling * air),
		s.cov.At(q+1, q+1) / (air * air)}
	f.Grade = s
}

// leastLoad is the part of the road load known beforehand below which a correction is nonsense.
const leastLoad = 0.3

// bridge fills the slope of every sample between pieces: the mean and variance of a walk that is held at both ends.
func (r *Record) bridge(pieces []piece, slope, variance []float64, spread, length float64) {
	n := r.Track.Len()
	r.slope, r.slopeSD = make([]float64, n), make([]float64, n)
	level := spread * spread
	k, last := 0, 0 // first piece behind which the sample does not lie; the sample last done
	for i := range n {
		t := r.Track.T
		if i > 0 && i < n-1 && t[i+1]-t[last] < bridgeStep {
			continue
		}
		for k < len(pieces) && pieces[k].t < t[i] {
			k++
		}
		r.slope[i], r.slopeSD[i] = r.slopeBetween(pieces, slope, variance, level, length, k, i)
		for j := last + 1; j < i; j++ {
			x := (t[j] - t[last]) / (t[i] - t[last])
			r.slope[j] = r.slope[last] + x*(r.slope[i]-r.slope[last])
			r.slopeSD[j] = r.slopeSD[last] + x*(r.slopeSD[i]-r.slopeSD[last])
		}
		last = i
	}
}

// bridgeStep is how far apart (s) the slope is worked out; between, it is a straight line.
const bridgeStep = 0.4

// slopeBetween returns the slope at sample i, between pieces k-1 and k, and its standard deviation.
func (r *Record) slopeBetween(pieces []piece, slope, variance []float64, level, length float64, k, i int) (float64,
	float64) {
	t, v := r.Track.T[i], math.Max(r.State(i).V, 1)/3.6
	var x, y, vx, vy, sx, sy float64 // how much of each end is left here, its variance, its slope
	if k > 0 {
		x, vx, sx = math.Exp(-(t-pieces[k-1].t)*v/length), variance[k-1], slope[k-1]
	}
	if k < len(pieces) {
		y, vy, sy = math.Exp(-(pieces[k].t-t)*v/length), variance[k], slope[k]
	}
	d := 1 - x*x*y*y
	if d < 1e-9 {
		return sx, math.Sqrt(vx)
	}
	a, b := x*(1-y*y)/d, y*(1-x*x)/d
	own := level * (1 - x*x) * (1 - y*y) / d
	both := a*math.Sqrt(vx) + b*math.Sqrt(vy) // what the ends err by they may have in common
	return a*sx + b*sy, math.Sqrt(own + both*both)
}

// EstimateGrade tells slope and road load from the logs, where they show them, and gives them to records and force.
func EstimateGrade(records []*Record, f *Force) {
	if !f.Known() {
		return
	}
	var pieces []piece
	for i, r := range records {
		if r.Track.Len() > 0 {
			pieces = append(pieces, r.pieces(i, f)...)
		}
	}
	if s := fitGrade(pieces, f); s != nil {
		s.apply(records, f)
	}
}
