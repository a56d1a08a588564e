package motion

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"flywitness/analysis/stats"
	"flywitness/vehicle"
)

// The slope of the road is not in a log, but what it does is: over a whole log the engine gives the same torque
// at the same speed and load, uphill and downhill. So torque as a function of both is fitted to all locked
// driving at once, with the slope as what is left over: a random walk that is pulled back to level, known where
// the engine was locked and guessed in between. A quick change of load shows the torque, a slow change of
// acceleration at equal load shows the slope. Rolling in neutral shows the road load in the same way.
//
// The method is generalised least squares whitened by a Kalman filter (de Jong, The diffuse Kalman filter,
// Annals of Statistics 19, 1991; from memory).

const (
	slopeLength  = 200.0  // m over which a slope lasts. Common practice, no source
	longestSlope = 2000.0 // m
	// A driver who holds his speed gives more load uphill, so that part of a slope is taken for torque: up to a
	// tenth in simulated drives.
	slopeLeak   = 0.1
	leastPieces = 40
	// relative error of the engine's torque as a function of speed and load. Common practice, no source
	torqueShape = 0.03
	leastSpan   = 500.0 // rpm that locked pieces must span
	knotEvery   = 800.0 // rpm, of the torque curve
	// a slope that no road has over hundreds of metres: the engine did not pull alike at equal speed and load, since
	// wheels spun. Common practice, no source
	noRoad  = 0.2
	outlier = 3.5 // standard deviations
)

// slopeSpreads are the standard deviations of the slope that are tried.
var slopeSpreads = []float64{0.004, 0.008, 0.012, 0.016, 0.02, 0.028, 0.04, 0.056}

// GradeEstimate is what a set of logs tells about slope and road load.
type GradeEstimate struct {
	pieces []piece
	knots  []float64 // rpm
	unit   float64   // N m, of the torques fitted
	n      int       // unknowns
	rows   []float64 // n+1 columns of each piece: the unknowns' factors, then pull
	bad    []bool

	spread float64 // standard deviation of the slope
	wander float64 // how much more the receiver's height wanders than a usual one's
	length float64 // m over which a slope lasts
	scale  float64 // of all variances, by how well the pieces fit
	x      *mat.VecDense
	cov    *mat.SymDense
	loglik float64
}

// The last unknowns are what the engine's inertia differs by from the usual one, in engineWeightSD, and
// relative corrections of the road load: rolling, then air. An inertia that is taken for known, and is not,
// makes the low gears strong, and that looks like drag of air in the high ones.
func (s *GradeEstimate) turning() int { return s.n - 3 }
func (s *GradeEstimate) rolling() int { return s.n - 2 }

// layOut sets up the unknowns and the row of every piece; nil where the logs do not show enough. Where too little was
// driven under load to tell the engine's torque, heights alone tell the slope.
func layOut(pieces []piece, f *Force) *GradeEstimate {
	s := &GradeEstimate{pieces: pieces, length: slopeLength, unit: 1, wander: 1}
	if !s.layTorque(f) && !s.layClimbs() {
		return nil
	}
	s.bad = make([]bool, len(s.pieces))
	s.n = s.ofTorque() + 1 + 2
	s.fill(f)
	return s
}

// layTorque sets up the unknowns of the engine's torque; false where the logs do not show it.
func (s *GradeEstimate) layTorque(f *Force) bool {
	low, high := math.Inf(1), 0.0
	var torques []float64
	for i := range s.pieces {
		p := &s.pieces[i]
		if p.gear == 0 {
			continue
		}
		low, high = math.Min(low, p.rpm), math.Max(high, p.rpm)
		torques = append(torques, p.pull*p.arm*f.Vehicle.Mass*vehicle.Gravity)
	}
	if len(torques) < leastPieces || high-low < leastSpan {
		return false
	}
	if s.unit = stats.Nearest(torques, 0.95); s.unit <= 0 {
		return false
	}
	count := max(2, 1+int((high-low)/knotEvery))
	for k := range count {
		s.knots = append(s.knots, low+(high-low)*float64(k)/float64(count-1))
	}
	return true
}

// layClimbs leaves the climbs and the rolling in neutral alone; false where no heights tell of enough road.
func (s *GradeEstimate) layClimbs() bool {
	kept := make([]piece, 0, len(s.pieces))
	climbs, way := 0, 0.0
	for _, p := range s.pieces {
		way += p.way
		if p.gear > 0 {
			continue
		}
		p.way, way = way, 0
		kept = append(kept, p)
		if p.climb {
			climbs++
		}
	}
	s.pieces = kept
	return climbs >= leastPieces
}

// ofTorque is how many unknowns the engine's torque has.
func (s *GradeEstimate) ofTorque() int {
	if len(s.knots) == 0 {
		return 0
	}
	return len(s.knots) + 4
}

// fitGrade fits slope, torque and road load; nil where the logs do not show enough.
func fitGrade(pieces []piece, f *Force) *GradeEstimate {
	s := layOut(pieces, f)
	if s == nil {
		return nil
	}
	s.fitBest(f)
	if s.x == nil {
		return nil
	}
	if s.widen(); !s.fit(f) {
		return nil
	}
	for range 3 { // what does not fit hides other pieces that do not
		if !s.drop() {
			break
		}
		if !s.fit(f) {
			return nil
		}
	}
	if len(s.knots) == 0 && s.spread > steepestRoad {
		return nil
	}
	if 1+min(s.x.AtVec(s.rolling()), s.x.AtVec(s.rolling()+1)) < leastLoad {
		return nil
	}
	if slope, _ := s.slopes(); slices.Max(slope) > noRoad || slices.Min(slope) < -noRoad {
		return nil
	}
	return s
}

// fill writes the row of every piece.
func (s *GradeEstimate) fill(f *Force) {
	w := s.n + 1
	s.rows = make([]float64, len(s.pieces)*w)
	weight := f.Vehicle.Mass * vehicle.Gravity
	for i := range s.pieces {
		p := &s.pieces[i]
		row := s.rows[i*w : (i+1)*w]
		if row[s.n] = p.pull; p.climb {
			continue
		}
		if p.gear > 0 {
			s.torqueRow(row, p.rpm, p.load, s.unit/(p.arm*weight))
		}
		row[s.turning()] = -engineWeightSD * p.turning
		row[s.rolling()] = -f.load.F0 / weight
		row[s.rolling()+1] = -(f.load.Force(p.v) - f.load.F0) / weight
	}
}

// torqueRow writes the factors of the torque unknowns: load times a full-load curve that is straight between
// knots, less a drag that is straight in engine speed, and a bend of torque over load for channels that are not
// quite torque.
func (s *GradeEstimate) torqueRow(row []float64, rpm, load, unit float64) {
	k, n := len(s.knots), len(s.knots)
	u := (rpm - s.knots[0]) / (s.knots[1] - s.knots[0])
	i := min(n-2, max(0, int(u)))
	x := math.Max(0, math.Min(1, u-float64(i)))
	row[i], row[i+1] = load*(1-x)*unit, load*x*unit
	r := rpm/s.knots[n-1] - 0.5
	row[k], row[k+1] = -unit, -r*unit
	bend := load * (1 - load)
	row[k+2], row[k+3] = bend*unit, bend*r*unit
}

// fitBest fits with rising spreads of the receiver's height and, for each, of the slope, for as long as each is
// likelier than the one before.
func (s *GradeEstimate) fitBest(f *Force) {
	best := *s
	best.loglik = math.Inf(-1)
	for _, s.wander = range s.wanders() {
		before, last := best.loglik, math.Inf(-1)
		for _, s.spread = range s.spreads() {
			if !s.fit(f) || s.loglik <= last {
				break
			}
			if last = s.loglik; last > best.loglik {
				best = *s
			}
		}
		if best.loglik <= before {
			break
		}
	}
	*s = best
}

// spreads are the spreads of the slope to be tried. Heights alone do not tell a level road from a receiver that errs
// more, so that the road is then one of the ordinary ones at least.
func (s *GradeEstimate) spreads() []float64 {
	if len(s.knots) > 0 {
		return slopeSpreads
	}
	return slopeSpreads[slices.Index(slopeSpreads, vehicle.UsualSlopeSD):]
}

// wanders are the spreads of the receiver's height to be tried.
func (s *GradeEstimate) wanders() []float64 {
	if slices.ContainsFunc(s.pieces, func(p piece) bool { return p.climb }) {
		return receiverScales
	}
	return []float64{1}
}

// widen sets the spread to what the slopes found show over the whole log, and the length with it: how quickly a
// slope changes from piece to piece is what the fit is sure of, how far it goes in the end is not.
func (s *GradeEstimate) widen() {
	slope, variance := s.slopes()
	sum := 0.0
	for i := range slope {
		sum += slope[i]*slope[i] + variance[i]
	}
	level := sum / float64(len(slope))
	if grown := level / (s.spread * s.spread); grown > 1 {
		s.length = math.Min(s.length*grown, longestSlope)
		s.spread = math.Sqrt(level)
	}
}

// fit solves for the unknowns at one spread of the slope.
func (s *GradeEstimate) fit(f *Force) bool {
	n := s.n
	a := mat.NewSymDense(n, nil)
	b := mat.NewVecDense(n, nil)
	s.prior(a, f)
	yy, logs, count := 0.0, 0.0, 0.0
	raw := a.RawSymmetric()
	s.whiten(func(i int, e []float64, v float64) bool {
		for p, x := range e[:n] {
			if x == 0 {
				continue
			}
			x /= v
			b.SetVec(p, b.AtVec(p)+x*e[n])
			row := raw.Data[p*raw.Stride : p*raw.Stride+n]
			for q := p; q < n; q++ {
				row[q] += x * e[q]
			}
		}
		yy, logs, count = yy+e[n]*e[n]/v, logs+math.Log(v), count+1
		return true
	})
	var c mat.Cholesky
	if !c.Factorize(a) {
		return false
	}
	s.x, s.cov = mat.NewVecDense(n, nil), mat.NewSymDense(n, nil)
	if c.SolveVecTo(s.x, b) != nil || c.InverseTo(s.cov) != nil {
		s.x = nil
		return false
	}
	rss := yy - mat.Dot(b, s.x)
	s.loglik = -0.5 * (rss + logs + c.LogDet())
	s.scale = math.Max(1, rss/math.Max(1, count-float64(n)))
	return true
}

// prior adds what is known beforehand: a full-load curve is smooth, drag is a small part of it, load channels
// are nearly straight, and the road load is what the vehicle file or a common car says.
func (s *GradeEstimate) prior(a *mat.SymDense, f *Force) {
	add := func(i int, sd float64) { a.SetSym(i, i, a.At(i, i)+1/(sd*sd)) }
	k := len(s.knots)
	for i := 0; i+2 < k; i++ {
		c := [3]float64{1, -2, 1}
		for p := range c {
			for q := p; q < len(c); q++ {
				a.SetSym(i+p, i+q, a.At(i+p, i+q)+c[p]*c[q]/(0.2*0.2))
			}
		}
	}
	for i := range k {
		add(i, 3)
	}
	for i := k; i < s.ofTorque(); i++ {
		add(i, 0.4)
	}
	add(s.turning(), 1)
	add(s.rolling(), f.loadSD[0])
	add(s.rolling()+1, f.loadSD[1])
}

// whiten runs the filter of the slope over all pieces and gives the innovations of every column with their
// variance. The filter learns from a piece if it is told to.
func (s *GradeEstimate) whiten(learn func(i int, e []float64, v float64) bool) {
	w := s.n + 1
	mean, e := make([]float64, w), make([]float64, w)
	level := s.spread * s.spread
	variance := level
	for i := range s.pieces {
		p := &s.pieces[i]
		keep := math.Exp(-p.way / s.length)
		variance = keep*keep*variance + level*(1-keep*keep)
		v := variance + s.variance(p)
		gain := variance / v
		row := s.rows[i*w : (i+1)*w]
		for c := range mean {
			mean[c] *= keep
			e[c] = row[c] - mean[c]
		}
		if s.bad[i] || !learn(i, e, v) {
			continue
		}
		for c := range mean {
			mean[c] += gain * e[c]
		}
		variance *= 1 - gain
	}
}

// variance is the square of a piece's error.
func (s *GradeEstimate) variance(p *piece) float64 {
	return p.sd*p.sd + stats.Square(s.wander*p.wander)
}

// drop marks the pieces that the fit does not explain: a brake, a gust, a wrong label. It tells whether they
// are others than before.
func (s *GradeEstimate) drop() bool {
	before := s.bad
	s.bad = make([]bool, len(before))
	bad := make([]bool, len(before))
	sd := math.Sqrt(s.scale)
	s.whiten(func(i int, e []float64, v float64) bool {
		z := e[s.n]
		for p := range s.n {
			z -= e[p] * s.x.AtVec(p)
		}
		z /= math.Sqrt(v) * sd
		bad[i] = math.Abs(z) > outlier || s.pieces[i].coast() && z < -2
		return !bad[i]
	})
	s.bad = bad
	return !slices.Equal(bad, before)
}

// Coasted is how many seconds of rolling in neutral were used; 0 where there is no estimate.
func (s *GradeEstimate) Coasted() float64 {
	if s == nil {
		return 0
	}
	return s.Seconds(false)
}

// Climbed is over how many m of road heights were used; 0 where there is no estimate.
func (s *GradeEstimate) Climbed() float64 {
	if s == nil {
		return 0
	}
	sum := 0.0
	for i := range s.pieces {
		if p := &s.pieces[i]; p.climb && !s.bad[i] {
			sum += climbWay
		}
	}
	return sum
}

// Seconds is how much driving with the engine locked to the wheels, or else of rolling in neutral, was used.
func (s *GradeEstimate) Seconds(locked bool) float64 {
	sum := 0.0
	for i := range s.pieces {
		if p := &s.pieces[i]; !s.bad[i] && (p.gear > 0) == locked {
			sum += p.length
		}
	}
	return sum
}
