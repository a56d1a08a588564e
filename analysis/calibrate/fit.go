package calibrate

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"flywitness/analysis/stats"
)

// solution is one joint fit of ladder, lag, creep and offset.
type solution struct {
	inverse []float64 // 1/k of each rung: km/h per rpm
	lag     float64   // s
	creep   float64
	offset  float64    // km/h to add to a displayed speed
	known   prior      // what is known of the offset beforehand
	cov     *mat.Dense // of inverse.., lag, creep, offset; nil when it could not be had
	score   float64    // mean of min(e^2, 1), e in steps of road speed but at least in km/h
	seconds []float64  // of driving used, per rung,
	way     []float64  // and how far it went, in km/h s
	blocks  []blockScore
	cells   []fitCell
	steps   [][]float64 // s that each rung was driven at each step of road speed
	rows    []fitRow
}

// prior is what is known of an offset (km/h) before the log is asked; an sd of 0 fixes it.
type prior struct{ at, sd float64 }

// fitCell is what one gear has in ten seconds of one log.
type fitCell struct {
	gear        int
	weight, sum float64    // of the residuals, s and km/h s
	by          [4]float64 // what an error (km/h) of the whole cell does to 1/k, lag, creep and offset: its gradient
}

// blockScore is the score of ten seconds of one log, to compare two fits pair by pair.
type blockScore struct {
	log, block int
	sum        float64
}

// choice tells the fit which samples to use: the gear index of each sample of each log (-1: leave it out), and
// wheel force over weight where creep is fitted. nil gear: a sample takes its nearest gear.
type choice struct {
	gear [][]int8
	phi  [][]float64
	rows [2][]fitRow // for the fits that go on side by side
}

const (
	lagRidge   = 1.0   // weak prior, 1/s^2
	creepRidge = 100.0 // prior sd usualCreep at a residual of usualRest
	usualRest  = 0.3   // km/h
	usualCreep = 0.03  // per unit of wheel force over weight: what a creep is beforehand, give or take
	blockTime  = 10.0  // s over which errors may hang together
)

// A fit goes on only with samples near their gear.
const (
	fitFrom    = 8.0   // km/h, and
	fitFromRPM = 500.0 // rpm: below, the clutch is open
	cutSteps   = 1.2   // units of road speed from which a sample does not count,
	cutShare   = 0.02  // or of road speed
)

// fit solves for 1/k, lag and creep at an offset that is known.
func (p *pool) fit(rungs []rung, lag, offset float64, c *choice, rows []fitRow) *solution {
	return p.fitOffset(rungs, lag, prior{at: offset}, c, rows)
}

// fitOffset solves for 1/k, lag, creep and offset by Gauss-Newton on e = n(t-lag)/k - (v + offset) - creep phi v with
// Tukey's biweight, over rows of fitRows: without a choice, which is a first look, samples at a stride. Its covariance
// is the sandwich over blocks of ten seconds, since errors of neighbouring samples hang together.
func (p *pool) fitOffset(rungs []rung, lag float64, offset prior, c *choice, rows []fitRow) *solution {
	g := len(rungs)
	s := &solution{lag: lag, offset: offset.at, known: offset, inverse: make([]float64, g), rows: rows}
	for i, r := range rungs {
		s.inverse[i] = 1 / r.k
	}
	low, high := p.lags()
	for range 8 { // its steps are far inside its own uncertainty by then
		a, b := p.normal(s, c, nil)
		var x mat.VecDense
		if x.SolveVec(a, b) != nil {
			break
		}
		for i := range s.inverse {
			s.inverse[i] += x.AtVec(i)
		}
		s.lag = math.Max(low, math.Min(high, s.lag+x.AtVec(g)))
		if c != nil && c.phi != nil {
			s.creep += x.AtVec(g + 1)
		}
		s.offset += x.AtVec(g + 2)
	}
	s.uncertainty(p, c)
	return s
}

// unit is the size of an ordinary residual, km/h: a speed in steps of miles per hour leaves larger ones.
func (p *pool) unit() float64 { return max(1, p.step) }

// speed is the mean road speed (km/h) at which a rung was learnt, or the whole ladder where one scale holds for
// all; 0 without any.
func (s *solution) speed(rung int, whole bool) float64 {
	way, time := s.way[rung], s.seconds[rung]
	if whole {
		way, time = 0, 0
		for i := range s.seconds {
			way, time = way+s.way[i], time+s.seconds[i]
		}
	}
	if time == 0 {
		return 0
	}
	return way / time
}

// tukey is the biweight at residual e with cut c.
func tukey(e, c float64) float64 {
	u := e / c
	if u >= 1 || u <= -1 {
		return 0
	}
	u = 1 - u*u
	return u * u
}

// used is one sample of a fit: residual e (km/h) with weight w, its gear and its derivatives by 1/k, lag, creep and
// offset.
type used struct {
	*fitRow
	e    float64
	w    float64
	gear int
	row  [4]float64
}

// rungSums are the sums of a rung in the normal equations: of its own square, of its products with lag, creep and
// offset, and of its right side.
type rungSums struct{ own, lag, creep, offset, right float64 }

// normal builds the normal equations around the present solution. visit, when given, sees every used row.
func (p *pool) normal(s *solution, c *choice, visit func(r *used)) (*mat.Dense, *mat.VecDense) {
	g := len(s.inverse)
	sums := make([]rungSums, g)
	lagLag, lagCreep, creepCreep := lagRidge, 0.0, creepRidge
	lagRight, creepRight := 0.0, -creepRidge*s.creep
	byOffset, offsetRidge := s.known.ridge()
	lagOffset, creepOffset, offsetOffset, offsetRight := 0.0, 0.0, offsetRidge, -offsetRidge*(s.offset-s.known.at)
	unit := p.unit()
	var row used
	for q := range s.rows {
		r := &s.rows[q]
		at := r.t - s.lag
		if !r.has(at) {
			r.find(p.logs[r.log], at)
		}
		n, rate := r.n+r.rate*(at-r.from), r.rate
		if !(n > fitFromRPM) {
			continue
		}
		gear, e, phiV := int(r.gear), 0.0, 0.0
		if c != nil {
			if c.phi != nil {
				phiV = r.phiV
			}
			e = n*s.inverse[gear] - r.v - s.offset - s.creep*phiV
		} else {
			gear, e = s.assign(n, r.v)
		}
		w := tukey(e, max(cutSteps*unit, cutShare*r.v)) * r.dt
		if w == 0 {
			continue
		}
		byLag, byCreep := -rate*s.inverse[gear], -phiV
		if visit != nil {
			row = used{r, e, w, gear, [4]float64{n, byLag, byCreep, byOffset}}
			visit(&row)
		}
		wn, wLag, wCreep, wOffset, rung := w*n, w*byLag, w*byCreep, w*byOffset, &sums[gear]
		rung.own += wn * n
		rung.lag += wn * byLag
		rung.creep += wn * byCreep
		rung.offset += wn * byOffset
		rung.right -= wn * e
		lagLag += wLag * byLag
		lagCreep += wLag * byCreep
		lagOffset += wLag * byOffset
		lagRight -= wLag * e
		creepCreep += wCreep * byCreep
		creepOffset += wCreep * byOffset
		creepRight -= wCreep * e
		offsetOffset += wOffset * byOffset
		offsetRight -= wOffset * e
	}
	a, b := mat.NewDense(g+3, g+3, nil), make([]float64, g+3)
	both := func(i, k int, x float64) {
		a.Set(i, k, x)
		a.Set(k, i, x)
	}
	for i, x := range sums {
		a.Set(i, i, x.own+1) // a rung without samples stays where it is
		both(i, g, x.lag)
		both(i, g+1, x.creep)
		both(i, g+2, x.offset)
		b[i] = x.right
	}
	a.Set(g, g, lagLag)
	both(g, g+1, lagCreep)
	both(g, g+2, lagOffset)
	a.Set(g+1, g+1, creepCreep)
	both(g+1, g+2, creepOffset)
	a.Set(g+2, g+2, offsetOffset)
	b[g], b[g+1], b[g+2] = lagRight, creepRight, offsetRight
	return a, mat.NewVecDense(g+3, b)
}

// ridge is by what a residual changes with an unknown, and what holds the unknown to what is known of it: one that is
// fixed changes nothing and stays.
func (k prior) ridge() (by, ridge float64) {
	if k.sd == 0 {
		return 0, 1
	}
	return -1, stats.Square(usualRest / k.sd)
}

// assign gives a sample its nearest gear.
func (s *solution) assign(n, v float64) (gear int, e float64) {
	e = math.Inf(1)
	for g, x := range s.inverse {
		if d := n*x - v - s.offset; math.Abs(d) < math.Abs(e) {
			gear, e = g, d
		}
	}
	return gear, e
}

// scatter fills score, seconds and the covariance that the residuals tell; it returns the inverse of the normal
// matrix.
func (s *solution) scatter(p *pool, c *choice) *mat.Dense {
	g := len(s.inverse)
	u := g + 3
	s.seconds, s.way, s.steps = make([]float64, g), make([]float64, g), make([][]float64, g)
	s.blocks, s.cells = nil, nil
	unit := p.unit()
	meat := mat.NewSymDense(u, nil)
	grad := make([]float64, u)
	cells := make([]fitCell, g)
	block, log := -1, int32(-1)
	sum, weight := 0.0, 0.0
	flush := func() {
		if block < 0 {
			return
		}
		meat.SymRankOne(meat, 1, mat.NewVecDense(u, grad))
		clear(grad)
		for i, x := range cells {
			if x.weight > 0 {
				x.gear = i
				s.cells = append(s.cells, x)
			}
		}
		clear(cells)
	}
	a, _ := p.normal(s, c, func(r *used) {
		if b := int(math.Floor(r.t / blockTime)); b != block || r.log != log {
			flush()
			block, log = b, r.log
			s.blocks = append(s.blocks, blockScore{log: int(log), block: block})
		}
		cell := &cells[r.gear]
		cell.weight += r.w
		cell.sum += r.w * r.e
		for i, at := range [4]int{r.gear, g, g + 1, g + 2} {
			grad[at] += r.w * r.row[i] * r.e
			cell.by[i] += r.w * r.row[i]
		}
		s.seconds[r.gear] += r.w
		s.way[r.gear] += r.w * r.v
		if p.step > 0 {
			s.stepped(r, p.step)
		}
		q := min(r.e*r.e/(unit*unit), 1) * r.dt
		sum += q
		weight += r.dt
		s.blocks[len(s.blocks)-1].sum += q
	})
	flush()
	s.score = sum / math.Max(weight, 1)
	var inv mat.Dense
	if inv.Inverse(a) != nil {
		return nil
	}
	s.cov = sandwich(&inv, meat)
	return &inv
}

// rungs returns the ladder of a solution with the numbers of the ladder it started from.
func (s *solution) rungs(from []rung) []rung {
	out := make([]rung, len(from))
	for i, r := range from {
		r.k = 1 / s.inverse[i]
		r.seconds = s.seconds[i]
		out[i] = r
	}
	return out
}
